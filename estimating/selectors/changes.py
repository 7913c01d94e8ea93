"""Questions about changes after the customer signed: what they add to the contract."""

from dataclasses import dataclass
from decimal import Decimal

from estimating.models import ChangeOrder

NOTHING = Decimal(0)


@dataclass(frozen=True, kw_only=True, slots=True)
class SignedChanges:
    """What the signed change orders of a proposal add to it; below zero it is taken off."""

    price_before_tax: Decimal = NOTHING
    sales_tax: Decimal = NOTHING
    direct_cost: Decimal = NOTHING
    labor_hours: Decimal = NOTHING
    count: int = 0

    @property
    def price(self) -> Decimal:
        """What the customer pays more, tax included."""
        return self.price_before_tax + self.sales_tax


def signed_changes(proposal_id: int) -> SignedChanges:
    """Return the sums of a proposal's signed change orders; a draft is no part of a contract."""
    rows = list(ChangeOrder.objects.filter(proposal=proposal_id, state=ChangeOrder.State.SIGNED))
    # Summed here and not by the database: SQLite adds decimals as floats.
    return SignedChanges(
        price_before_tax=sum((row.price_before_tax for row in rows), NOTHING),
        sales_tax=sum((row.sales_tax for row in rows), NOTHING),
        direct_cost=sum((row.direct_cost for row in rows), NOTHING),
        labor_hours=sum((row.labor_hours for row in rows), NOTHING),
        count=len(rows),
    )
