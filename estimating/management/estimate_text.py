"""An estimate as plain text, for a terminal or a text file."""

from collections.abc import Iterable, Iterator, Sequence

from estimating.engine.catalog import Catalog
from estimating.engine.result import EstimateResult, LineLayout
from estimating.engine.site import Site
from firm.measure.lengths import format_ft_in, format_in
from firm.measure.money import format_money, to_cents
from firm.measure.units import IN_PER_FT, to_decimal

SEVERITIES = {"stop": "STOP", "warn": "Warning", "note": "Note"}
PHASES = {
    "removal": "Removal",
    "layout": "Layout",
    "dig": "Dig",
    "set": "Set",
    "hang": "Hang",
    "gates": "Gates",
    "clean_up": "Clean-up",
}


def render(result: EstimateResult, site: Site, catalog: Catalog) -> str:
    """Return the whole estimate as text."""
    blocks = [
        [site.name, "=" * len(site.name)],
        *(list(_line_block(line, catalog)) for line in result.lines),
        list(_holes(result)),
        list(_quantities(result)),
        list(_cuts(result)),
        list(_hours(result)),
        list(_costs(result)),
        list(_price(result)),
        list(_findings(result)),
        ["Quantities are to be checked by the crew lead on site."],
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block) + "\n"


def table(heads: Sequence[str], rows: Iterable[Sequence[str]], *, left: int = 1) -> list[str]:
    """Return rows in columns as wide as they need; the first `left` columns are text."""
    cells = [list(heads), *(list(row) for row in rows)]
    widths = [max(len(row[column]) for row in cells) for column in range(len(heads))]
    lines = []
    for row in cells:
        parts = [
            cell.ljust(width) if column < left else cell.rjust(width)
            for column, (cell, width) in enumerate(zip(row, widths, strict=True))
        ]
        lines.append(("  " + "  ".join(parts)).rstrip())
    return lines


def _line_block(line: LineLayout, catalog: Catalog) -> Iterator[str]:
    system = catalog.systems[line.system].name
    yield f"Line {line.line_id}{f', {line.name}' if line.name else ''}: {system}"
    yield (
        f"  {line.scope.replace('_', ' ')}, {format_ft_in(line.length_in)} long, "
        f"{line.fence_ft:.2f} ft of fence, finished face to the {line.finished_face}"
    )
    yield from _sections(line)
    yield from _posts(line)
    yield from _bays(line)
    yield from _gates(line)


def _sections(line: LineLayout) -> Iterator[str]:
    if not line.sections:
        return
    yield ""
    yield from table(
        ("Section", "from", "to", "length", "bays", "max on centre"),
        (
            (
                str(each.number),
                each.from_kind.replace("_", " "),
                each.to_kind.replace("_", " "),
                format_ft_in(each.length_in),
                str(each.bays),
                format_in(each.max_on_centre_in),
            )
            for each in line.sections
        ),
        left=3,
    )


def _posts(line: LineLayout) -> Iterator[str]:
    if not line.posts:
        return
    yield ""
    yield from table(
        ("Post", "kind", "routing", "remark", "station", "x ft", "y ft", "width", "length"),
        (
            (
                str(post.number),
                post.kind,
                post.routing.replace("_", "-"),
                _remark(post.hand_dig, post.shared_with),
                format_ft_in(post.station_in),
                f"{post.x_in / IN_PER_FT:.2f}",
                f"{post.y_in / IN_PER_FT:.2f}",
                format_in(post.width_in),
                format_ft_in(post.length_in),
            )
            for post in line.posts
        ),
        left=4,
    )


def _remark(hand_dig: bool, shared_with: str) -> str:
    remarks = ["dig by hand"] * hand_dig + [f"shared with {shared_with}"] * bool(shared_with)
    return ", ".join(remarks) or "-"


def _bays(line: LineLayout) -> Iterator[str]:
    if not line.bays:
        return
    yield ""
    yield from table(
        ("Bay", "posts", "cut", "on centre", "spacer"),
        (
            (
                str(bay.number),
                f"{bay.from_post or 'wall'} to {bay.to_post or 'wall'}",
                "cut" if bay.is_cut else "full",
                format_in(bay.on_centre_in),
                format_in(bay.spacer_in),
            )
            for bay in line.bays
        ),
        left=3,
    )


def _gates(line: LineLayout) -> Iterator[str]:
    if not line.gates:
        return
    yield ""
    yield from table(
        ("Gate", "use", "hinges", "swings", "opening", "on centre", "leaf", "leaves"),
        (
            (
                gate.id,
                gate.use,
                gate.hinge_side,
                gate.swing,
                format_in(gate.clear_opening_in),
                format_in(gate.on_centre_in),
                " + ".join(format_in(width) for width in gate.widths_in),
                str(gate.leaves) if gate.kind == "swing" else "slides",
            )
            for gate in line.gates
        ),
        left=4,
    )


