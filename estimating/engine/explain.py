"""Where the price comes from: from the price back to posts, bays, rules and rows of the books.

Built from a result and the catalog it was worked out with, so that a frozen estimate explains
itself by the rows it was priced with.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from estimating.engine.catalog import Catalog, Override, Rules
from estimating.engine.chain import MONEY, PLACES, Node, find, summed
from estimating.engine.explain_costs import (
    cost_key,
    crew_day_node,
    explain_cost,
    percent_node,
    work_node,
)
from estimating.engine.explain_materials import RULES, Book, book_of, need_node
from estimating.engine.result import EstimateResult
from estimating.engine.sums import CostKind, CostLine, Money, PriceLine
from firm.measure.money import share_out
from firm.measure.units import to_decimal

Owner = tuple[str, str]
KINDS: tuple[tuple[CostKind, str], ...] = (
    ("material", "Material"),
    ("tax", "Tax on purchases"),
    ("labour", "Labour"),
    ("equipment", "Equipment"),
    ("fee", "Fees"),
    ("travel", "Travel"),
    ("typed", "Typed lines"),
)


@dataclass(frozen=True, kw_only=True, slots=True)
class Explanation:
    """The price as it is built up, and each of the customer's lines as it is made up."""

    price: Node
    parts: tuple[Node, ...]

    def node(self, key: str) -> Node | None:
        """Return the node of a key such as `cost:material:ITEM`, `part:line:A` or `overhead`."""
        return find((self.price, *self.parts), key)


def explain(
    result: EstimateResult, catalog: Catalog, *, overrides: Sequence[Override] = ()
) -> Explanation:
    """Return where every line of the cost sheet and of the price comes from."""
    book = book_of(result, catalog, overrides)
    return Explanation(price=_price(result, book), parts=_parts(result, book))


# --- The build-up ---


def _price(result: EstimateResult, book: Book) -> Node:
    money = result.money
    return Node(
        key="price",
        label="Price",
        figure=money.price,
        unit=MONEY,
        joins="sum",
        children=(_before_tax(result, book), *_sales_tax(money, book.catalog.rules)),
    )


def _before_tax(result: EstimateResult, book: Book) -> Node:
    money, rules = result.money, book.catalog.rules
    direct = _direct_cost(result, book)
    return Node(
        key="price_before_tax",
        label="Price before tax",
        figure=money.price_before_tax,
        unit=MONEY,
        joins="sum",
        rule=_price_rule(result, book),
        children=(
            direct,
            _overhead(result, rules, direct),
            *_commission(money, rules),
            Node(
                key="margin",
                label="Margin",
                figure=money.margin,
                unit=MONEY,
                rule=f"what remains: {money.margin_pct_of_price} % of the price",
                source=f"{RULES}, target_margin_pct: {rules.target_margin_pct} %",
            ),
        ),
    )


def _price_rule(result: EstimateResult, book: Book) -> str:
    rules = book.catalog.rules
    by_hand = book.by_hand.get("price")
    if by_hand:
        return f"set by hand: {by_hand.reason}"
    if any(found.code == "minimum-charge-applied" for found in result.findings):
        return "raised to the firm's minimum charge"
    commission = f" - {rules.commission_pct} % commission" if rules.commission_pct else ""
    built = f"break-even / (100 % - {rules.target_margin_pct} % margin{commission})"
    has_typed = any(part.key.startswith("typed:") for part in result.price_lines)
    return f"{built}; a typed line with a price of its own keeps it" if has_typed else built


def _direct_cost(result: EstimateResult, book: Book) -> Node:
    kinds = []
    for kind, label in KINDS:
        lines = [explain_cost(line, book) for line in result.cost_lines if line.kind == kind]
        if lines:
            total = summed(lines)
            kinds.append(
                Node(
                    key=f"kind:{kind}",
                    label=label,
                    figure=total,
                    unit=MONEY,
                    joins="sum",
                    children=tuple(lines),
                )
            )
    return Node(
        key="direct_cost",
        label="Direct cost",
        figure=result.money.direct_cost,
        unit=MONEY,
        joins="sum",
        source="" if kinds else "nothing is counted",
        children=tuple(kinds),
    )


