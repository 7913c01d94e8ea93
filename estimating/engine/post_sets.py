"""Where a post can stand so that bays of allowed widths still end where they must.

Places are whole sixteenths of an inch from the start of a stretch. Sets of places are kept as
ascending spans with both ends included, so that a long line costs no more than its obstacles.
"""

from bisect import bisect_left
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import accumulate
from math import inf

Span = tuple[int, int]
Spans = Sequence[Span]
Step = tuple[int, int, int]  # a bay's shortest and longest on-centre, and what it costs


@dataclass(frozen=True, kw_only=True, slots=True)
class Widths:
    """The shortest and longest on-centre of a stretch's bays, by their place in it.

    The first and the last differ where a fatter post stands there; `only` is a single bay's.
    """

    first: Span
    middle: Span
    last: Span
    only: Span


def merged(spans: Iterable[Span]) -> list[Span]:
    """Return spans in order, those that touch or overlap made one."""
    joined: list[Span] = []
    for start, end in sorted(spans):
        if joined and start <= joined[-1][1] + 1:
            joined[-1] = (joined[-1][0], max(joined[-1][1], end))
        else:
            joined.append((start, end))
    return joined


def without(spans: Spans, taken: Spans) -> list[Span]:
    """Return what is left of ascending spans once others are taken out of them."""
    left: list[Span] = []
    for start, end in spans:
        for low, high in taken:
            if high < start or low > end:
                continue
            if low > start:
                left.append((start, low - 1))
            start = high + 1
        if start <= end:
            left.append((start, end))
    return left


def stepped_back(ahead: Spans, low: int, high: int, rooms: Spans) -> list[Span]:
    """Return the places in `rooms` from which a bay of `low` to `high` ends in `ahead`."""
    found: list[Span] = []
    for first, last in ahead:
        start, end = first - high, last - low
        if start > end:
            continue
        for i in range(bisect_left(rooms, start, key=lambda room: room[1]), len(rooms)):
            room_start, room_end = rooms[i]
            if room_start > end:
                break
            span = (max(start, room_start), min(end, room_end))
            if found and span[0] <= found[-1][1] + 1:
                found[-1] = (found[-1][0], max(found[-1][1], span[1]))
            else:
                found.append(span)
    return found


def can_fill(length: int, count: int, widths: Widths, rooms: Spans) -> bool:
    """Say whether a stretch can be filled with so many bays, its posts in `rooms`."""
    if count == 1:
        return widths.only[0] <= length <= widths.only[1]
    ahead = stepped_back([(length, length)], *widths.last, rooms)
    left = count - 2
    low, high = widths.middle
    while left and ahead:
        times = _free_steps(ahead, low, high, rooms, left)
        ahead = stepped_back(ahead, times * low, times * high, rooms)
        left -= times
    low, high = widths.first
    return low <= high and any(first - high <= 0 <= last - low for first, last in ahead)


def fewest_bays(length: int, widths: Widths, rooms: Spans) -> int:
    """Return the fewest bays that fill a stretch, or 0 where none do."""
    if widths.only[0] <= length <= widths.only[1]:
        return 1
    behind = stepped_back([(0, 0)], -widths.first[1], -widths.first[0], rooms)
    low, high = widths.last
    count = 2
    while behind and behind[0][0] < length:
        if low <= high and any(a + low <= length <= b + high for a, b in behind):
            return count
        behind = stepped_back(behind, -widths.middle[1], -widths.middle[0], rooms)
        count += 1
    return 0


def _free_steps(ahead: Spans, low: int, high: int, rooms: Spans, most: int) -> int:
    """Return how many bays at once lead back from a single span without leaving its room."""
    if len(ahead) > 1 or low > high:
        return 1
    first, last = ahead[0]
    room_start, room_end = rooms[bisect_left(rooms, first, key=lambda room: room[1])]
    if last > room_end:
        return 1
    return max(1, min(most, (first - room_start) // high))


def costs_to_end(
    length: int,
    steps: Sequence[Sequence[Step]],
    landings: Sequence[tuple[Spans, int]],
    *,
    most: float = inf,
) -> list[dict[int, list[Span]]]:
    """Return for each post, start and end included, its places by the least cost to the end.

    `steps` has the bays allowed at each place in the order, `landings` where posts may stand
    and what a post there costs. A place stands only under its least cost, and not at all where
    that is over `most` or the start is out of its reach.
    """
    layers: list[dict[int, list[Span]]] = [{0: [(length, length)]}]
    farthest = [*accumulate(max((step[1] for step in each), default=0) for each in steps)]
    for k in range(len(steps) - 1, -1, -1):
        here = landings if k else [([(0, 0)], 0)]
        within = (0, farthest[k - 1] if k else 0)
        layers.append(_layer(layers[-1], steps[k], here, within, most))
    return layers[::-1]


def _layer(
    ahead: Mapping[int, Spans],
    steps: Sequence[Step],
    landings: Sequence[tuple[Spans, int]],
    within: Span,
    most: float,
) -> dict[int, list[Span]]:
    gathered: dict[int, list[Span]] = {}
    for cost, spans in ahead.items():
        for low, high, bay_cost in steps:
            for rooms, post_cost in landings:
                total = cost + bay_cost + post_cost
                if total <= most:
                    found = stepped_back(spans, low, high, rooms)
                    gathered.setdefault(total, []).extend(found)
    layer: dict[int, list[Span]] = {}
    covered: list[Span] = []
    for cost in sorted(gathered):
        near = [(start, min(end, within[1])) for start, end in gathered[cost] if start <= within[1]]
        spans = without(merged(near), covered)
        if spans:
            layer[cost] = spans
            covered = merged([*covered, *spans])
    return layer
