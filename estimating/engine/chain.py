"""A figure as a tree: how its parts make it, and the posts, bays and rows it comes from."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from firm.measure.units import to_decimal

# How a node's children make its figure: they add up to it, multiply to it (times or as percent),
# or the first divided by the others gives it. "" says that the rule alone does.
Joins = Literal["", "sum", "product", "quotient"]
MONEY = "$"
PERCENT = "%"
TIMES = "times"
PLACES = 6  # of figures that are no money: finer than a cent can show


@dataclass(frozen=True, kw_only=True, slots=True)
class Node:
    """One figure with its unit: `$`, `%`, `times`, or what is counted.

    A leaf says where it stands: by posts and bays of a line, or by the row or rule that `source`
    names. `since` is the day of that row, as far as it is known.
    """

    label: str
    figure: Decimal
    unit: str
    joins: Joins = ""
    key: str = ""
    rule: str = ""
    source: str = ""
    since: str = ""
    line_id: str = ""
    gate_id: str = ""
    posts: tuple[int, ...] = ()
    bays: tuple[int, ...] = ()
    children: tuple["Node", ...] = ()


def walk(node: Node) -> Iterator[Node]:
    """Yield a node and everything below it."""
    yield node
    for child in node.children:
        yield from walk(child)


def find(nodes: Iterable[Node], key: str) -> Node | None:
    """Return the node of a key, wherever it stands."""
    return next((node for root in nodes for node in walk(root) if node.key == key), None)


def fitted(total: Decimal, parts: Sequence[float]) -> list[Decimal]:
    """Return parts to six places that add up to the total exactly; the largest takes the rest.

    Each part is rounded, and so is the total: together they may miss it by a millionth.
    """
    rounded = [to_decimal(part, PLACES) for part in parts]
    if rounded:
        largest = max(range(len(rounded)), key=lambda index: abs(rounded[index]))
        rounded[largest] += total - sum(rounded, Decimal(0))
    return rounded


def summed(nodes: Iterable[Node]) -> Decimal:
    """Return what the figures of some nodes add up to."""
    return sum((node.figure for node in nodes), Decimal(0))
