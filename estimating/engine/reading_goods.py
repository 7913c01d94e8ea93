"""Reading how the firm sells material that it does not build."""

from estimating.engine.catalog import GoodsRule
from estimating.engine.fields import Entry


def read_goods(rules: Entry) -> GoodsRule | None:
    """Return the firm's rule for a sale of goods; None where it has none."""
    if not (rules.has("goods") and rules.has_value("goods")):
        return None
    entry = rules.entry("goods")
    is_tax_named = entry.has("sales_tax_pct") and entry.has_value("sales_tax_pct")
    goods = GoodsRule(
        margin_pct=entry.amount("margin_pct", high="95"),
        delivery_charge=entry.amount("delivery_charge", "0"),
        sales_tax_pct=entry.amount("sales_tax_pct", high="100") if is_tax_named else None,
    )
    entry.finish()
    return goods
