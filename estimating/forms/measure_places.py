"""Where lines stand of which nobody typed a place: each goes on where the one before it ended."""

import math
from collections.abc import Iterable, Mapping
from itertools import pairwise
from typing import Any

from estimating.engine.geometry import Point, bearing_of, step_from

FIRST_BEARING_DEG = 90.0
PLACE = ("start_x_in", "start_y_in", "bearing_deg")


def placed(lines: Iterable[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Return the lines of a document, each with a start and the heading of its first leg.

    A line that starts at another's post has its place from there; its corners are followed from
    that post all the same, for the line after it.
    """
    done: list[dict[str, Any]] = []
    corners: dict[str, list[Point]] = {}
    at: Point = (0.0, 0.0)
    heading_deg = FIRST_BEARING_DEG
    for given in lines:
        line = dict(given)
        if "points" not in line:
            _place(line, at, heading_deg)
        course = _course(line, corners)
        corners[str(line.get("id", ""))] = course
        at, heading_deg = course[-1], _last_heading_deg(course, heading_deg)
        done.append(line)
    return done


def _place(line: dict[str, Any], at: Point, heading_deg: float) -> None:
    """Fill in what is missing of a line's place."""
    is_shared = line.get("start", {}).get("kind") == "shared_post"
    has_start = "start_x_in" in line or "start_y_in" in line
    if not has_start and not is_shared:
        line["start_x_in"], line["start_y_in"] = (round(each, 4) for each in at)
    line.setdefault("start_x_in", 0.0)
    line.setdefault("start_y_in", 0.0)
    line.setdefault("bearing_deg", FIRST_BEARING_DEG if has_start else round(heading_deg, 4))


def _course(line: Mapping[str, Any], corners: Mapping[str, list[Point]]) -> list[Point]:
    """Return the points a line runs through, its start first."""
    if "points" in line:
        return [(float(each["x_in"]), float(each["y_in"])) for each in line["points"]]
    start = line.get("start", {})
    point: Point = (float(line["start_x_in"]), float(line["start_y_in"]))
    if start.get("kind") == "shared_post":
        known = corners.get(str(start.get("shared_line", "")), [])
        point = _named(known, str(start.get("shared_at", ""))) or point
    course = [point]
    heading_deg = float(line["bearing_deg"])
    for number, leg in enumerate(line.get("legs", ())):
        heading_deg += float(leg.get("turn_deg") or 0.0) if number else 0.0
        course.append(step_from(course[-1], heading_deg, float(leg["length_in"])))
    return course


def _named(course: list[Point], place: str) -> Point | None:
    """Return the start, the end or a corner of a line by its number; None for no such place."""
    word, _, number = place.partition(" ")
    if not course or word not in ("start", "end", "corner"):
        return None
    index = {"start": 0, "end": -1}.get(word, int(number) if number.isdecimal() else len(course))
    return course[index] if index < len(course) else None


def _last_heading_deg(course: list[Point], heading_deg: float) -> float:
    """Return the heading of a line's last leg."""
    for before, after in reversed(list(pairwise(course))):
        if math.dist(before, after):
            return bearing_of(before, after) % 360
    return heading_deg
