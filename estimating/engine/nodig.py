"""Utility marks across a line: the mark itself, and the tolerance zone that is dug by hand."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from estimating.engine.catalog import FenceSystem, PostProduct
from estimating.engine.course import Course
from estimating.engine.products import widest_hole_in
from estimating.engine.site import NoDigStrip

# A billionth of an inch: a hole that just touches a limit keeps it.
TOUCHES_IN = 1e-9


@dataclass(frozen=True, kw_only=True, slots=True)
class Zone:
    """A mark where it crosses a line: its centre station, and the sine of the angle between.

    `mark_half_in` is half the facility's width and `zone_half_in` half the zone with its
    tolerance, both square to the mark.
    """

    strip: NoDigStrip
    centre_in: float
    sine: float
    mark_half_in: float
    zone_half_in: float

    def along_in(self, half_in: float, hole_in: float) -> float:
        """Return how far along the line a hole's middle keeps off, so that its edge keeps off.

        `half_in` is square to the mark. The hole is round: at a slant its half counts as much
        more along the line as the mark's own.
        """
        return (half_in + hole_in / 2) / self.sine


def zones_of(course: Course, tolerance_in: float) -> list[Zone]:
    """Return the zones of a line; the tolerance is added on each side of the facility's width."""
    return [
        Zone(
            strip=strip,
            centre_in=course.station_of_tape(strip.station_in),
            sine=_sine(strip),
            mark_half_in=strip.facility_width_in / 2,
            zone_half_in=strip.facility_width_in / 2 + tolerance_in,
        )
        for strip in course.line.no_dig
    ]


def reach_in(system: FenceSystem, product: PostProduct, station_in: float, zone: Zone) -> float:
    """Return how near a hole's edge comes to the mark's centre, square to the mark.

    0 where the hole covers it.
    """
    radius_in = widest_hole_in(system, product) / 2
    return max(0.0, abs(station_in - zone.centre_in) * zone.sine - radius_in)


def is_nearer(reach: float, half_in: float) -> bool:
    """Say whether a hole's edge comes nearer to a mark's centre than it may."""
    return reach < half_in - TOUCHES_IN


def must_hand_dig(
    system: FenceSystem, product: PostProduct, station_in: float, zones: Sequence[Zone]
) -> bool:
    """Say whether a post's hole reaches into the tolerance zone of any mark."""
    return any(
        is_nearer(reach_in(system, product, station_in, zone), zone.zone_half_in) for zone in zones
    )


def _sine(strip: NoDigStrip) -> float:
    # A mark that runs along the line has no end to reach: 5 degrees keeps the zone finite.
    return max(abs(math.sin(math.radians(strip.crossing_deg))), math.sin(math.radians(5)))
