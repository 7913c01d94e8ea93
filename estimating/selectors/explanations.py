"""Where the numbers of an estimate come from, as its page shows them."""

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from estimating import mapping
from estimating.engine.chain import MONEY, PERCENT, TIMES, Node
from estimating.engine.explain import Explanation, explain
from estimating.engine.reading import read_catalog
from estimating.models import Estimate
from estimating.selectors.by_foot import counted_words
from estimating.selectors.price_words import part_words
from estimating.selectors.rates import rate_label
from firm.measure.money import format_money
from firm.measure.sold import BY_THE_METRE, count_words, metric_in_one
from firm.measure.units import to_decimal
from firm.measure.written import FEET_WORDS, METRIC, cubic_yards, feet_of_fence
from firm.selectors.profile import firm_units

SIGNS = {"sum": "+", "product": "\N{MULTIPLICATION SIGN}", "quotient": "\N{DIVISION SIGN}"}
IN_WORDS = {
    "crew_rate": "cost of an hour",
    "crew_size x hours_per_day": "people and hours of a day",
    "overhead_rate": "overhead",
    "commission_pct": "commission",
    "sales_tax_pct": "sales tax",
    "purchase_tax_pct": "tax on purchases",
    "travel_per_trip": "cost of a trip",
    "ticket_fee": "locate ticket",
    "concrete_waste_pct": "concrete over",
    "target_margin_pct": "target margin",
}
SHOWN_PLACES = 4
WHOLE = 20  # deeper than any chain
COUNTED = {"bag", "bay", "brace", "cut bay", "day", "gate", "hole", "job", "old footing"}
COUNTED |= {"piece", "post", "terminal", "trip", "visit"}


