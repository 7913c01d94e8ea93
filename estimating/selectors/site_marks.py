"""What stands in the lines of a site document, as plans draw it."""

from collections.abc import Mapping
from typing import Any

from estimating.drawing.sheet import FixedMark, UtilityMark
from estimating.engine.site import FixedPoint
from estimating.engine.standing_room import fixed_words
from estimating.mapping import from_plain


def fixed_marks(document: Mapping[str, Any]) -> tuple[FixedMark, ...]:
    """Return trees, drains and standing posts; the tape's stations are near enough to draw."""
    return tuple(
        FixedMark(
            line_id=line["id"],
            station_in=point.station_in,
            width_in=point.width_in,
            keep_clear_in=point.keep_clear_in,
            words=fixed_words(point),
            is_used=point.use,
        )
        for line in document.get("lines", ())
        for point in (from_plain(FixedPoint, each) for each in line.get("fixed_points", ()))
    )


def utility_marks(document: Mapping[str, Any]) -> tuple[UtilityMark, ...]:
    """Return the utilities marked on the site; the tape's stations are near enough to draw."""
    return tuple(
        UtilityMark(
            line_id=line["id"],
            station_in=strip["station_in"],
            width_in=strip.get("facility_width_in", 0.0),
            crossing_deg=strip.get("crossing_deg", 90.0),
            utility=strip.get("utility", ""),
        )
        for line in document.get("lines", ())
        for strip in line.get("no_dig", ())
    )
