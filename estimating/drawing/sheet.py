"""The sheet a plan is drawn on: its scale, its paper, and directions on it."""

import math
from collections.abc import Callable
from dataclasses import dataclass, field

from estimating.drawing.labels import Paper
from estimating.engine.result import Post

MARGIN = 78.0

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


@dataclass(slots=True)
class Sheet:
    """The drawing as it grows: what is drawn, and the paper that words must keep off."""

    scale: Scale
    paper: Paper
    length_words: Words
    posts: dict[int, Post]
    parts: list[str] = field(default_factory=list)
    labels: list[str] = field(default_factory=list)


def direction(start: Point, end: Point) -> tuple[Point, float]:
    """Return the direction from start to end, and how far it is."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    length = math.hypot(dx, dy) or 1.0
    return (dx / length, dy / length), length


def normal(along: Point, side: str) -> Point:
    """Return the direction to the left or right of someone walking `along`, y down."""
    return (along[1], -along[0]) if side == "left" else (-along[1], along[0])