def _overhead(result: EstimateResult, rules: Rules, direct: Node) -> Node:
    rate = Node(
        label=rules.overhead_method.replace("_", " ").capitalize(),
        figure=rules.overhead_rate,
        unit=MONEY,
        source=f"{RULES}, overhead_rate",
    )
    hours = Node(
        label="Labour hours of the job",
        figure=to_decimal(result.total_hours, PLACES),
        unit="h",
        source="kind:labour",
    )
    if rules.overhead_method == "percent_of_direct":
        cost = Node(label=direct.label, figure=direct.figure, unit=MONEY, source="direct_cost")
        children = (cost, percent_node("Of direct cost", rules.overhead_rate, "overhead_rate"))
    elif rules.overhead_method == "per_labor_hour":
        children = (hours, rate)
    else:
        children = (_crew_days(result.money, rules, hours), rate)
    return Node(
        key="overhead",
        label="Overhead",
        figure=result.money.overhead,
        unit=MONEY,
        joins="product",
        children=children,
    )


def _crew_days(money: Money, rules: Rules, hours: Node) -> Node:
    crew_day = Decimal(rules.crew_size) * to_decimal(rules.hours_per_day, 4)
    return Node(
        label="Days of the whole crew",
        figure=money.crew_days,
        unit="day",
        joins="quotient",
        children=(hours, crew_day_node(crew_day)),
    )


def _commission(money: Money, rules: Rules) -> tuple[Node, ...]:
    if not money.commission:
        return ()
    price = Node(
        label="Price before tax",
        figure=money.price_before_tax,
        unit=MONEY,
        source="price_before_tax",
    )
    pct = percent_node("Of the price", rules.commission_pct, "commission_pct")
    return (
        Node(
            key="commission",
            label="Commission",
            figure=money.commission,
            unit=MONEY,
            joins="product",
            children=(price, pct),
        ),
    )


def _sales_tax(money: Money, rules: Rules) -> tuple[Node, ...]:
    if not money.sales_tax:
        return ()
    on_all = rules.sales_tax_base == "all"
    base = Node(
        label="Price before tax" if on_all else "What the material cost",
        figure=money.price_before_tax if on_all else money.material,
        unit=MONEY,
        source="price_before_tax" if on_all else "kind:material",
    )
    return (
        Node(
            key="sales_tax",
            label="Sales tax",
            figure=money.sales_tax,
            unit=MONEY,
            joins="product",
            children=(base, percent_node("Sales tax", rules.sales_tax_pct, "sales_tax_pct")),
        ),
    )


# --- The customer's lines ---


def _parts(result: EstimateResult, book: Book) -> tuple[Node, ...]:
    """Return what each of the customer's lines is made of, to the cent.

    A line bears what it causes itself, and by that its share of what serves the whole job; of
    overhead by all its cost, of commission by its price. What remains is its margin.
    """
    parts = result.price_lines
    owners = [_owner(part, result) for part in parts]
    own: list[list[Node]] = [[] for _ in parts]
    for line in result.cost_lines:
        for index, node in _caused(line, parts, owners, book):
            own[index].append(node)
    own_cost = [summed(nodes) for nodes in own]
    common = _common(result, own)
    shared = [share_out(line.amount, _bearing(parts, own_cost)) for line in common]
    cost = [
        own_cost[index] + sum((amounts[index] for amounts in shared), Decimal(0))
        for index in range(len(parts))
    ]
    overhead = share_out(result.money.overhead, cost)
    commission = share_out(result.money.commission, [part.amount for part in parts])
    return tuple(
        _part(
            part,
            own[index],
            [
                *_job_share(common, [amounts[index] for amounts in shared]),
                *_named_share("Overhead", overhead[index], "overhead", "by its direct cost"),
                *_named_share("Commission", commission[index], "commission", "by its price"),
            ],
        )
        for index, part in enumerate(parts)
    )


