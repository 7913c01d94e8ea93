"""The best places for the posts between two terminals, exact on the 1/16 in grid.

Among all plans that keep the largest spacing, the narrowest clear width and the places where no
post may stand, the one with the fewest posts; then, by the fence system's division, the fewest cut
bays or the most even clear widths; then the shortest offcut (the longest single one as short as
can be: what is cut off altogether is the same for as many posts); then the fewest posts dug by
hand. What is still alike is settled by place: full bays first, or each post nearest to its even
share, from the start on.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from heapq import heappop, heappush
from math import gcd, inf

from estimating.engine.bays import Division
from estimating.engine.post_sets import (
    Span,
    Step,
    Widths,
    can_fill,
    costs_to_end,
    fewest_bays,
    merged,
)

# Clear widths are kept in hundredths of a sixteenth: half a pipe is no whole sixteenth.
HAIRS = 100
# A bay narrower than a full one by this much still takes a panel as it comes: 1/32 in.
FULL_TOLERANCE = HAIRS // 2
# Cuts weigh more than any number of posts dug by hand.
ONE_CUT = 1_000_000


@dataclass(frozen=True, kw_only=True, slots=True)
class Room:
    """Where line posts may stand, both ends included; by hand inside a tolerance zone."""

    start: int
    end: int
    by_hand: bool = False


@dataclass(frozen=True, kw_only=True)
class Stretch:
    """From one fixed post to the next: a terminal, a bend or a standing post.

    Lengths are sixteenths from its start; halves of the posts at its ends and the clear width
    of a full bay are hairs. `largest` is the largest spacing that its ground allows.
    """

    length: int
    largest: int
    full_clear: int
    first_half: int
    last_half: int
    rooms: tuple[Room, ...]

    @cached_property
    def room_spans(self) -> list[Span]:
        """All rooms as one ascending set."""
        return merged((room.start, room.end) for room in self.rooms)

    def cost_at(self, place: int) -> int:
        """Return what a post at a place costs: 1 where it is dug by hand."""
        return any(room.by_hand and room.start <= place <= room.end for room in self.rooms)

    @cached_property
    def landings(self) -> list[tuple[list[Span], int]]:
        """The rooms with what a post there costs: one dug by hand counts."""
        kinds = ((False, 0), (True, 1))
        spans = [
            (merged((room.start, room.end) for room in self.rooms if room.by_hand == by_hand), cost)
            for by_hand, cost in kinds
        ]
        return [(rooms, cost) for rooms, cost in spans if rooms]


@dataclass(frozen=True, kw_only=True, slots=True)
class Limits:
    """What every bay must keep, in hairs, and how what is left to choose is divided."""

    narrowest_clear: int
    line_half: int
    division: Division


def best_plan(stretches: Sequence[Stretch], limits: Limits) -> list[list[int]] | None:
    """Return the on-centre lengths of the best plan, stretch by stretch, or None without one."""
    best = _best_plan(tuple(stretches), limits)
    return None if best is None else [[*bays] for bays in best]


# One site is estimated many times over with one thing changed; most sections stay as they were.
@lru_cache(maxsize=1024)
def _best_plan(stretches: tuple[Stretch, ...], limits: Limits) -> list[list[int]] | None:
    section = _Section(stretches, limits)
    counts = [fewest_bays(s.length, section.widths(s), s.room_spans) for s in stretches]
    if not all(counts):
        return None
    if limits.division == "full_and_short":
        return [section.fewest_cuts(s, count) for s, count in zip(stretches, counts, strict=True)]
    low, high = section.most_even(counts)
    return [section.evenly(s, n, low, high) for s, n in zip(stretches, counts, strict=True)]


def is_possible(stretches: Sequence[Stretch], limits: Limits) -> bool:
    """Say whether any plan keeps the limits."""
    section = _Section(stretches, limits)
    return all(fewest_bays(s.length, section.widths(s), s.room_spans) for s in stretches)


class _Section:
    """The stretches between two terminals with the limits that hold for all of them."""

    def __init__(self, stretches: Sequence[Stretch], limits: Limits) -> None:
        self._stretches = stretches
        self._limits = limits

    def widths(self, stretch: Stretch, low: int | None = None, high: int | None = None) -> Widths:
        """Return the on-centres of bays whose clear width lies from `low` to `high`."""
        line = self._limits.line_half
        first, last = stretch.first_half, stretch.last_half
        return Widths(
            first=self._span(stretch, first + line, low, high),
            middle=self._span(stretch, 2 * line, low, high),
            last=self._span(stretch, line + last, low, high),
            only=self._span(stretch, first + last, low, high),
        )

    def _span(self, stretch: Stretch, posts: int, low: int | None, high: int | None) -> Span:
        least = self._limits.narrowest_clear if low is None else low
        shortest = max(1, -(-(least + posts) // HAIRS))
        longest = stretch.largest
        return shortest, longest if high is None else min(longest, (high + posts) // HAIRS)

    # The most even bays

    def most_even(self, counts: Sequence[int]) -> Span:
        """Return the narrowest range of clear widths that can be, the widest such bays first."""
        step, low, top = self._clear_grid()

        def fits(least: int, most: int) -> bool:
            return all(
                can_fill(s.length, n, self.widths(s, least, most), s.room_spans)
                for s, n in zip(self._stretches, counts, strict=True)
            )

        return _narrowest(fits, low, top, step)

    def _clear_grid(self) -> tuple[int, int, int]:
        """Return step, least and largest of the clear widths that bays on the grid can have."""
        residues = {-posts % HAIRS for stretch in self._stretches for posts in self._posts(stretch)}
        base = min(residues)
        step = gcd(HAIRS, *(each - base for each in residues))
        low = base + -(-(self._limits.narrowest_clear - base) // step) * step
        widest = max(stretch.largest for stretch in self._stretches) * HAIRS
        top = base + (widest - base) // step * step
        return step, low, top

    def _posts(self, stretch: Stretch) -> tuple[int, ...]:
        line = self._limits.line_half
        first, last = stretch.first_half, stretch.last_half
        return first + line, 2 * line, line + last, first + last

    def evenly(self, stretch: Stretch, count: int, low: int, high: int) -> list[int]:
        """Return bays within a range of clear widths, each post nearest to its even share."""
        widths = self.widths(stretch, low, high)
        steps = [[(*span, 0)] for span in _in_order(widths, count)]
        shares = [stretch.length * i // count for i in range(count + 1)]
        return _walk(stretch, steps, lambda k, spans: _nearest(spans, shares[k]))

    # The fewest cut bays

    def fewest_cuts(self, stretch: Stretch, count: int) -> list[int]:
        """Return so many bays with the fewest cut ones, the full ones first."""

        def cuts(least: int, most: float) -> list[int]:
            steps = self._cut_steps(stretch, count, least)
            rooms = [(stretch.room_spans, 0)]
            return list(costs_to_end(stretch.length, steps, rooms, most=most)[0])

        step, low, top = self._clear_grid()
        # Plans with few cuts are looked for first: what costs more is not followed at all.
        tries = (cuts(low, allowed * ONE_CUT) for allowed in (2, 4, 8, inf))
        fewest = min(next(filter(None, tries)))
        least = _last_true(lambda each: bool(cuts(each, fewest)), low, top, step)
        steps = self._cut_steps(stretch, count, least)
        most = fewest + ONE_CUT - 1
        return _walk(stretch, steps, lambda _k, spans: spans[-1][1], most=most)

    def _cut_steps(self, stretch: Stretch, count: int, least: int) -> list[list[Step]]:
        full = stretch.full_clear - FULL_TOLERANCE
        whole = _in_order(self.widths(stretch, max(least, full)), count)
        part = _in_order(self.widths(stretch, least, full - 1), count)
        return [
            [(low, high, cost) for (low, high), cost in ((a, 0), (b, ONE_CUT)) if low <= high]
            for a, b in zip(whole, part, strict=True)
        ]


def _in_order(widths: Widths, count: int) -> list[Span]:
    if count == 1:
        return [widths.only]
    return [widths.first, *[widths.middle] * (count - 2), widths.last]


def _nearest(spans: Sequence[Span], share: int) -> int:
    """Return the place nearest to a post's even share, of two the earlier."""
    return min(
        (min(max(share, start), end) for start, end in spans),
        key=lambda place: (abs(place - share), place),
    )


