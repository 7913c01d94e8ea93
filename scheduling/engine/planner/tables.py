"""What the numbers of a problem are kept in: arrays, most of them of records.

The search looks them up some millions of times a second. Crews, sites, jobs, visits and machines go
by number. Site 0 is the yard.
"""

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

# Beyond every place and moment of a plan.
NEVER = 10**9
YARD = 0
# Not one of those that go by number.
NONE = -1
# Not asked yet.
UNKNOWN = -1

Whole = NDArray[np.int32]
Draws = NDArray[np.int64]
Flags = NDArray[np.bool_]
Records = NDArray[np.void]


class Lines(NamedTuple):
    """The crews' lines; the first index is the crew.

    `crews` hold a line's length and whether anything stands fixed on it; `places` in which stretch
    one lies and when it begins, and when work up to it ends. `stretches` hold where a stretch
    begins on the line, its day and hours, the stops right before and after it; `known`, `home_by`
    and `first` are the last stop before, the first behind, and the first of the day, whose places
    are known; `way_min` and `rest_min` are the ways there from the yard, and home.
    `first_from` is by moment the first place that begins no sooner. `alone_min` counts by site and
    stretch the minutes of driving there on all days before, when it is alone there.
    """

    crews: Records
    places: Records
    stretches: Records
    first_from: Whole
    alone_min: Whole


class Work(NamedTuple):
    """The jobs and their visits.

    `tasks` hold by crew and visit how long it takes, which row of `next_start` tells where it may
    begin, and the last place where it may, `uses` what it uses, from which unit on, for how long.
    `waits` holds the visits a visit waits for, `hardens` by the crew that made it which row of
    `hard` tells from when. `followers` are those that wait for a visit.
    """

    jobs: Records
    visits: Records
    tasks: Records
    uses: Records
    able: Flags
    next_start: Whole
    waits: Whole
    hardens: Whole
    hard: Whole
    due_at: Whole
    followers: Whole
    has_links: bool


class Fleets(NamedTuple):
    """The machines: how many are the firm's, how many crews may have one, what one more counts.

    `taken` tells by machine, crew and day who has one for what stands fixed.
    """

    machines: Records
    taken: Whole
    has_rent: bool


class Numbers(NamedTuple):
    """All numbers of a problem.

    `ways` holds from site to site the minutes of driving to count, the units to keep, and the
    minutes as they are.
    """

    lines: Lines
    ways: Records
    is_known: Flags
    work: Work
    fleets: Fleets
    unit_min: int
    move_min: int


def records(rows: Sequence[Any], kinds: Mapping[str, type], *, shape: tuple[int, ...]) -> Records:
    """Return rows of numbers by name as an array of records of a shape."""
    found = np.zeros(shape, list(kinds.items())).view(np.recarray)
    flat = found.reshape(-1)
    for name in kinds:
        flat[name] = [row[name] for row in rows]
    return found


def padded(rows: Sequence[Sequence[int]], fill: int) -> Whole:
    """Return rows of whole numbers of unlike lengths as one array."""
    found = np.full((len(rows), max((len(one) for one in rows), default=0)), fill, np.int32)
    for number, one in enumerate(rows):
        found[number, : len(one)] = one
    return found
