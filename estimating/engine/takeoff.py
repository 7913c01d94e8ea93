"""What is bought: needs counted line by line, then merged into whole purchase units."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from estimating.engine.catalog import Catalog, FenceSystem, Material, PriceItem
from estimating.engine.concrete_bought import concrete_quantities, needs_of_concrete
from estimating.engine.footings import Footings
from estimating.engine.infill import (
    bays_by_section,
    board_rule,
    boards_in_bay,
    counted_pieces,
    materials_of,
    stock_in_row,
)
from estimating.engine.leaves import hinges_on
from estimating.engine.places import Places, is_of_size, places_of
from estimating.engine.result import Finding, GateLayout, LineLayout, Need, Quantity
from estimating.engine.saw_plan import CutPlan
from estimating.engine.stock_plans import NO_PLANS, CutFrom, StockPlans, bars_in_unit
from estimating.engine.trace import Step
from firm.measure.units import IN_PER_FT, round_up
from firm.measure.written import how_many

POST_DRIVERS = frozenset({"post", "terminal", "corner"})
SQUARE_DEG = 90.0
GATE_DRIVERS = frozenset({"gate", "leaf", "leaf_ft", "third_hinge"})


@dataclass(frozen=True, kw_only=True, slots=True)
class Takeoff:
    """The job's quantities with the needs they came from."""

    needs: tuple[Need, ...]
    quantities: tuple[Quantity, ...]
    findings: tuple[Finding, ...]


def take_off(
    lines: Sequence[LineLayout],
    catalog: Catalog,
    footings: Footings,
    stock: StockPlans = NO_PLANS,
) -> Takeoff:
    """Count every item of every line, each rounded up to whole purchase units once for the job.

    What is cut from stock is bought as the plans of its cuts say.
    """
    needs = [need for line in lines for need in needs_of(line, catalog, stock)]
    needs += _job_needs(lines, catalog)
    by_item: dict[str, list[Need]] = {}
    for need in needs:
        by_item.setdefault(need.item, []).append(need)
    findings = [
        missing_price(item, lines=[need.line_id for need in wanted])
        for item, wanted in by_item.items()
        if item not in catalog.prices
    ]
    quantities = [
        _merge(item, wanted, catalog.prices.get(item), stock.cut_from(item))
        for item, wanted in by_item.items()
    ]
    concrete_needs = needs_of_concrete(footings)
    if concrete_needs:
        quantities += concrete_quantities(footings, catalog, concrete_needs)
    return Takeoff(
        needs=(*needs, *concrete_needs),
        quantities=tuple(quantities),
        findings=tuple(findings),
    )


def needs_of(line: LineLayout, catalog: Catalog, stock: StockPlans) -> list[Need]:
    """Return the needs of one line: its posts, and its materials as far as the scope goes."""
    if line.scope == "removal":
        return []
    system = catalog.systems[line.system]
    needs = _post_needs(line)
    for material in materials_of(line, system):
        if material.driver == "job" or not _is_in_scope(material, line):
            continue
        price = catalog.prices.get(material.item)
        if material.driver in GATE_DRIVERS:
            needs += [_gate_need(material, line, gate, system) for gate in _gates(material, line)]
            continue
        need = _line_need(material, line, system, price)
        plan = stock.plan_of(material, catalog.rules)
        needs += _shares_of(need, plan) if plan else [need]
    return [need for need in needs if need.amount > 0]


def _shares_of(need: Need, plan: CutPlan) -> list[Need]:
    """Return a need as its shares, by length, of the items that the plan cuts it from."""
    lengths: dict[str, float] = {}
    for bar in plan.bars:
        cut_in = bar.bars * sum(piece.length_in * piece.pieces for piece in bar.pieces)
        lengths[bar.item] = lengths.get(bar.item, 0.0) + cut_in
    total_in = sum(lengths.values())
    return [
        replace(need, item=item, amount=need.amount * cut_in / total_in, pieces=0.0)
        for item, cut_in in lengths.items()
    ]


def _is_in_scope(material: Material, line: LineLayout) -> bool:
    """Say whether a line buys a material: posts only keeps what goes on the posts."""
    if line.scope == "whole_fence":
        return True
    return material.driver in POST_DRIVERS and not material.infill