def _holes(result: EstimateResult) -> Iterator[str]:
    if not result.holes:
        return
    groups: dict[tuple[float, float, str, float], int] = {}
    for hole in result.holes:
        key = (hole.diameter_in, hole.depth_in, hole.depth_rule, hole.concrete_ft3)
        groups[key] = groups.get(key, 0) + 1
    yield "Holes and concrete"
    yield from table(
        ("depth set by", "holes", "diameter", "depth", "concrete each"),
        (
            (rule, str(count), format_in(diameter), format_in(depth), f"{ft3:.3f} ft3")
            for (diameter, depth, rule, ft3), count in groups.items()
        ),
    )
    concrete = result.concrete
    yield (
        f"  {concrete.net_ft3:.2f} ft3 net, {concrete.with_waste_ft3:.2f} ft3 with waste "
        f"({concrete.cubic_yards:.2f} yd3): {concrete.bags} bags of "
        f"{concrete.bag_yield_ft3:g} ft3; loose soil {concrete.spoil_loose_yd3:.2f} yd3"
    )


def _quantities(result: EstimateResult) -> Iterator[str]:
    if not result.quantities:
        return
    yield "Quantities"
    yield from table(
        ("item", "name", "unit", "bought as", "net", "waste", "buy"),
        (
            (
                each.item,
                each.name,
                each.unit,
                each.purchase_unit,
                f"{each.net:.2f}".rstrip("0").rstrip("."),
                f"{each.waste_pct:g} %",
                str(each.purchase_units),
            )
            for each in result.quantities
        ),
        left=4,
    )


def _cuts(result: EstimateResult) -> Iterator[str]:
    if not result.cuts:
        return
    yield "Cut list"
    yield from table(
        ("item", "where", "size", "pieces"),
        ((c.item, c.place, format_in(c.length_in), str(c.pieces)) for c in result.cuts),
        left=2,
    )
    for plan in result.cut_plans:
        yield f"Saw list of {plan.item}" + (", proven" if plan.is_proven else "")
        yield from table(
            ("item", "cut into", "left", "lengths"),
            (
                (
                    bar.item,
                    " + ".join(f"{p.pieces} x {format_in(p.length_in)}" for p in bar.pieces),
                    format_in(bar.offcut_in) + (" kept" if bar.is_kept else ""),
                    str(bar.bars),
                )
                for bar in plan.bars
            ),
            left=2,
        )


def _hours(result: EstimateResult) -> Iterator[str]:
    yield "Labour hours"
    rows = [(PHASES[each.phase], _hundredths(each.labor_hours)) for each in result.hours]
    yield from table(("phase", "hours"), [*rows, ("all", _hundredths(result.total_hours))])
    yield f"  equipment {result.equipment_days:g} days, {result.trips} trips"


def _hundredths(hours: float) -> str:
    return str(to_decimal(hours, 2))


def _costs(result: EstimateResult) -> Iterator[str]:
    yield "Direct cost"
    yield from table(
        ("kind", "what", "unit", "quantity", "unit cost", "amount"),
        (
            (
                each.kind,
                each.description + (f" (set by hand: {each.reason})" if each.overridden else ""),
                each.unit,
                str(to_cents(each.quantity)).removesuffix(".00"),
                f"{each.unit_cost:,.4f}".removesuffix("00"),
                f"{each.amount:,.2f}",
            )
            for each in result.cost_lines
        ),
        left=3,
    )


def _price(result: EstimateResult) -> Iterator[str]:
    money = result.money
    yield "Price"
    rows = [
        ("direct cost", money.direct_cost),
        (f"overhead, {money.crew_days:.2f} crew-days", money.overhead),
        ("break-even", money.break_even),
        ("commission", money.commission),
        (f"margin, {money.margin_pct_of_price} % of the price", money.margin),
        ("price before tax", money.price_before_tax),
        ("sales tax", money.sales_tax),
        ("price", money.price),
    ]
    yield from table(("", ""), ((name, format_money(amount)) for name, amount in rows))[1:]
    if money.price_per_ft is not None:
        yield f"  {format_money(money.price_per_ft)} per ft"
    if result.price_lines:
        yield ""
        yield from table(
            ("the customer's lines", "amount"),
            ((each.description, format_money(each.amount)) for each in result.price_lines),
        )
    if result.options:
        yield ""
        yield from table(
            ("options", "amount", "tax"),
            (
                (each.description, format_money(each.amount), format_money(each.tax_amount))
                for each in result.options
            ),
        )


def _findings(result: EstimateResult) -> Iterator[str]:
    yield "Findings" if result.findings else "Findings: none"
    for each in result.findings:
        place = f" ({each.place})" if each.place else ""
        yield f"  {SEVERITIES[each.severity]}{place}: {each.message}"
        if each.figure or each.limit:
            limit = f", limit {each.limit}" if each.limit else ""
            yield f"    {each.figure}{limit}"
        if each.action:
            yield f"    {each.action}"
