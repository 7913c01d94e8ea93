"""What an estimate costs and is sold for: exact sums of money."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

CostKind = Literal["material", "tax", "labour", "equipment", "fee", "travel", "typed"]


@dataclass(frozen=True, kw_only=True, slots=True)
class CostLine:
    """One line of the cost sheet. `amount` is rounded half-up to the cent once."""

    kind: CostKind
    item: str
    description: str
    quantity: Decimal
    unit: str
    unit_cost: Decimal
    amount: Decimal
    overridden: bool = False
    reason: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class PriceLine:
    """One line of the customer's price: parts of `price_before_tax`, adding up to it exactly."""

    key: str
    description: str
    amount: Decimal


@dataclass(frozen=True, kw_only=True, slots=True)
class OptionPrice:
    """An optional extra the customer may tick, with tax already worked out."""

    key: str
    description: str
    amount: Decimal
    tax_amount: Decimal


@dataclass(frozen=True, kw_only=True, slots=True)
class Money:
    """The build-up: direct cost is the sum of the seven above it; price is its lines and tax.

    `margin` is what remains of the price before tax after break-even and commission.
    """

    material: Decimal
    labour: Decimal
    equipment: Decimal
    fees: Decimal
    travel: Decimal
    typed: Decimal
    purchase_tax: Decimal
    direct_cost: Decimal
    crew_days: Decimal
    overhead: Decimal
    break_even: Decimal
    margin: Decimal
    margin_pct_of_price: Decimal
    price_before_tax: Decimal
    sales_tax: Decimal
    price: Decimal
    price_per_ft: Decimal | None
    commission: Decimal = Decimal(0)
