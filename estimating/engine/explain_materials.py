"""Where bought material comes from: needs of posts and bays, cuts, waste, packs and prices."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from estimating.engine.catalog import Catalog, Override, PriceItem
from estimating.engine.chain import MONEY, PLACES, Node, summed
from estimating.engine.result import EstimateResult, Hours, Need, Quantity
from estimating.engine.saw_plan import CutPlan
from estimating.engine.stock_plans import bars_in_unit
from estimating.engine.sums import CostLine
from estimating.engine.trace import Step
from firm.measure.units import to_decimal

RULES = "firm's rules"


@dataclass(frozen=True, kw_only=True, slots=True)
class Book:
    """What the estimate was worked out with, by what a line of the cost sheet names."""

    catalog: Catalog
    quantities: Mapping[str, Quantity]
    hours: Mapping[str, Hours]
    by_hand: Mapping[str, Override]
    equipment_days: float
    trips: int
    materials: tuple[CostLine, ...]
    plans: tuple[CutPlan, ...]


def book_of(result: EstimateResult, catalog: Catalog, overrides: Sequence[Override]) -> Book:
    """Return the pieces of a result by key."""
    return Book(
        catalog=catalog,
        quantities={each.item: each for each in result.quantities},
        hours={each.phase: each for each in result.hours},
        by_hand={each.target: each for each in overrides},
        equipment_days=result.equipment_days,
        trips=result.trips,
        materials=tuple(line for line in result.cost_lines if line.kind == "material"),
        plans=result.cut_plans,
    )


def price_row(line: CostLine, price: PriceItem, book: Book) -> Node:
    by_hand = book.by_hand.get(f"unit_cost:{price.key}")
    return Node(
        label=f"Cost of one {line.unit}",
        figure=line.unit_cost,
        unit=MONEY,
        rule=f"set by hand: {by_hand.reason}" if by_hand else "",
        source="set by hand" if by_hand else f"price book, {price.key}",
        since="" if by_hand else price.checked_on,
    )


def bought(line: CostLine, quantity: Quantity, price: PriceItem, book: Book) -> Node:
    pack = to_decimal(price.pack, PLACES)
    pieces = _pieces(line.quantity * pack, quantity, book)
    if pack == 1:
        return Node(
            label="Bought",
            figure=line.quantity,
            unit=line.unit,
            joins="sum",
            rule="needed, waste, then whole pieces",
            children=pieces,
        )
    in_packs = Node(
        label="In these packs",
        figure=line.quantity * pack,
        unit=quantity.unit,
        joins="sum",
        rule="needed, waste, whole pieces, then whole packs",
        children=pieces,
    )
    return Node(
        label="Bought",
        figure=line.quantity,
        unit=line.unit,
        joins="quotient",
        children=(
            in_packs,
            Node(
                label=f"In one {line.unit}",
                figure=pack,
                unit=quantity.unit,
                source=f"price book, {price.key}",
                since=price.checked_on,
            ),
        ),
    )


def _pieces(total: Decimal, quantity: Quantity, book: Book) -> tuple[Node, ...]:
    """Return the needs, the waste and what whole packs or a hand add, which make the total."""
    if not quantity.needs:
        return (as_traced(total, quantity.unit, quantity.trace),)
    counted = [need for need in quantity.needs if need.pieces != 0.0]
    needs = (
        *(need_node(need, quantity.unit) for need in counted),
        *_out_of_stock(quantity, book),
    )
    waste = _waste(quantity, needs, book)
    rest = total - summed((*needs, *waste))
    by_hand = book.by_hand.get(f"quantity:{quantity.item}")
    if by_hand:
        return (*needs, *waste, _rest(rest, quantity, "Set by hand", by_hand.reason, "set by hand"))
    if not rest:
        return (*needs, *waste)
    row = f"price book, {quantity.item}: bought whole"
    return (
        *needs,
        *waste,
        _rest(rest, quantity, "To whole ones", "what is cut is made whole", row),
    )


def _out_of_stock(quantity: Quantity, book: Book) -> tuple[Node, ...]:
    """Return the bars that the plan of the cuts takes, with the needs that it cuts."""
    cut = tuple(need_node(need, quantity.unit) for need in quantity.needs if need.pieces == 0.0)
    bars = [bar for plan in book.plans for bar in plan.bars if bar.item == quantity.item]
    if not cut:
        return ()
    price = book.catalog.prices[quantity.item]
    count = sum(bar.bars for bar in bars)
    pieces = sum(piece.pieces * bar.bars for bar in bars for piece in bar.pieces)
    return (
        Node(
            label="Out of whole lengths",
            figure=to_decimal(count * price.pack / bars_in_unit(price), PLACES),
            unit=quantity.unit,
            rule=f"the plan of the cuts: {pieces} pieces out of {count}",
            source="cut list",
            children=cut,
        ),
    )


def _rest(rest: Decimal, quantity: Quantity, label: str, rule: str, source: str) -> Node:
    return Node(label=label, figure=rest, unit=quantity.unit, rule=rule, source=source)


def as_traced(figure: Decimal, unit: str, trace: Sequence[Step]) -> Node:
    """Return a figure of an estimate that was priced before its parts were kept."""
    steps = "; ".join(f"{step.rule}: {step.inputs}" for step in trace)
    return Node(label="Counted", figure=figure, unit=unit, source=steps or "counted")


def need_node(need: Need, unit: str) -> Node:
    """Return what one line or gate needs of an item, with the posts or bays that ask for it."""
    is_cut = need.pieces == 0.0
    pieces = need.amount if is_cut or need.pieces is None else need.pieces
    return Node(
        label=where(need.line_id, need.gate_id),
        figure=to_decimal(pieces, PLACES),
        unit="piece" if is_cut and unit != "ft" else unit,
        rule=need.rule,
        source="fence system" if need.driver == "job" else "",
        line_id=need.line_id,
        gate_id=need.gate_id,
        posts=need.posts,
        bays=need.bays,
    )


def _waste(quantity: Quantity, needs: Sequence[Node], book: Book) -> tuple[Node, ...]:
    if not quantity.waste_pct:
        return ()
    is_concrete = quantity.driver == "concrete"
    price = book.catalog.prices[quantity.item]
    return (
        Node(
            label="Waste",
            figure=to_decimal(float(summed(needs)) * quantity.waste_pct / 100, PLACES),
            unit=quantity.unit,
            rule=f"{quantity.waste_pct:g} % of what is needed",
            source=f"{RULES}, concrete_waste_pct" if is_concrete else f"price book, {price.key}",
            since="" if is_concrete else price.checked_on,
        ),
    )


def where(line_id: str, gate_id: str) -> str:
    if gate_id:
        return f"Gate {gate_id} of line {line_id}"
    return f"Line {line_id}" if line_id else "The whole job"
