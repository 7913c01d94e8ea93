"""Sight triangles at corner lots: where a fence stands in a driver's view.

A town names how far the triangle reaches along each street, from which line, and the band of
heights that has to stay clear.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from estimating.engine.geometry import Point, segments_meet, step_from


@dataclass(frozen=True, kw_only=True, slots=True)
class SightTriangle:
    """A corner of two streets: where their reference lines meet, and how far the view reaches.

    The bearings lead from the corner along each street. Between `low_in` and `high_in` above the
    ground nothing may stand; `high_in` 0 means no upper end.
    """

    corner_x_in: float
    corner_y_in: float
    first_bearing_deg: float
    second_bearing_deg: float
    leg_in: float
    low_in: float = 36.0
    high_in: float = 0.0

    @property
    def points(self) -> tuple[Point, Point, Point]:
        """Return the triangle's corners in plan, the streets' first."""
        corner = (self.corner_x_in, self.corner_y_in)
        return (
            corner,
            step_from(corner, self.first_bearing_deg, self.leg_in),
            step_from(corner, self.second_bearing_deg, self.leg_in),
        )

    @property
    def area_ft2(self) -> float:
        (ax, ay), (bx, by), (cx, cy) = self.points
        return abs((bx - ax) * (cy - ay) - (cx - ax) * (by - ay)) / 2 / 144

    @property
    def hypotenuse_in(self) -> float:
        """Return the side across the lot, from street to street."""
        return math.dist(*self.points[1:])

    def holds(self, point: Point) -> bool:
        """Say whether a point lies inside, its edges not counted."""
        signs = [_side(a, b, point) for a, b in _edges(self.points)]
        return all(sign > 1e-6 for sign in signs) or all(sign < -1e-6 for sign in signs)

    def is_obstructed_by(self, bottom_in: float, top_in: float) -> bool:
        """Say whether a fence between these heights reaches into the band that stays clear."""
        high_in = self.high_in or math.inf
        return top_in > self.low_in and bottom_in < high_in


def stretch_inside_in(triangle: SightTriangle, course: Sequence[Point]) -> float:
    """Return how much of a course in plan lies inside a triangle."""
    return sum(_inside_in(triangle, start, end) for start, end in pairwise(course))


def _inside_in(triangle: SightTriangle, start: Point, end: Point) -> float:
    """Return the length of a segment inside: between where it meets the edges."""
    length_in = math.dist(start, end)
    at = sorted({0.0, 1.0, *_meets(triangle, start, end)})
    inside = 0.0
    for before, after in pairwise(at):
        middle = (before + after) / 2
        point = (start[0] + middle * (end[0] - start[0]), start[1] + middle * (end[1] - start[1]))
        if triangle.holds(point):
            inside += (after - before) * length_in
    return inside


def _meets(triangle: SightTriangle, start: Point, end: Point) -> Iterator[float]:
    """Yield where a segment crosses the triangle's edges, as shares of its length."""
    for a, b in _edges(triangle.points):
        if not segments_meet((start, end), (a, b)):
            continue
        from_a, to_b = _side(a, b, start), _side(a, b, end)
        if from_a != to_b:
            yield min(1.0, max(0.0, from_a / (from_a - to_b)))


def _edges(points: tuple[Point, Point, Point]) -> tuple[tuple[Point, Point], ...]:
    a, b, c = points
    return ((a, b), (b, c), (c, a))


def _side(a: Point, b: Point, point: Point) -> float:
    return (b[0] - a[0]) * (point[1] - a[1]) - (b[1] - a[1]) * (point[0] - a[0])
