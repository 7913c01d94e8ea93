"""A sale of goods: material that the firm sells and does not build."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from estimating.engine.catalog import GoodsRule, Rules
from estimating.engine.costing import PERCENT, total_of
from estimating.engine.errors import EngineError
from estimating.engine.pricing import round_price
from estimating.engine.sums import CostLine
from firm.measure.money import to_cents


@dataclass(frozen=True, kw_only=True, slots=True)
class GoodsSale:
    """Material sold as goods. `direct_cost` holds tax paid on the purchase and the delivery run.

    No work is in it, so neither hours nor overhead by them, and no smallest charge of a job.
    """

    material: Decimal
    purchase_tax: Decimal
    delivery_cost: Decimal
    direct_cost: Decimal
    delivery_charge: Decimal
    price_before_tax: Decimal
    sales_tax: Decimal
    price: Decimal
    margin: Decimal
    is_tax_named: bool


NOTHING_SOLD = GoodsSale(
    material=Decimal(0),
    purchase_tax=Decimal(0),
    delivery_cost=Decimal(0),
    direct_cost=Decimal(0),
    delivery_charge=Decimal(0),
    price_before_tax=Decimal(0),
    sales_tax=Decimal(0),
    price=Decimal(0),
    margin=Decimal(0),
    is_tax_named=True,
)


def sell_goods(lines: Iterable[CostLine], rules: Rules, goods: GoodsRule) -> GoodsSale:
    """Price the material among cost lines by the firm's rule for goods.

    Where the customer pays sales tax on goods the firm buys them for resale, free of the tax it
    pays on purchases; else it pays that tax as on all it buys. Tax is on the price with delivery.

    Raises:
        EngineError: margin and commission together take the whole price.
    """
    material = total_of(line for line in lines if line.kind == "material")
    if material <= 0:
        return NOTHING_SOLD
    keep = 1 - (goods.margin_pct + rules.commission_pct) / PERCENT
    if keep <= 0:
        raise EngineError(
            "Margin on goods and commission together must stay below 100 % of the price.",
            field="rules.goods.margin_pct",
        )
    tax_pct = goods.sales_tax_pct or Decimal(0)
    purchase_tax = to_cents(material * rules.purchase_tax_pct / PERCENT) if not tax_pct else 0
    cost = material + purchase_tax
    delivery = to_cents(goods.delivery_charge)
    before_tax = round_price(cost / keep, rules) + delivery
    sales_tax = to_cents(before_tax * tax_pct / PERCENT)
    commission = to_cents(before_tax * rules.commission_pct / PERCENT)
    run = to_cents(rules.travel_per_trip)
    return GoodsSale(
        material=material,
        purchase_tax=Decimal(purchase_tax),
        delivery_cost=run,
        direct_cost=cost + run,
        delivery_charge=delivery,
        price_before_tax=before_tax,
        sales_tax=sales_tax,
        price=before_tax + sales_tax,
        margin=before_tax - cost - run - commission,
        is_tax_named=goods.sales_tax_pct is not None,
    )