def _walk(
    stretch: Stretch,
    steps: Sequence[Sequence[Step]],
    choose: Callable[[int, list[Span]], int],
    *,
    most: float = inf,
) -> list[int]:
    """Return the bays of a cheapest plan; `choose` takes one of the places for each post."""
    layers = costs_to_end(stretch.length, steps, stretch.landings, most=most)
    left, at = min(layers[0]), 0
    bays: list[int] = []
    for k, allowed in enumerate(steps, start=1):
        left -= stretch.cost_at(at)
        near = [
            (max(start, at + low), min(end, at + high))
            for low, high, cost in allowed
            for start, end in layers[k].get(left - cost, ())
            if start <= at + high and end >= at + low
        ]
        place = choose(k, merged(near))
        left = next(cost for cost, spans in layers[k].items() if _has(spans, place))
        bays.append(place - at)
        at = place
    return bays


def _has(spans: Sequence[Span], place: int) -> bool:
    return any(start <= place <= end for start, end in spans)


def _last_true(is_true: Callable[[int], bool], low: int, top: int, step: int) -> int:
    """Return the last value of `low`, `low + step`... for which it holds, as it does at `low`."""
    first, last = 0, (top - low) // step
    while first < last:
        middle = (first + last + 1) // 2
        if is_true(low + middle * step):
            first = middle
        else:
            last = middle - 1
    return low + first * step


def _narrowest(fits: Callable[[int, int], bool], low: int, top: int, step: int) -> Span:
    """Return the narrowest range that fits, of such ranges the one with the largest least.

    The least that the most must be grows with the least, so that a stretch of values whose ends
    are known can be no better than the most at its start less the least at its end.
    """

    def most_for(least: int, at_least: int, at_most: int) -> int:
        return -_last_true(lambda most: fits(least, -most), -at_most, -at_least, step)

    last = _last_true(lambda least: fits(least, top), low, top, step)
    most_low = most_for(low, low, top)
    most_last = most_for(last, most_low, top)
    best = min((most_low - low, -low), (most_last - last, -last))
    open_ranges = [(0, 0, low, most_low, last, most_last)]
    while open_ranges:
        *bound, first, most_first, last, most_last = heappop(open_ranges)
        if last - first <= step or most_first == most_last or tuple(bound) >= best:
            continue
        middle = first + (last - first) // step // 2 * step
        most = most_for(middle, most_first, most_last)
        best = min(best, (most - middle, -middle))
        for part in ((first, most_first, middle, most), (middle, most, last, most_last)):
            inner_last = part[2] - step
            heappush(open_ranges, (part[1] - inner_last, -inner_last, *part))
    return -best[1], best[0] - best[1]
