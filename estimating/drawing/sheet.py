"""The sheet a plan is drawn on: its scale, its paper, and directions on it."""

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from itertools import pairwise

from estimating.drawing.labels import Paper, Spot
from estimating.engine.result import LineLayout, Post
from firm.measure.written import US

MARGIN = 64.0

Point = tuple[float, float]
Words = Callable[[float], str]


@dataclass(frozen=True, kw_only=True, slots=True)
class Scale:
    """From inches on the ground, y to the north, to units of the drawing, y down."""

    factor: float
    left_in: float
    top_in: float
    offset: float

    def at(self, x_in: float, y_in: float) -> Point:
        """Return where a point of the ground stands in the drawing."""
        return (
            self.offset + (x_in - self.left_in) * self.factor,
            MARGIN + (self.top_in - y_in) * self.factor,
        )


@dataclass(frozen=True, kw_only=True, slots=True)
class UtilityMark:
    """Where a marked utility crosses a line, and what it is."""

    line_id: str
    station_in: float
    width_in: float
    crossing_deg: float = 90.0
    utility: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class FixedMark:
    """What stands in a line already: its width, what is kept clear of holes, what it is called."""

    line_id: str
    station_in: float
    width_in: float
    keep_clear_in: float
    words: str
    is_used: bool = False


@dataclass(slots=True)
class Sheet:
    """The drawing as it grows: what is drawn, and the paper that words must keep off."""

    scale: Scale
    paper: Paper
    length_words: Words
    posts: dict[int, Post]
    parts: list[str] = field(default_factory=list)
    labels: list[str] = field(default_factory=list)
    units: str = US


def direction(start: Point, end: Point) -> tuple[Point, float]:
    """Return the direction from start to end, and how far it is."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    length = math.hypot(dx, dy) or 1.0
    return (dx / length, dy / length), length


def normal(along: Point, side: str) -> Point:
    """Return the direction to the left or right of someone walking `along`, y down."""
    return (along[1], -along[0]) if side == "left" else (-along[1], along[0])


def point_at(line: LineLayout, station_in: float) -> Point:
    """Return the point of the ground so far along a line."""
    left = station_in
    for start, end in pairwise(line.plan_points):
        along, length = direction(start, end)
        if left <= length:
            return start[0] + along[0] * left, start[1] + along[1] * left
        left -= length
    return line.plan_points[-1]


def keep_words_off(paper: Paper, start: Point, end: Point, *, radius: float = 3.0) -> None:
    """Take the paper along a drawn line."""
    along, length = direction(start, end)
    for i in range(int(length // 8) + 1):
        paper.take(
            Spot(x=start[0] + along[0] * i * 8, y=start[1] + along[1] * i * 8, radius=radius)
        )
