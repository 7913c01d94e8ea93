"""Reading what is marked along a line: utilities, what stands there, bays set by hand."""

from typing import get_args

from estimating.engine.fields import Entry
from estimating.engine.site import BayPin, FixedKind, FixedPoint, NoDigStrip, PinnedTo

FARTHEST_IN = 1e7


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
