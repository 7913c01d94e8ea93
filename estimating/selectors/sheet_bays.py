"""Reads the bays of a stored layout: how each stands on its ground, and the steps between them."""

from collections.abc import Mapping, Sequence
from itertools import pairwise
from math import hypot
from typing import Any

from estimating.engine.string_line import StringBay, stands_level
from estimating.selectors.sheet_parts import SheetBay

Json = Mapping[str, Any]
# Float error and the grid of heights; a smaller difference is no step.
STEP_TOLERANCE_IN = 1 / 24


def string_bays(line: Json) -> list[StringBay]:
    """Return a line's bays in order as the string runs over them; none in layouts from before."""
    bays = _in_order(line)
    if not any(bay.get("follows") for bay in bays):
        return []
    return [
        StringBay(
            from_post=bay["from_post"],
            to_post=bay["to_post"],
            length_in=bay["on_centre_in"],
            base_start_in=bay["base_start_in"],
            base_end_in=bay["base_end_in"],
            is_level=stands_level(bay["follows"], bay["because"]),
        )
        for bay in bays
    ]


def ground_at(line: Json) -> dict[int, float]:
    """Return the height of the ground at each of a line's own posts."""
    return {post["number"]: post["elevation_in"] for post in line["posts"]}


def steps_of(line: Json, gap_in: float) -> dict[int, dict[str, Any]]:
    """Return the step at each post where the fence steps, with what its two bays end at there."""
    ground = ground_at(line)
    steps = {}
    for before, after in pairwise(_in_order(line)):
        number = after["from_post"]
        if before["to_post"] != number or number not in ground or not after.get("follows"):
            continue
        ends = (before["base_end_in"], after["base_start_in"])
        if abs(ends[1] - ends[0]) > STEP_TOLERANCE_IN:
            steps[number] = {
                "step_in": ends[1] - ends[0],
                "step_bays": (before["number"], after["number"]),
                "bottoms_in": tuple(end - ground[number] + gap_in for end in ends),
            }
    return steps


def sheet_bay(
    bay: Json, system: Json, tops: Mapping[int, float], ground: Mapping[int, float]
) -> SheetBay:
    """Return one bay of the build sheet, by the heights of post tops and of the ground at them."""
    ends = [tops.get(bay["from_post"]), tops.get(bay["to_post"])]
    rise_in = ends[1] - ends[0] if ends[0] is not None and ends[1] is not None else 0.0
    if bay.get("follows"):
        rise_in = bay["base_end_in"] - bay["base_start_in"]
    return SheetBay(
        number=bay["number"],
        line_id=bay["line_id"],
        from_post=bay["from_post"],
        to_post=bay["to_post"],
        on_centre_in=bay["on_centre_in"],
        spacer_in=bay["spacer_in"],
        panel_in=bay["panel_in"],
        is_cut=bay["is_cut"],
        rise_in=rise_in,
        follows=bay.get("follows", ""),
        longer_infill_in=bay.get("longer_infill_in", 0.0),
        along_slope_in=_along_slope_in(bay, system, ground),
    )


def _along_slope_in(bay: Json, system: Json, ground: Mapping[int, float]) -> float:
    """Return the spacer of a bay as it is when laid on the ground from post to post."""
    ends = (ground.get(bay["from_post"]), ground.get(bay["to_post"]))
    spacer_in: float = bay["spacer_in"]
    is_level = system.get("spacing", "level") == "level"
    if not is_level or ends[0] is None or ends[1] is None or bay["on_centre_in"] <= 0:
        return spacer_in
    return hypot(spacer_in, (ends[1] - ends[0]) * spacer_in / bay["on_centre_in"])


def _in_order(line: Json) -> Sequence[Json]:
    return sorted(line["bays"], key=lambda bay: float(bay["start_station_in"]))