def _owner(part: PriceLine, result: EstimateResult) -> Owner:
    """Return the line, and the gate, that a line of the price is for; a typed one has neither."""
    for line in result.lines:
        if part.key == f"line:{line.line_id}":
            return line.line_id, ""
        for gate in line.gates:
            if part.key == f"gate:{line.line_id}:{gate.id}":
                return line.line_id, gate.id
    return "", ""


def _caused(
    line: CostLine, parts: Sequence[PriceLine], owners: Sequence[Owner], book: Book
) -> Iterable[tuple[int, Node]]:
    """Yield the share of a cost line that each part of the price causes."""
    if line.item.startswith("typed:"):
        yield from (
            (index, _cell(line, line.amount, ()))
            for index, part in enumerate(parts)
            if part.key == line.item
        )
        return
    causes = _causes(line, book)
    weights = [
        sum((weight for cause, weight, _ in causes if cause == owner and owner[0]), Decimal(0))
        for owner in owners
    ]
    if sum(weights, Decimal(0)) <= 0:
        return
    for index, amount in enumerate(share_out(line.amount, weights)):
        if weights[index] > 0:
            leaves = tuple(node for cause, _, node in causes if cause == owners[index])
            yield index, _cell(line, amount, leaves)


def _causes(line: CostLine, book: Book) -> list[tuple[Owner, Decimal, Node]]:
    """Return who causes a cost line, how much, and the posts, bays and rates of it."""
    if line.kind == "material" and line.item in book.quantities:
        quantity = book.quantities[line.item]
        return [
            (
                (need.line_id, need.gate_id),
                to_decimal(need.amount, PLACES),
                need_node(need, quantity.unit),
            )
            for need in quantity.needs
        ]
    if line.kind == "labour" and line.item in book.hours:
        return [
            ((work.line_id, work.gate_id), hours, work_node(work, hours))
            for work in book.hours[line.item].works
            for hours in (to_decimal(work.labor_hours, PLACES),)
            if work.line_id
        ]
    return []


def _cell(line: CostLine, amount: Decimal, leaves: tuple[Node, ...]) -> Node:
    return Node(
        label=line.description,
        figure=amount,
        unit=MONEY,
        rule="" if amount == line.amount else f"of ${line.amount:,} in all, by what it needs",
        source=cost_key(line),
        children=leaves,
    )


def _common(result: EstimateResult, own: Sequence[Sequence[Node]]) -> list[CostLine]:
    caused = {node.source for nodes in own for node in nodes}
    return [line for line in result.cost_lines if cost_key(line) not in caused]


def _bearing(parts: Sequence[PriceLine], own_cost: Sequence[Decimal]) -> list[Decimal]:
    """Return who bears what serves the whole job: by own cost, typed prices as far as alone."""
    laid_out = [
        cost if part.key.startswith(("line:", "gate:")) else Decimal(0)
        for part, cost in zip(parts, own_cost, strict=True)
    ]
    return laid_out if any(laid_out) else list(own_cost)


def _job_share(common: Sequence[CostLine], amounts: Sequence[Decimal]) -> list[Node]:
    shares = tuple(
        Node(label=line.description, figure=amount, unit=MONEY, source=cost_key(line))
        for line, amount in zip(common, amounts, strict=True)
        if amount
    )
    if not shares:
        return []
    return [
        Node(
            label="Its share of what serves the whole job",
            figure=summed(shares),
            unit=MONEY,
            joins="sum",
            rule="by what each line costs itself",
            children=shares,
        )
    ]


def _named_share(label: str, amount: Decimal, source: str, rule: str) -> list[Node]:
    if not amount:
        return []
    return [Node(label=label, figure=amount, unit=MONEY, source=source, rule=f"its share, {rule}")]


def _part(part: PriceLine, own: Sequence[Node], shares: Sequence[Node]) -> Node:
    so_far = (*own, *shares)
    margin = Node(
        label="Margin",
        figure=part.amount - summed(so_far),
        unit=MONEY,
        rule="what remains of this line",
        source="margin",
    )
    return Node(
        key=f"part:{part.key}",
        label=part.description,
        figure=part.amount,
        unit=MONEY,
        joins="sum",
        rule="a part of the price before tax, by what it costs",
        children=(*so_far, margin),
    )
