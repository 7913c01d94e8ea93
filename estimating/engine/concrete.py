"""The job's concrete as an estimate keeps it, with the ways of getting it that were compared."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

ConcreteWayKind = Literal["bags", "mixer", "ready_mix"]


@dataclass(frozen=True, kw_only=True, slots=True)
class ConcreteBuy:
    """What one way of getting concrete buys: whole purchase units of an item."""

    item: str
    name: str
    units: int
    purchase_unit: str
    amount: Decimal
    rule: str


@dataclass(frozen=True, kw_only=True, slots=True)
class ConcreteWay:
    """One way of getting the job's concrete, with what it costs to buy, mix and place.

    `hours` are before what a crew too large for the job loses by waiting.
    """

    kind: ConcreteWayKind
    item: str
    buys: tuple[ConcreteBuy, ...]
    hours: float
    material: Decimal
    labor: Decimal
    total: Decimal
    is_cheapest: bool = False
    is_chosen: bool = False


@dataclass(frozen=True, kw_only=True, slots=True)
class Concrete:
    """The job's concrete and spoil. `bags` is rounded up once for the whole job.

    Where it does not come in bags they are what it would take. `ways` are what was compared.
    """

    net_ft3: float
    with_waste_ft3: float
    bags: int
    bag_item: str
    bag_yield_ft3: float
    cubic_yards: float
    spoil_loose_yd3: float
    ways: tuple[ConcreteWay, ...] = ()

    @property
    def chosen(self) -> ConcreteWay | None:
        """The way that the estimate is priced with, where several were compared."""
        return next((way for way in self.ways if way.is_chosen), None)
