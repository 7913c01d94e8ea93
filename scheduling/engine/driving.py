"""Where sites lie, and how long the drive between them takes."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from scheduling.engine.errors import EngineError
from scheduling.engine.real_time import QUARTERS_PER_HOUR

EARTH_RADIUS_MI = 3958.8
# A drive of exactly a quarter hour must not become two by a last digit.
SLACK_H = 1e-6


@dataclass(frozen=True, kw_only=True, slots=True)
class Place:
    """A point on the map, in degrees north and east."""

    lat_deg: float
    lon_deg: float

    def __post_init__(self) -> None:
        for field, value, most in (
            ("lat_deg", self.lat_deg, 90.0),
            ("lon_deg", self.lon_deg, 180.0),
        ):
            if not -most <= value <= most:
                raise EngineError(
                    f"Give degrees from -{most:g} to {most:g}, not {value:g}.", field=field
                )


@dataclass(frozen=True, kw_only=True, slots=True)
class Road:
    """How the way by road compares with the straight one, and how fast a truck gets on.

    Common practice, no source: roads are longer by 3 tenths, a truck with a trailer goes 30 mph.
    """

    factor: float = 1.3
    speed_mph: float = 30.0

    def __post_init__(self) -> None:
        if not 1.0 <= self.factor <= 10.0:
            raise EngineError("A road is 1 to 10 times as long as a straight line.", field="factor")
        if not 1.0 <= self.speed_mph <= 100.0:
            raise EngineError("Give a speed from 1 to 100 mph.", field="speed_mph")


def straight_mi(one: Place, other: Place) -> float:
    """Return the great-circle distance, by the haversine formula on a sphere."""
    north, other_north = math.radians(one.lat_deg), math.radians(other.lat_deg)
    half_lat = (other_north - north) / 2
    half_lon = math.radians(other.lon_deg - one.lon_deg) / 2
    haversine = (
        math.sin(half_lat) ** 2 + math.cos(north) * math.cos(other_north) * math.sin(half_lon) ** 2
    )
    # A last digit over 1 would be no sine: points that lie opposite each other.
    return 2 * EARTH_RADIUS_MI * math.asin(math.sqrt(min(haversine, 1.0)))


def drive_h(one: Place | None, other: Place | None, road: Road) -> float:
    """Return the hours from one place to another, 0 where either is unknown."""
    if one is None or other is None:
        return 0.0
    return straight_mi(one, other) * road.factor / road.speed_mph


def drive_quarters_h(one: Place | None, other: Place | None, road: Road) -> float:
    """Return the same up to the quarter hour: what a calendar leaves free for it."""
    quarters = drive_h(one, other, road) * QUARTERS_PER_HOUR
    return math.ceil(quarters - SLACK_H) / QUARTERS_PER_HOUR


def day_drive_h(places: Sequence[Place | None], yard: Place | None, road: Road) -> float:
    """Return the hours on the road of a day: from the yard to each place in turn, and home."""
    return sum(drive_h(*leg, road) for leg in pairwise(_stops(places, yard)))


def extra_drive_h(places: Sequence[Place | None], yard: Place | None, road: Road) -> float:
    """Return what a day drives beyond the way to its first site and back.

    That way is in the hours the first job was sold with.
    """
    known = [one for one in places if one is not None]
    if len(known) <= 1:
        return 0.0
    return day_drive_h(known, yard, road) - 2 * drive_h(yard, known[0], road)


def _stops(places: Sequence[Place | None], yard: Place | None) -> list[Place]:
    return [one for one in (yard, *places, yard) if one is not None]
