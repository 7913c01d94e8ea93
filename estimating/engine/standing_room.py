"""Where no line post may stand: utilities' marks and what stands beside or in the line."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from estimating.engine.course import Course
from estimating.engine.geometry import PER_INCH
from estimating.engine.nodig import zones_of
from estimating.engine.post_plan import Room
from estimating.engine.post_sets import Span, merged, without
from estimating.engine.products import product_for, widest_hole_in
from estimating.engine.site import FixedPoint

# A millionth of a sixteenth: what just touches keeps its distance.
HAIR = 1e-6
WORDS = {"tree": "tree", "drain": "drain", "existing_post": "standing post", "other": "fixed point"}


@dataclass(frozen=True, kw_only=True, slots=True)
class Obstacle:
    """A place along the line that line posts keep off, with the middles of their holes.

    None within `half_in`; within `by_hand_half_in` those dug by hand. `opened_half_in` is what
    would be left of `half_in` if the zone were dug by hand.
    """

    what: str
    station_in: float
    half_in: float
    by_hand_half_in: float = 0.0
    opened_half_in: float = 0.0

    def is_in_way(self, station_in: float) -> bool:
        """Say whether a line post can't stand at a station."""
        return abs(station_in - self.station_in) < self.half_in - HAIR / PER_INCH


def obstacles_of(course: Course, tolerance_in: float) -> list[Obstacle]:
    """Return what the line posts of a line keep off, in order along it."""
    hole_in = widest_hole_in(course.system, product_for(course.system, "line"))
    found = [
        _kept_clear(course, point, hole_in) for point in course.line.fixed_points if not point.use
    ]
    for zone in zones_of(course, tolerance_in):
        mark_in = zone.along_in(zone.mark_half_in, hole_in)
        zone_in = zone.along_in(zone.zone_half_in, hole_in)
        by_hand = zone.strip.hand_dig
        found.append(
            Obstacle(
                what=f"{zone.strip.utility or 'utility'} mark",
                station_in=zone.centre_in,
                half_in=mark_in if by_hand else zone_in,
                by_hand_half_in=zone_in if by_hand else 0.0,
                opened_half_in=mark_in,
            )
        )
    return sorted(found, key=lambda each: each.station_in)


def fixed_words(point: FixedPoint) -> str:
    """Return what a fixed point is called: its note, else its kind."""
    return point.note or WORDS[point.kind]


def _kept_clear(course: Course, point: FixedPoint, hole_in: float) -> Obstacle:
    half_in = point.width_in / 2 + point.keep_clear_in + hole_in / 2
    return Obstacle(
        what=fixed_words(point),
        station_in=course.station_of_tape(point.station_in),
        half_in=half_in,
        opened_half_in=half_in,
    )


def rooms_of(start_in: float, end_in: float, obstacles: Iterable[Obstacle]) -> tuple[Room, ...]:
    """Return where line posts may stand between two stations, in sixteenths from the first."""
    length = round((end_in - start_in) * PER_INCH)
    around = list(obstacles)
    barred = _within([(each.station_in, each.half_in) for each in around], start_in)
    by_hand = _within([(each.station_in, each.by_hand_half_in) for each in around], start_in)
    free = without([(1, length - 1)], barred) if length > 1 else []
    rooms = [Room(start=a, end=b) for a, b in without(free, by_hand)]
    rooms += [Room(start=a, end=b, by_hand=True) for a, b in _common(free, by_hand)]
    return tuple(sorted(rooms, key=lambda room: room.start))


def _within(places: Iterable[tuple[float, float]], start_in: float) -> list[Span]:
    """Return the sixteenths nearer to a station than its half width; the very limit is free."""
    found: list[Span] = []
    for station_in, half_in in places:
        centre, half = (station_in - start_in) * PER_INCH, half_in * PER_INCH
        span = math.floor(centre - half + HAIR) + 1, math.ceil(centre + half - HAIR) - 1
        if span[0] <= span[1]:
            found.append(span)
    return merged(found)


def _common(spans: Sequence[Span], others: Sequence[Span]) -> list[Span]:
    pairs = ((max(a, c), min(b, d)) for a, b in spans for c, d in others)
    return [(start, end) for start, end in pairs if start <= end]