@dataclass(frozen=True, kw_only=True, slots=True)
class Source:
    """The row or the figure that a number comes from; `page` says where to look it up."""

    words: str
    page: str = ""
    key: str = ""
    since: dt.date | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class ChainRow:
    """One figure of the chain as it is shown, and those it is made of."""

    key: str
    sign: str
    label: str
    figure: str
    rule: str
    places: str
    source: Source | None
    is_open: bool
    children: tuple["ChainRow", ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class _Page:
    """What every row needs: the firm's units, and the price book as the estimate keeps it."""

    units: str
    prices: Mapping[str, Any]


@dataclass(frozen=True, kw_only=True, slots=True)
class ChainView:
    """What the page shows: one figure and those above it, or the price and the customer's lines."""

    roots: tuple[ChainRow, ...]
    parts: tuple[ChainRow, ...] = ()
    above: tuple[tuple[str, str], ...] = ()


def explanation_of(estimate: Estimate) -> Explanation | None:
    """Return where the numbers of an estimate come from, or None where it was never priced."""
    result = mapping.result_of(estimate)
    if result is None:
        return None
    return explain(
        result,
        read_catalog(estimate.catalog),
        overrides=mapping.overrides(estimate.overrides.all()),
    )


def as_json(estimate: Estimate, explained: Explanation) -> dict[str, Any]:
    """Return the whole result as it was kept, and where each figure comes from."""
    return {**estimate.result, "explanation": mapping.to_plain(explained)}


def chain_view(explained: Explanation, key: str, estimate: Estimate) -> ChainView | None:
    """Return the chain of one figure, or of all of them; None where no figure has that key."""
    page = _Page(units=firm_units(), prices=estimate.catalog.get("prices") or {})
    explained = _in_units(explained, estimate, page.units)
    if not key:
        return ChainView(
            roots=(_row(explained.price, "", page, open_to=2),),
            parts=tuple(_row(node, "", page, open_to=0) for node in explained.parts),
        )
    for root in (explained.price, *explained.parts):
        path = _path(root, key)
        if path:
            return ChainView(
                roots=(_row(path[-1], "", page, open_to=1 if root.key != "price" else WHOLE),),
                above=tuple((node.key, node.label) for node in path[:-1]),
            )
    return None


def _in_units(explained: Explanation, estimate: Estimate, units: str) -> Explanation:
    """Return the parts of the price called as the price calls them, in the firm's units."""
    result = mapping.result_of(estimate)
    if result is None:
        return explained
    words = {f"part:{part.key}": part_words(part, result, units) for part in result.price_lines}
    parts = (replace(node, label=words.get(node.key, node.label)) for node in explained.parts)
    return replace(explained, parts=tuple(parts))


def _path(node: Node, key: str) -> list[Node]:
    """Return the nodes from one down to that of the key, or none where it isn't below."""
    if node.key == key:
        return [node]
    for child in node.children:
        if below := _path(child, key):
            return [node, *below]
    return []


def _row(node: Node, sign: str, page: _Page, *, open_to: int) -> ChainRow:
    node = _for_a_metre(node, page.units)
    is_rate = node.unit == "h" and "." in node.rule and " " not in node.rule
    return ChainRow(
        key=node.key,
        sign=sign,
        label=f"{rate_label(node.rule)}, {_lower(node.label)}" if is_rate else node.label,
        figure=_figure(node, page.units),
        rule="" if is_rate else counted_words(node.rule, unit=node.unit, units=page.units),
        places=" and ".join(_places(node)),
        source=_source(node, page.prices),
        is_open=open_to > 0,
        children=tuple(
            _row(child, SIGNS.get(node.joins, "") if index else "", page, open_to=open_to - 1)
            for index, child in enumerate(node.children)
        ),
    )


def _for_a_metre(node: Node, units: str) -> Node:
    """Return what a foot or cubic yard takes or costs as what a metre does, for a metric firm."""
    what, _, of = node.label.rpartition(" one ")
    if (worth := metric_in_one(of, units)) == 1:
        return node
    metre = "cubic metre" if of == "yd3" else "metre"
    for_metre = to_decimal(float(node.figure) / float(worth), SHOWN_PLACES)
    return replace(node, label=f"{what} one {metre}", figure=for_metre)


def _lower(label: str) -> str:
    return label[:1].lower() + label[1:]


def _figure(node: Node, units: str) -> str:
    number = to_decimal(float(node.figure), SHOWN_PLACES)
    short = f"{number:,f}".rstrip("0").rstrip(".")
    if node.unit == MONEY:
        cents = to_decimal(float(node.figure), 2)
        return format_money(node.figure) if number == cents else f"${short}"
    if node.unit == PERCENT:
        return f"{short} %"
    if node.unit == TIMES:
        return short
    if node.unit == "yd3":
        return cubic_yards(float(node.figure), units)
    if units == METRIC and (length := _metres(node)):
        return length
    is_several = node.unit in COUNTED and short != "1"
    return f"{short} {node.unit}{'s' if is_several else ''}"


def _metres(node: Node) -> str:
    """Return what is counted or bought by length in metres; nothing of what is not."""
    if node.unit in FEET_WORDS:
        return feet_of_fence(float(node.figure), METRIC)
    if node.unit == BY_THE_METRE:
        return count_words(to_decimal(float(node.figure), SHOWN_PLACES), node.unit, METRIC)
    return ""


def _places(node: Node) -> Iterator[str]:
    of_line = f" of line {node.line_id}" if node.line_id else ""
    for word, numbers in (("post", node.posts), ("bay", node.bays)):
        if numbers:
            several = "s" if len(numbers) > 1 else ""
            yield f"{word}{several} {runs(numbers)}{of_line}"


def runs(numbers: Sequence[int]) -> str:
    """Return numbers with runs drawn together: 1 to 4, 7, 9."""
    groups: list[list[int]] = []
    for number in sorted(set(numbers)):
        if groups and number == groups[-1][-1] + 1:
            groups[-1].append(number)
        else:
            groups.append([number])
    return ", ".join(
        f"{group[0]} to {group[-1]}" if len(group) > 2 else ", ".join(map(str, group))
        for group in groups
    )


def _source(node: Node, prices: Mapping[str, Any]) -> Source | None:
    if not node.source:
        return None
    book, _, row = node.source.partition(", ")
    since = dt.date.fromisoformat(node.since) if node.since else None
    if book == "price book":
        item, colon, what = row.partition(": ")
        name = (prices.get(item) or {}).get("name", item)
        words = f"price book: {name}{colon}{what}"
        return Source(words=words, page="prices", key=item, since=since)
    if book == "production rates":
        words = f"production rate “{rate_label(row)}”"
        return Source(words=words, page="rates", key=row, since=since)
    if book == "firm's rules":
        name, _, figure = row.partition(": ")
        shown = f"{IN_WORDS.get(name, name.replace('_', ' '))}{f', {figure}' if figure else ''}"
        return Source(words=f"firm's rules: {shown}")
    if ":" in node.source or node.source in {"direct_cost", "overhead", "commission", "margin"}:
        return _figure_of_chain(node.source)
    return Source(words=node.source.replace("_", " "))


def _figure_of_chain(key: str) -> Source:
    words = {"direct_cost": "direct cost", "kind": "cost sheet", "cost": "its whole line"}
    kind = key.partition(":")[0]
    return Source(words=words.get(kind, kind), page="chain", key=key)
