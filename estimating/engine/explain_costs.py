"""Where each line of the cost sheet comes from: quantities, hours, rows and their days."""

from decimal import Decimal

from estimating.engine.chain import MONEY, PERCENT, PLACES, TIMES, Node, fitted, summed
from estimating.engine.explain_materials import RULES, Book, as_traced, bought, price_row, where
from estimating.engine.result import Work
from estimating.engine.sums import CostLine
from firm.measure.units import to_decimal


def cost_key(line: CostLine) -> str:
    """Return the key by which a line of the cost sheet is found in the chain."""
    return f"cost:{line.kind}:{line.item}"


def explain_cost(line: CostLine, book: Book) -> Node:
    """Return where one line of the cost sheet comes from."""
    if line.item.startswith("typed:"):
        return _typed(line, book)
    explained = {
        "material": _material,
        "labour": _labour,
        "equipment": _equipment,
        "tax": _purchase_tax,
        "travel": _travel,
    }.get(line.kind)
    return explained(line, book) if explained else _fee(line)


def _line_node(line: CostLine, *children: Node) -> Node:
    return Node(
        key=cost_key(line),
        label=line.description,
        figure=line.amount,
        unit=MONEY,
        joins="product",
        rule="how many, times the cost of one, to the cent",
        children=children,
    )


# --- Material ---


def _material(line: CostLine, book: Book) -> Node:
    quantity = book.quantities.get(line.item)
    price = book.catalog.prices[line.item]
    if quantity is None:
        count = Node(
            label="Bought", figure=line.quantity, unit=line.unit, source="counted for the whole job"
        )
        return _line_node(line, count, price_row(line, price, book))
    return _line_node(line, bought(line, quantity, price, book), price_row(line, price, book))


# --- Labour ---


def _labour(line: CostLine, book: Book) -> Node:
    return _line_node(line, _hours(line, book), _crew_rate(line))


def _crew_rate(line: CostLine) -> Node:
    return Node(
        label="Cost of an hour of one person",
        figure=line.unit_cost,
        unit=MONEY,
        source=f"{RULES}, crew_rate",
    )


def _hours(line: CostLine, book: Book) -> Node:
    hours = book.hours[line.item]
    by_hand = book.by_hand.get(f"hours:{line.item}")
    counted = to_decimal(sum(work.labor_hours for work in hours.works), PLACES)
    figures = fitted(
        line.quantity if not by_hand else counted, [w.labor_hours for w in hours.works]
    )
    works = [work_node(*pair) for pair in zip(hours.works, figures, strict=True)]
    if not works and not by_hand:
        works.append(as_traced(line.quantity, "h", hours.trace))
    if by_hand:
        works.append(
            Node(
                label="Set by hand",
                figure=line.quantity - summed(works),
                unit="h",
                rule=by_hand.reason,
                source="set by hand",
            )
        )
    return Node(
        label="Labour hours", figure=line.quantity, unit="h", joins="sum", children=tuple(works)
    )


def work_node(work: Work, labor_hours: Decimal) -> Node:
    """Return one kind of work: how many, the rate's row with its day, and what moved the rate."""
    count = Node(
        label=work.note.capitalize() or "Counted",
        figure=to_decimal(work.count, PLACES),
        unit=work.unit,
        source="" if work.posts or work.bays else _counted_by(work),
        line_id=work.line_id,
        gate_id=work.gate_id,
        posts=work.posts,
        bays=work.bays,
    )
    rate = Node(
        label=f"Hours for one {work.unit}",
        figure=to_decimal(work.hours_each, PLACES),
        unit="h",
        source=f"production rates, {work.rate}",
        since=work.valid_from,
    )
    factors = (
        Node(
            label=each.reason.capitalize(),
            figure=to_decimal(each.value, PLACES),
            unit=TIMES,
            source=f"production rates, {each.row.partition('.')[2]}",
            since=each.valid_from,
        )
        for each in work.factors
    )
    return Node(
        label=where(work.line_id, work.gate_id),
        figure=labor_hours,
        unit="h",
        joins="product",
        rule=work.rate,
        children=(count, rate, *factors),
    )


def _counted_by(work: Work) -> str:
    return f"measured site, line {work.line_id}" if work.line_id else "measured site"


# --- Around it ---


def _equipment(line: CostLine, book: Book) -> Node:
    price = book.catalog.prices[line.item]
    return _line_node(line, _machine_days(line, book), price_row(line, price, book))


def _machine_days(line: CostLine, book: Book) -> Node:
    rules = book.catalog.rules
    dig = book.hours["dig"]
    crew_day = Decimal(rules.crew_size) * to_decimal(rules.hours_per_day, PLACES)
    dig_hours = to_decimal(dig.labor_hours, PLACES)
    exact = Node(
        label="Days of digging",
        figure=dig_hours / crew_day,
        unit="day",
        joins="quotient",
        children=(
            Node(
                label="Digging",
                figure=dig_hours,
                unit="h",
                posts=tuple(sorted({number for work in dig.works for number in work.posts})),
                source="cost:labour:dig",
            ),
            crew_day_node(crew_day),
        ),
    )
    rest = Node(
        label="To the half day",
        figure=line.quantity - exact.figure,
        unit="day",
        rule="a machine is kept by the half day",
        source="common practice",
    )
    return Node(
        label="Days of the machine",
        figure=line.quantity,
        unit="day",
        joins="sum",
        children=(exact, rest),
    )


def crew_day_node(hours: Decimal) -> Node:
    return Node(
        label="Hours of the whole crew in a day",
        figure=hours,
        unit="h",
        source=f"{RULES}, crew_size x hours_per_day",
    )


def percent_node(label: str, pct: Decimal, rule_name: str) -> Node:
    return Node(label=label, figure=pct, unit=PERCENT, source=f"{RULES}, {rule_name}")


def _purchase_tax(line: CostLine, book: Book) -> Node:
    lines = tuple(
        Node(label=each.description, figure=each.amount, unit=MONEY, source=cost_key(each))
        for each in book.materials
    )
    material = Node(label="Material", figure=summed(lines), unit=MONEY, joins="sum", children=lines)
    rate = percent_node("Tax", book.catalog.rules.purchase_tax_pct, "purchase_tax_pct")
    return _line_node(line, material, rate)


def _travel(line: CostLine, book: Book) -> Node:
    trips = Node(
        label="Trips",
        figure=line.quantity,
        unit="trip",
        rule="to dig and set, and to hang, where the site does not say otherwise",
        source="measured site, trips",
    )
    cost = Node(
        label="Cost of one trip",
        figure=line.unit_cost,
        unit=MONEY,
        source=f"{RULES}, travel_per_trip",
    )
    return _line_node(line, trips, cost)


def _fee(line: CostLine) -> Node:
    of_site = line.item == "permit_fee"
    return Node(
        key=cost_key(line),
        label=line.description,
        figure=line.amount,
        unit=MONEY,
        source=f"measured site, {line.item}" if of_site else f"{RULES}, {line.item}",
    )


def _typed(line: CostLine, book: Book) -> Node:
    source = f"typed line, {line.description.removeprefix('Labour: ')}"
    count = Node(label="Typed", figure=line.quantity, unit=line.unit, source=source)
    if line.kind == "labour":
        return _line_node(line, count, _crew_rate(line))
    cost = Node(label=f"Cost of one {line.unit}", figure=line.unit_cost, unit=MONEY, source=source)
    return _line_node(line, count, cost)
