"""A histogram of prices as SVG, with marks at prices that matter; a table beside it says it too."""

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from math import ceil, log10
from math import floor as floor_of

from estimating.drawing.marks import SOFT, line, number, words

WIDTH = 720.0
HEIGHT = 250.0
LEFT, RIGHT = 20.0, 20.0
TOP, BOTTOM = 56.0, 40.0
BAR_COLOUR = "#9db8a6"
GAP = 1.0
ROW = 16.0
TICKS = 5
SIZE = 12.0
# Nearer to either side than this, a mark's words stand beside it and not over it.
EDGE = 130.0


@dataclass(frozen=True, kw_only=True, slots=True)
class PriceMark:
    """A price that is marked on the axis, and its words."""

    price: float
    words: str
    is_strong: bool = False


def histogram_svg(
    edges: Sequence[float],
    counts: Sequence[int],
    *,
    marks: Sequence[PriceMark],
    title: str,
    about: str,
    id_prefix: str = "histogram",
) -> str:
    """Return the histogram as one SVG element, or "" where nothing was counted.

    `edges` are prices in dollars, one more than `counts`. The axis reaches as far as the marks.
    """
    if not counts or not max(counts):
        return ""
    scale = _Scale.over([*edges, *(mark.price for mark in marks)])
    parts = [*_bars(edges, counts, scale), *_axis(scale), *_marks(marks, scale)]
    return (
        f'<svg class="histogram" xmlns="http://www.w3.org/2000/svg" role="img"'
        f' viewBox="0 0 {number(WIDTH)} {number(HEIGHT)}"'
        f' aria-labelledby="{id_prefix}-title {id_prefix}-about">'
        f'<title id="{id_prefix}-title">{escape(title)}</title>'
        f'<desc id="{id_prefix}-about">{escape(about)}</desc>{"".join(parts)}</svg>'
    )


@dataclass(frozen=True, kw_only=True, slots=True)
class _Scale:
    low: float
    high: float

    @classmethod
    def over(cls, prices: Sequence[float]) -> "_Scale":
        low, high = min(prices), max(prices)
        room = max((high - low) * 0.03, 0.5)
        return cls(low=low - room, high=high + room)

    def at(self, price: float) -> float:
        share = (price - self.low) / (self.high - self.low)
        return LEFT + share * (WIDTH - LEFT - RIGHT)


def _bars(edges: Sequence[float], counts: Sequence[int], scale: _Scale) -> list[str]:
    floor, highest = HEIGHT - BOTTOM, max(counts)
    bars = []
    for start, end, count in zip(edges, edges[1:], counts, strict=False):
        left, right = scale.at(start), scale.at(end)
        high = (floor - TOP) * count / highest
        if count:
            bars.append(
                f'<rect x="{number(left)}" y="{number(floor - high)}"'
                f' width="{number(max(right - left - GAP, GAP))}" height="{number(high)}"'
                f' fill="{BAR_COLOUR}"/>'
            )
    return bars


def _axis(scale: _Scale) -> list[str]:
    floor = HEIGHT - BOTTOM
    parts = [line(LEFT, floor, WIDTH - RIGHT, floor)]
    step = _round_step((scale.high - scale.low) / TICKS)
    for i in range(ceil(scale.low / step), floor_of(scale.high / step) + 1):
        price = i * step
        x = scale.at(price)
        parts += [
            line(x, floor, x, floor + 5),
            words(f"${price:,.0f}", x, floor + 18, size=SIZE, colour=SOFT),
        ]
    return parts


def _round_step(least: float) -> float:
    """Return 1, 2 or 5 dollars times a power of ten, not below `least`."""
    power = 10.0 ** floor_of(log10(max(least, 1.0)))
    return next(power * each for each in (1, 2, 5, 10) if power * each >= least)


def _marks(marks: Sequence[PriceMark], scale: _Scale) -> list[str]:
    """Draw the marks from left to right, the words of neighbours on two heights."""
    parts = []
    for row, mark in enumerate(sorted(marks, key=lambda each: each.price)):
        x = scale.at(mark.price)
        y = ROW + row % 2 * ROW
        anchor = "start" if x < EDGE else "end" if x > WIDTH - EDGE else "middle"
        parts += [
            line(x, y + 9, x, HEIGHT - BOTTOM, width=2.5 if mark.is_strong else 1.2),
            words(mark.words, x, y, size=SIZE, anchor=anchor, bold=mark.is_strong),
        ]
    return parts
