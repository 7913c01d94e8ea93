"""Reading what is known along a line: ground, utilities, what stands there, pinned bays."""

from typing import get_args

from estimating.engine.fields import Entry
from estimating.engine.site import (
    BayPin,
    FixedKind,
    FixedPoint,
    GroundShot,
    NoDigStrip,
    PinnedTo,
)

FARTHEST_IN = 1e7
# Heights may run from the sea, so that those of a mountain town are five figures.
HIGHEST_IN = 250_000.0
MOST_RELIEF_IN = 12_000.0


def read_ground(entry: Entry, *, most: int) -> tuple[GroundShot, ...]:
    """Return a line's ground shots; no fence climbs 1,000 ft, so such heights are a slip."""
    shots = tuple(_shot(each) for each in entry.entries("ground", most=most))
    heights_in = [shot.elevation_in for shot in shots]
    for i, height_in in enumerate(heights_in):
        if abs(height_in - heights_in[0]) > MOST_RELIEF_IN:
            raise entry.refuse(
                f"ground[{i}].elevation_in",
                f"lies {abs(height_in - heights_in[0]):g} in from the line's first height; "
                f"{MOST_RELIEF_IN:g} in is the most.",
            )
    return shots


def _shot(entry: Entry) -> GroundShot:
    shot = GroundShot(
        station_in=entry.number("station_in", low=-FARTHEST_IN, high=FARTHEST_IN),
        elevation_in=entry.number("elevation_in", low=-HIGHEST_IN, high=HIGHEST_IN),
    )
    entry.finish()
    return shot


def read_strip(entry: Entry) -> NoDigStrip:
    """Return a utility's mark."""
    strip = NoDigStrip(
        station_in=entry.number("station_in", low=-FARTHEST_IN, high=FARTHEST_IN),
        facility_width_in=entry.number("facility_width_in", high=1200),
        crossing_deg=entry.number("crossing_deg", 90.0, low=0, high=180),
        utility=entry.text("utility", ""),
        hand_dig=entry.flag("hand_dig"),
    )
    entry.finish()
    return strip


def read_fixed_point(entry: Entry) -> FixedPoint:
    """Return what stands in the line; only a post can be used."""
    point = FixedPoint(
        station_in=entry.number("station_in", low=-FARTHEST_IN, high=FARTHEST_IN),
        kind=entry.choice("kind", get_args(FixedKind), "tree"),
        width_in=entry.number("width_in", 0.0, high=1200),
        keep_clear_in=entry.number("keep_clear_in", 0.0, high=1200),
        use=entry.flag("use"),
        note=entry.text("note", "", longest=60),
    )
    if point.use and point.kind != "existing_post":
        raise entry.refuse("use", "can be true only of a post that stands already.")
    entry.finish()
    return point


def read_pin(entry: Entry) -> BayPin:
    """Return what the office decided for a bay."""
    pin = BayPin(
        station_in=entry.number("station_in", low=-FARTHEST_IN, high=FARTHEST_IN),
        follows=entry.choice("follows", get_args(PinnedTo)),
    )
    entry.finish()
    return pin
