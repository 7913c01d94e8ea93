"""Offcuts of ready-made panels that fill shorter bays: which bay's serves which, panels saved.

What is cut from stock lengths is planned by `stock_plans` already; a panel is bought for each bay
until someone decides that the rest of one fills another bay.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from estimating.engine.catalog import Catalog, FenceSystem, Material, Override
from estimating.engine.products import product_for
from estimating.engine.result import Bay, EstimateResult, Quantity
from estimating.engine.saver_changes import BayName, UseOffcuts
from firm.measure.units import round_up

# Half a sixteenth: nearer than that a bay takes a whole panel.
WHOLE_IN = 1 / 32


@dataclass(slots=True)
class _Panel:
    """A panel being cut: the bays it serves so far, and what is left of it."""

    left_in: float
    bays: list[Bay] = field(default_factory=list)


def offcut_uses(
    result: EstimateResult, catalog: Catalog, overrides: Sequence[Override]
) -> Iterator[UseOffcuts]:
    """Yield, for each kind of panel, the offcuts that make other bays; none set by hand already."""
    by_hand = {override.target for override in overrides}
    bought = {quantity.item: quantity for quantity in result.quantities}
    for item, (material, bays) in _cut_bays(result, catalog).items():
        quantity = bought.get(item)
        if quantity is None or f"quantity:{item}" in by_hand:
            continue
        change = _use(material, bays, quantity, catalog)
        if change is not None:
            yield change


def _cut_bays(
    result: EstimateResult, catalog: Catalog
) -> dict[str, tuple[Material, list[tuple[float, Bay]]]]:
    """Return the bays that a panel is cut for, each with the panel's length, by item."""
    found: dict[str, tuple[Material, list[tuple[float, Bay]]]] = {}
    for line in result.lines:
        if line.scope != "whole_fence":
            continue
        system = catalog.systems[line.system]
        for material in system.materials:
            if material.offcut_serves and material.driver == "bay":
                whole_in = whole_panel_in(system)
                cut = [bay for bay in line.bays if bay.panel_in < whole_in - WHOLE_IN]
                bays = found.setdefault(material.item, (material, []))[1]
                bays += [(whole_in, bay) for bay in cut]
    return found


def whole_panel_in(system: FenceSystem) -> float:
    """Return the length of a panel as it is bought: what fills a bay at the largest spacing."""
    clear_in = system.max_on_centre_in - product_for(system, "line").width_in
    return clear_in + 2 * system.rail_insertion_in


def _use(
    material: Material, bays: Sequence[tuple[float, Bay]], quantity: Quantity, catalog: Catalog
) -> UseOffcuts | None:
    kerf_in = catalog.rules.saw_kerf_in if material.kerf_in is None else material.kerf_in
    panels = _fitted(bays, kerf_in)
    spared = len(bays) - len(panels)
    pack = catalog.prices[material.item].pack if material.item in catalog.prices else 1.0
    net = quantity.net - spared * material.quantity
    units = round_up(round_up(net * (1 + quantity.waste_pct / 100)) / pack)
    if not spared or units >= quantity.purchase_units:
        return None
    pairs = tuple((_name(panel.bays[0]), _name(bay)) for panel in panels for bay in panel.bays[1:])
    return UseOffcuts(item=material.item, name=quantity.name, units=units, pairs=pairs)


def _fitted(bays: Sequence[tuple[float, Bay]], kerf_in: float) -> list[_Panel]:
    """Return the panels that the bays are cut from: the longest first, into the first that fits."""
    panels: list[_Panel] = []
    for whole_in, bay in sorted(bays, key=lambda each: (-each[1].panel_in, *_name(each[1]))):
        panel = next((each for each in panels if each.left_in >= bay.panel_in), None)
        if panel is None:
            panel = _Panel(left_in=whole_in)
            panels.append(panel)
        panel.left_in -= bay.panel_in + kerf_in
        panel.bays.append(bay)
    return panels


def _name(bay: Bay) -> BayName:
    return bay.line_id, bay.number
