"""Plane geometry on a site: the 1/16 in grid, bearings, turns and crossing segments.

Plan coordinates are inches, x to the east and y to the north; bearings run clockwise from north.
"""

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

PER_INCH = 16
Point = tuple[float, float]
Segment = tuple[Point, Point]


def to_grid(length_in: float) -> float:
    """Return a length rounded half-up to the 1/16 in; sixteenths add up exactly in a float."""
    return math.floor(length_in * PER_INCH + 0.5) / PER_INCH


def step_from(point: Point, bearing_deg: float, length_in: float) -> Point:
    """Return the point `length_in` away on a bearing."""
    angle = math.radians(bearing_deg)
    x, y = point
    # A billionth of an inch: keeps 1e-14 for 0 out of files and drawings.
    return (round(x + length_in * math.sin(angle), 9), round(y + length_in * math.cos(angle), 9))


def bearing_of(start: Point, end: Point) -> float:
    """Return the bearing from one point to another, 0 up to 360."""
    return math.degrees(math.atan2(end[0] - start[0], end[1] - start[1])) % 360


def turn_between(before_deg: float, after_deg: float) -> float:
    """Return the turn from one bearing to the next, over -180 up to 180, right turns positive."""
    turn = (after_deg - before_deg) % 360
    return turn - 360 if turn > 180 else turn


def legs_of_points(points: Sequence[Point]) -> list[tuple[float, float]]:
    """Return the (length, turn at its start) of each leg of a polyline."""
    bearings = [bearing_of(*pair) for pair in pairwise(points)]
    turns = [0.0] + [turn_between(*pair) for pair in pairwise(bearings)]
    lengths = [math.dist(*pair) for pair in pairwise(points)]
    return list(zip(lengths, turns, strict=True))


def segments_meet(first: Segment, second: Segment) -> bool:
    """Say whether two segments cross, touch or lie on one another."""
    a, b = first
    c, d = second
    side_c, side_d = _side(a, b, c), _side(a, b, d)
    side_a, side_b = _side(c, d, a), _side(c, d, b)
    if side_c * side_d < 0 and side_a * side_b < 0:
        return True
    touches = ((side_c, first, c), (side_d, first, d), (side_a, second, a), (side_b, second, b))
    return any(side == 0 and _is_within(segment, point) for side, segment, point in touches)


def meeting_pairs(segments: Sequence[Segment]) -> Iterator[tuple[int, int]]:
    """Yield the index pairs of segments that meet, the lower index first.

    Sorted by their west end, so that only those overlapping from west to east are compared.
    """
    west = [min(a[0], b[0]) for a, b in segments]
    east = [max(a[0], b[0]) for a, b in segments]
    order = sorted(range(len(segments)), key=west.__getitem__)
    for place, i in enumerate(order):
        for j in order[place + 1 :]:
            if west[j] > east[i]:
                break
            if segments_meet(segments[i], segments[j]):
                yield (min(i, j), max(i, j))


def _side(a: Point, b: Point, point: Point) -> float:
    """Return which side of a-b a point lies on: its distance to it, 0 within a hair's breadth."""
    cross = (b[0] - a[0]) * (point[1] - a[1]) - (b[1] - a[1]) * (point[0] - a[0])
    length = math.dist(a, b)
    return cross / length if length and abs(cross) > 1e-6 * length else 0.0


def _is_within(segment: Segment, point: Point) -> bool:
    (ax, ay), (bx, by) = segment
    return (
        min(ax, bx) - 1e-6 <= point[0] <= max(ax, bx) + 1e-6
        and min(ay, by) - 1e-6 <= point[1] <= max(ay, by) + 1e-6
    )