def _post_needs(line: LineLayout) -> list[Need]:
    by_product: dict[str, list[int]] = {}
    for post in line.posts:
        by_product.setdefault(post.product, []).append(post.number)
    return [
        Need(
            item=item,
            driver="post",
            line_id=line.line_id,
            amount=len(numbers),
            rule=how_many(len(numbers), "new post"),
            posts=tuple(numbers),
        )
        for item, numbers in by_product.items()
    ]


def _gates(material: Material, line: LineLayout) -> Iterable[GateLayout]:
    return (
        gate
        for gate in line.gates
        if gate.kind in material.kinds
        and (not material.leaves or gate.leaves in material.leaves)
        and (not material.uses or gate.use in material.uses)
    )


def _gate_need(material: Material, line: LineLayout, gate: GateLayout, system: FenceSystem) -> Need:
    per_driver = {
        "gate": 1.0,
        "leaf": float(gate.leaves),
        "leaf_ft": gate.all_leaves_in / IN_PER_FT,
        "third_hinge": float(sum(hinges_on(system, width) > 2 for width in gate.widths_in)),
    }[material.driver]
    return Need(
        item=material.item,
        driver=material.driver,
        line_id=line.line_id,
        gate_id=gate.id,
        amount=material.quantity * per_driver - material.less,
        rule=f"gate {gate.id}: {material.quantity:g} x {per_driver:g}",
        posts=tuple(number for number in (gate.from_post, gate.to_post) if number),
    )


def _line_need(
    material: Material, line: LineLayout, system: FenceSystem, price: PriceItem | None
) -> Need:
    occurrences = COUNTERS[material.driver](material, line, system)
    amounts = [material.quantity * each - material.less for each in occurrences]
    pieces = None
    places: Places = places_of(material, line)
    if material.driver == "foot":
        amounts = [amount + material.extra_ft for amount in amounts]
        if price is None or price.unit == "each":
            # A tie or a picket serves one section; half of one can't serve the next.
            pieces = float(sum(round_up(amount) for amount in amounts))
    return Need(
        item=material.item,
        driver=material.driver,
        line_id=line.line_id,
        amount=sum(amounts),
        pieces=pieces,
        rule=_line_rule(material, system, occurrences),
        posts=places.posts,
        bays=places.bays,
    )


def _line_rule(material: Material, system: FenceSystem, occurrences: Sequence[float]) -> str:
    counted, times = sum(occurrences), len(occurrences)
    rule = f"{material.quantity:g} x {counted:g} {material.driver.replace('_', ' ')}"
    if boards := board_rule(material, system, occurrences):
        rule += f" ({boards})"
    if material.less:
        rule += f", less {material.less:g} at each of {times}"
    if material.extra_ft:
        rule += f", plus {material.extra_ft:g} ft at each of {times} sections"
    return rule


def _section_ft(_m: Material, line: LineLayout, _s: FenceSystem) -> list[float]:
    return [section.length_in / IN_PER_FT for section in line.sections]


def _rail_stock(material: Material, line: LineLayout, _s: FenceSystem) -> list[float]:
    """Return the pieces of stock per section: what is left of one ends at the terminal."""
    usable_ft = material.usable_ft or 1.0
    return [float(round_up(s.length_in / IN_PER_FT / usable_ft)) for s in line.sections]


def _section_ends(material: Material, line: LineLayout) -> list[str]:
    kinds = [kind for section in line.sections for kind in (section.from_kind, section.to_kind)]
    return [kind for kind in kinds if not material.roles or kind in material.roles]


def _posts(material: Material, line: LineLayout, *, but: str = "") -> list[float]:
    return [
        1.0
        for post in line.posts
        if post.kind != but
        and (not material.roles or post.kind in material.roles)
        and is_of_size(material, post)
    ]


def _swivel_ends(line: LineLayout, system: FenceSystem) -> int:
    """Return the ends of bays at corners that are neither straight nor square."""
    odd = {post.number for post in line.posts if _is_odd(post.turn_deg, system.corner_turn_deg)}
    return sum((bay.from_post in odd) + (bay.to_post in odd) for bay in line.bays)


def _is_odd(turn_deg: float, tolerance_deg: float) -> bool:
    off_deg = abs(turn_deg) % SQUARE_DEG
    return min(off_deg, SQUARE_DEG - off_deg) > tolerance_deg


