"""What sold work is built from: its take-off as it is bought, by the phase that builds with it.

The newest version of a site counts, as the crew marked it on the ground or else as it was sold:
what is built from is what must be bought. Lines that the office typed are no items.
"""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from estimating.models import GroundChange, Proposal

Json = Mapping[str, Any]
# What goes into the ground; caps come with their posts.
SET_DRIVERS = frozenset({"post", "concrete"})
GATE_DRIVERS = frozenset({"gate", "leaf", "leaf_ft", "third_hinge"})
PHASE_ORDER = ("set", "hang", "gates")
NOTHING = Decimal(0)


@dataclass(frozen=True, kw_only=True, slots=True)
class SoldItem:
    """One item of sold work in whole purchase units.

    `phase` is the first that builds with it: "set", "hang" or "gates". `unit_cost` is what the
    firm pays for one, as it was when the estimate was priced.
    """

    item: str
    name: str
    count: int
    unit: str
    unit_cost: Decimal
    phase: str


def material_of(proposal_ids: Collection[int]) -> Mapping[int, tuple[SoldItem, ...]]:
    """Return what proposals are built from; two queries however many are asked."""
    sold = Proposal.objects.filter(pk__in=proposal_ids).values_list(
        "pk", "estimate__result__quantities", "estimate__result__cost_lines"
    )
    found = {pk: _items(quantities or (), lines or ()) for pk, quantities, lines in sold}
    marked = GroundChange.objects.filter(proposal__in=proposal_ids).order_by("proposal", "version")
    for pk, quantities, lines in marked.values_list(
        "proposal", "result__quantities", "result__cost_lines"
    ):
        found[pk] = _items(quantities or (), lines or ())
    return found


def _items(quantities: Sequence[Json], lines: Iterable[Json]) -> tuple[SoldItem, ...]:
    costs = {
        line["item"]: Decimal(str(line["unit_cost"]))
        for line in lines
        if line["kind"] == "material"
    }
    return tuple(
        SoldItem(
            item=each["item"],
            name=each["name"],
            count=int(each["purchase_units"]),
            unit=each["purchase_unit"],
            unit_cost=costs.get(each["item"], NOTHING),
            phase=_phase_of(each),
        )
        for each in quantities
        if int(each["purchase_units"]) > 0
    )


def _phase_of(quantity: Json) -> str:
    """Return the first phase that builds with an item: all of it is bought for that day."""
    drivers = {need["driver"] for need in quantity.get("needs") or ()} or {quantity["driver"]}
    return min((_phase_by(driver) for driver in drivers), key=PHASE_ORDER.index)


def _phase_by(driver: str) -> str:
    if driver in SET_DRIVERS:
        return "set"
    return "gates" if driver in GATE_DRIVERS else "hang"
