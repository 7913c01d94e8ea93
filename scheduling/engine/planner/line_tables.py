"""Lines and ways in numbers."""

import itertools
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from scheduling.engine.planner.lines import Line, Stretch
from scheduling.engine.planner.problem import Problem
from scheduling.engine.planner.tables import (
    NEVER,
    NONE,
    YARD,
    Flags,
    Lines,
    Records,
    Whole,
    padded,
    records,
)

CREW = {"length": np.int32, "has_fixed": np.bool_}
PLACE = {"index": np.int32, "begins": np.int32, "ends": np.int32}
STRETCH = {
    "at": np.int32,
    "day": np.int32,
    "opens": np.int32,
    "closes": np.int32,
    "room_min": np.float64,
    "before": np.int32,
    "after": np.int32,
    "known": np.int32,
    "home_by": np.int32,
    "first": np.int32,
    "way_min": np.float64,
    "rest_min": np.float64,
}
WAY = {"drive": np.int32, "gap": np.int32, "minutes": np.float64}


def site_keys(problem: Problem) -> list[str]:
    """Return the yard and the sites of a problem: its jobs, and what stands fixed."""
    stops = (
        key
        for line in problem.lines.values()
        for one in line.stretches
        for key in (*one.stops_before, *one.stops_after)
    )
    return ["", *dict.fromkeys([*(one.key for one in problem.orders), *stops])]


def ways_of(problem: Problem, keys: Sequence[str]) -> tuple[Records, Flags]:
    """Return the ways from site to site, and whose places are known."""
    minutes = problem.drive_min
    rows = [
        {
            "drive": problem.drive(one, other),
            "gap": problem.gap(one, other),
            "minutes": minutes.get((one, other), 0.0),
        }
        for one in keys
        for other in keys
    ]
    is_known = np.array([("", key) in minutes for key in keys])
    return records(rows, WAY, shape=(len(keys), len(keys))), is_known


def lines_of(problem: Problem, site: Mapping[str, int], ways: Records, is_known: Flags) -> Lines:
    """Return the crews' lines."""
    lines = list(problem.lines.values())
    crews = [{"length": one.length, "has_fixed": one.has_stops} for one in lines]
    places = [list(_places(one)) for one in lines]
    stretches: list[list[dict[str, Any]]] = [
        [
            _stretch(stretch, at, site, ways, is_known)
            for stretch, at in zip(one.stretches, one.at, strict=False)
        ]
        for one in lines
    ]
    for one, mine in zip(lines, stretches, strict=True):
        mine.append(dict.fromkeys(STRETCH, 0) | {"at": one.length})
    moments = [one.stretches[-1].ends if one.stretches else 0 for one in lines]
    return Lines(
        crews=records(crews, CREW, shape=(len(lines),)),
        places=_by_crew(places, PLACE),
        stretches=_by_crew(stretches, STRETCH),
        first_from=padded(
            [
                [one.first_from(moment) for moment in range(last)]
                for one, last in zip(lines, moments, strict=True)
            ],
            NEVER,
        ),
        alone_min=_alone_min(_by_crew(stretches, STRETCH), ways),
    )


def _by_crew(rows: Sequence[list[dict[str, Any]]], kinds: Mapping[str, Any]) -> Records:
    most = max(len(one) for one in rows)
    nothing = dict.fromkeys(kinds, 0)
    flat = [row for one in rows for row in [*one, *[nothing] * (most - len(one))]]
    return records(flat, kinds, shape=(len(rows), most))


def _places(line: Line) -> list[dict[str, int]]:
    """Return each place of a line, and the one behind the last, where work can only end."""
    index = [n for n, one in enumerate(line.stretches) for _ in range(one.length)]
    return [
        {
            "index": index[place] if place < line.length else NEVER,
            "begins": line.begins(place) if place < line.length else NEVER,
            "ends": line.ends(place) if place else 0,
        }
        for place in range(line.length + 1)
    ]


def _stretch(
    one: Stretch, at: int, site: Mapping[str, int], ways: Records, is_known: Flags
) -> dict[str, Any]:
    before = [site[key] for key in one.stops_before]
    after = [site[key] for key in one.stops_after]
    known = [YARD, *(stop for stop in before if is_known[stop])]
    home = [*(stop for stop in after if is_known[stop]), YARD]
    return {
        "at": at,
        "day": one.day,
        "opens": one.begins,
        "closes": one.ends,
        "room_min": NEVER if one.room_min is None else one.room_min,
        "before": before[-1] if before else YARD,
        "after": after[0] if after else YARD,
        "known": known[-1],
        "home_by": home[0],
        "first": known[1] if len(known) > 1 else NONE,
        "way_min": _way_min(known, ways),
        "rest_min": _way_min(home, ways),
    }


def _way_min(stops: Sequence[int], ways: Records) -> float:
    return float(sum(ways[leg].minutes for leg in itertools.pairwise(stops)))


def _alone_min(stretches: Records, ways: Records) -> Whole:
    drive: Whole = ways["drive"]
    crews, most = stretches.shape
    found = np.zeros((crews, len(drive), most), np.int32)
    for crew in range(crews):
        before, after = stretches["before"][crew, :-1], stretches["after"][crew, :-1]
        each = drive[before].T + drive[:, after] - drive[before, after]
        found[crew, :, 1:] = np.cumsum(each, axis=1)
    return found