Counter = Callable[[Material, LineLayout, FenceSystem], list[float]]

COUNTERS: Mapping[str, Counter] = {
    "post": lambda m, line, _s: _posts(m, line),
    "terminal": lambda m, line, _s: _posts(m, line, but="line"),
    "corner": lambda _m, line, _s: [1.0 for post in line.posts if post.kind == "corner"],
    "bay": lambda _m, line, _s: [1.0] * len(line.bays),
    "cut_bay": lambda _m, line, _s: [1.0 for bay in line.bays if bay.is_cut],
    "square_end": lambda _m, line, s: [float(2 * len(line.bays) - _swivel_ends(line, s))],
    "swivel_end": lambda _m, line, s: [float(_swivel_ends(line, s))],
    "foot": _section_ft,
    "section": lambda _m, line, _s: [1.0] * len(line.sections),
    "section_end": lambda m, line, _s: [1.0] * len(_section_ends(m, line)),
    "wall_end": lambda m, line, _s: [1.0 for kind in _section_ends(m, line) if kind == "wall"],
    "height_ft": lambda m, line, s: [s.height_in / IN_PER_FT] * len(_section_ends(m, line)),
    "board": lambda _m, line, s: [float(boards_in_bay(s, bay.spacer_in)) for bay in line.bays],
    "rail_stock": _rail_stock,
    "rail_row": lambda m, line, _s: [
        float(stock_in_row(m, bays)) for bays in bays_by_section(line)
    ],
    "run_board": lambda m, line, _s: counted_pieces(m, line),
    "bay_picket": lambda m, line, _s: counted_pieces(m, line),
}


def _job_needs(lines: Sequence[LineLayout], catalog: Catalog) -> list[Need]:
    """Return what is bought once a job; the first line that asks for an item carries it."""
    needs: dict[str, Need] = {}
    for line in lines:
        if line.scope != "whole_fence":
            continue
        for material in catalog.systems[line.system].materials:
            if material.driver == "job" and material.item not in needs:
                needs[material.item] = Need(
                    item=material.item,
                    driver="job",
                    line_id=line.line_id,
                    amount=material.quantity,
                    rule=f"{material.quantity:g} a job",
                )
    return list(needs.values())


def _merge(
    item: str, wanted: Sequence[Need], price: PriceItem | None, cut: CutFrom | None
) -> Quantity:
    net = sum(need.amount for need in wanted)
    waste_pct = price.waste_pct if price else 0.0
    pack = price.pack if price else 1.0
    pieces = sum(need.amount if need.pieces is None else need.pieces for need in wanted)
    steps = [
        Step(rule=need.rule, inputs=f"line {need.line_id}: {need.amount:g}") for need in wanted
    ]
    if cut and price:
        planned = sum(need.amount for need in wanted if need.pieces == 0.0)
        net += (cut.length_in / IN_PER_FT if price.unit == "ft" else cut.pieces) - planned
        pieces += cut.bars * pack / bars_in_unit(price)
        steps.append(
            Step(
                rule="the plan of the cuts",
                inputs=f"{cut.pieces} pieces out of {cut.bars} whole lengths",
            )
        )
    units = round_up(pieces * (1 + waste_pct / 100))
    steps.append(
        Step(
            rule="waste, whole units, then whole packs",
            inputs=f"{pieces:g} + {waste_pct:g} % -> {units}, packs of {pack:g}",
        )
    )
    return Quantity(
        item=item,
        name=price.name if price else item,
        driver=wanted[0].driver,
        net=net,
        unit=price.unit if price else "each",
        waste_pct=waste_pct,
        purchase_units=round_up(units / pack),
        purchase_unit=price.purchase_unit if price else "each",
        line_ids=tuple(dict.fromkeys(need.line_id for need in wanted)),
        trace=tuple(steps),
        needs=tuple(wanted),
    )


def missing_price(item: str, *, lines: Sequence[str] = ()) -> Finding:
    """Return the finding for something counted that the price book doesn't know."""
    names = ", ".join(dict.fromkeys(lines))
    return Finding(
        code="missing-price",
        severity="stop",
        message=f"The price book has no item '{item}', so it is counted but not priced.",
        place=f"prices.{item}",
        figure=f"line{'s' if ',' in names else ''} {names}" if names else "",
        action="Add the item to the price book, or take it out of the fence system.",
    )
