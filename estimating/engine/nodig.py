"""Utility marks across a line: the mark itself, and the tolerance zone that is dug by hand."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from estimating.engine.catalog import FenceSystem, PostProduct
from estimating.engine.course import Course
from estimating.engine.products import widest_hole_in
from estimating.engine.site import NoDigStrip


@dataclass(frozen=True, kw_only=True, slots=True)
class Zone:
    """A mark along a line: half the facility's width, and half the zone with its tolerance.

    Both are measured along the line, so a mark that crosses at a slant reaches further.
    """

    strip: NoDigStrip
    centre_in: float
    mark_half_in: float
    zone_half_in: float


def zones_of(course: Course, tolerance_in: float) -> list[Zone]:
    """Return the zones of a line; the tolerance is added on each side of the facility's width."""
    return [
        Zone(
            strip=strip,
            centre_in=course.station_of_tape(strip.station_in),
            mark_half_in=strip.facility_width_in / 2 / _sine(strip),
            zone_half_in=(strip.facility_width_in / 2 + tolerance_in) / _sine(strip),
        )
        for strip in course.line.no_dig
    ]


def reach_in(system: FenceSystem, product: PostProduct, station_in: float, zone: Zone) -> float:
    """Return how near a hole's edge comes to the mark's centre, 0 where it covers that."""
    radius_in = widest_hole_in(system, product) / 2
    return max(0.0, abs(station_in - zone.centre_in) - radius_in)


def must_hand_dig(
    system: FenceSystem, product: PostProduct, station_in: float, zones: Sequence[Zone]
) -> bool:
    """Say whether a post's hole reaches into the tolerance zone of any mark."""
    return any(reach_in(system, product, station_in, zone) < zone.zone_half_in for zone in zones)


def _sine(strip: NoDigStrip) -> float:
    # A mark that runs along the line has no end to reach: 5 degrees keeps the zone finite.
    return max(abs(math.sin(math.radians(strip.crossing_deg))), math.sin(math.radians(5)))
