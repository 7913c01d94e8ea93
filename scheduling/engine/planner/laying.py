"""Laying visits on crews' lines one after the other, each as early as everything allows.

Every rule is kept here exactly, also those the solver only comes near to: drives between sites on
one day, and machines that stay with a crew for the day.
"""

import math
from bisect import bisect_left, insort
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from scheduling.engine.planner.lines import Line
from scheduling.engine.planner.problem import SLACK, Choice, Draft, Laid, Order, Problem, Use, split

# Beyond every moment of a plan.
NEVER = 10**9


@dataclass(frozen=True, kw_only=True, slots=True)
class Wish:
    """A visit as a solver would have it: where it is laid is no earlier than that."""

    job: str
    number: int
    crew: str
    place: int


class _Busy(NamedTuple):
    """Work on a line; a tuple, since these are compared more than anything else is done."""

    place: int
    over: int
    job: str


class Laying:
    """Lines that fill up, visit by visit; `draft` holds the jobs that are laid whole."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.orders = {one.key: one for one in problem.orders}
        self.laid: dict[str, list[Laid]] = defaultdict(list)
        self.busy: dict[str, list[_Busy]] = {crew: [] for crew in problem.lines}
        self.users: dict[tuple[str, int], dict[str, int]] = defaultdict(lambda: defaultdict(int))

    @property
    def draft(self) -> Draft:
        """The jobs that are laid whole."""
        return {
            key: tuple(mine)
            for key, mine in self.laid.items()
            if len(mine) == len(self.orders[key].visits)
        }

    def lay_next(self, order: Order, crew: str, *, place: int = 0) -> bool:
        """Lay a job's next visit with a crew, from a place of its line on; say whether it fits."""
        number = len(self.laid[order.key])
        visit = order.visits[number]
        choice = visit.choice_of(crew)
        if choice is None:
            return False
        first = max(place, self.problem.lines[crew].first_from(self.ready_from(order)))
        found = self.earliest(order.key, choice, first)
        if found is None:
            return False
        self.put(order.key, choice, found)
        return True

    def stand(self, key: str, mine: Sequence[Laid]) -> None:
        """Take visits as they were laid before."""
        for visit, one in zip(self.orders[key].visits, mine, strict=False):
            self.put(key, visit.choice(one.crew), one.place)

    def drop(self, key: str) -> None:
        """Take what is laid of a job off the lines."""
        while self.laid[key]:
            self.undo_last(key)

    def undo_last(self, key: str) -> None:
        """Take the last visit that is laid of a job off its line."""
        last = self.laid[key].pop()
        self.busy[last.crew].remove(_Busy(last.place, last.over, key))
        visit = self.orders[key].visits[len(self.laid[key])]
        self._count_uses(visit.choice(last.crew), last.place, -1)

    def ready_from(self, order: Order) -> int:
        """Return in real time from when a job's next visit may begin."""
        mine = self.laid[order.key]
        if not mine:
            return max((self.finished_at(key) for key in order.after), default=0)
        moments = []
        for visit, one in zip(order.visits, mine, strict=False):
            line, ready = self.problem.lines[one.crew], visit.choice(one.crew).ready
            over = line.ends(one.over)
            moments.append(over)
            if len(mine) in ready:
                moments.append(ready[len(mine)].after(over))
        return max(moments)

    def finished_at(self, key: str) -> int:
        """Return in real time when a job is finished, never where it is not laid whole."""
        mine = self.laid.get(key, [])
        if key not in self.orders or len(mine) < len(self.orders[key].visits):
            return NEVER
        return self.problem.lines[mine[-1].crew].ends(mine[-1].over)

    def put(self, key: str, choice: Choice, place: int) -> None:
        """Lay a job's next visit at a place that was found for it."""
        laid = Laid(crew=choice.crew, place=place, length=choice.length)
        self.laid[key].append(laid)
        insort(self.busy[choice.crew], _Busy(place, laid.over, key))
        self._count_uses(choice, place, 1)

    def _count_uses(self, choice: Choice, place: int, step: int) -> None:
        for use in choice.uses:
            for day in use_days(self.problem.lines[choice.crew], use, place):
                self.users[use.machine, day][choice.crew] += step

    def earliest(self, key: str, choice: Choice, first: int) -> int | None:
        """Return the earliest place from one on at which a visit fits; None where it never does."""
        for low, high in split(choice.starts, first):
            place = low
            while place <= high:
                later = self._next_try(key, choice, place)
                if later == place:
                    return place
                place = later
        return None

    def _next_try(self, key: str, choice: Choice, place: int) -> int:
        """Return the place itself where the visit fits, else the next one worth a try."""
        line, over = self.problem.lines[choice.crew], place + choice.length
        busy = self.busy[choice.crew]
        index = bisect_left(busy, _Busy(place + 1, 0, ""))
        if index and busy[index - 1].over > place:
            return busy[index - 1].over
        if index < len(busy) and busy[index].place < over:
            return busy[index].over
        before = busy[index - 1] if index else None
        after = busy[index] if index < len(busy) else None
        short = self._short_before(line, key, before, place)
        if short > 0:
            return place + short
        if after is not None and self._short_between(line, key, over, after) > 0:
            return after.over
        ways = (
            self._stands_in_the_way(line, key, place, over, after),
            self._day_too_short(choice, key, place),
            self._machine_taken(line, choice, place),
        )
        return max(place, *ways)

    def _short_before(self, line: Line, key: str, before: _Busy | None, place: int) -> int:
        """Return how many units a visit begins too early to come from where its crew was."""
        index = line.index_of_start(place)
        stretch = line.stretches[index]
        begins = line.begins(place)
        if before is not None and line.stretches[line.index_of_end(before.over)] is stretch:
            return line.ends(before.over) + self.problem.gap(before.job, key) - begins
        if stretch.before:
            return stretch.begins + self.problem.gap(stretch.before, key) - begins
        return 0

    def _short_between(self, line: Line, key: str, over: int, after: _Busy) -> int:
        if line.index_of_end(over) != line.index_of_start(after.place):
            return 0
        return line.ends(over) + self.problem.gap(key, after.job) - line.begins(after.place)

    def _stands_in_the_way(
        self, line: Line, key: str, place: int, over: int, after: _Busy | None
    ) -> int:
        """Return where to try next when fixed work of another job leaves no time to drive."""
        if not line.has_stops:
            return 0
        first, last = line.index_of_start(place), line.index_of_end(over)
        for index in range(first, last + 1):
            stretch = line.stretches[index]
            if index > first and stretch.before and self.problem.gap(stretch.before, key):
                return line.at[index] + self.problem.gap(stretch.before, key)
            if index == last and after is not None and line.index_of_start(after.place) == index:
                continue
            ends = stretch.ends if index < last else line.ends(over)
            is_late = ends + self.problem.gap(key, stretch.after) > stretch.ends
            if stretch.after and is_late:
                return line.at[index + 1]
        return 0

    def _day_too_short(self, choice: Choice, key: str, place: int) -> int:
        """Return where to try next when a day has no hours left for the way between its sites."""
        line = self.problem.lines[choice.crew]
        if not line.is_limited:
            return 0
        for piece in line.pieces(place, choice.length):
            stretch = piece.stretch
            if stretch.room_min is None:
                continue
            others = self._on_stretch(choice.crew, piece.index)
            is_alone = not (others or stretch.stops_before or stretch.stops_after)
            if is_alone and piece.span * self.problem.unit_min <= stretch.room_min:
                continue
            mine = sorted([*others, (piece.begins, piece.span, key)])
            stops = [*stretch.stops_before, *(job for _, _, job in mine), *stretch.stops_after]
            worked = sum(length for _, length, _ in mine) * self.problem.unit_min
            short_min = worked + self.problem.extra_min(stops) - stretch.room_min
            if short_min > SLACK:
                behind = line.at[piece.index + 1]
                # Begun later, less of a visit that goes on tomorrow falls on this day.
                goes_on = place >= line.at[piece.index] and place + choice.length > behind
                later = math.ceil(short_min / self.problem.unit_min - SLACK)
                return min(place + later, behind) if goes_on else behind
        return 0

    def _on_stretch(self, crew: str, index: int) -> list[tuple[int, int, str]]:
        """Return what is laid on a stretch: when it begins, how long it is, whose it is."""
        line, busy = self.problem.lines[crew], self.busy[crew]
        first, behind = line.at[index], line.at[index + 1]
        # Of what begins before the stretch only the last can reach into it.
        low = max(0, bisect_left(busy, _Busy(first, 0, "")) - 1)
        high = bisect_left(busy, _Busy(behind, 0, ""))
        found = []
        for one in busy[low:high]:
            if one.over > first:
                begins = line.begins(max(one.place, first))
                found.append((begins, line.ends(min(one.over, behind)) - begins, one.job))
        return found

    def _machine_taken(self, line: Line, choice: Choice, place: int) -> int:
        """Return where to try next when a machine is out with other crews."""
        for use in choice.uses:
            fleet = self.problem.fleets[use.machine]
            if fleet.rent is not None:
                continue
            for day in use_days(line, use, place):
                users = {crew for crew, count in self.users[use.machine, day].items() if count}
                users |= fleet.taken.get(day, frozenset()) | {choice.crew}
                if len(users) > fleet.owned:
                    behind = 1 + max(
                        index for index, one in enumerate(line.stretches) if one.day == day
                    )
                    return max(place + 1, line.at[behind] - use.offset)
        return 0


def use_days(line: Line, use: Use, place: int) -> list[int]:
    """Return the days on which a visit from a place on has a machine in use."""
    days = (one.stretch.day for one in line.pieces(place + use.offset, use.length))
    return list(dict.fromkeys(days))


def lay_wishes(problem: Problem, wishes: Iterable[Wish]) -> Draft:
    """Return the plan that a solver's wishes come to, none earlier than it would have it."""
    laying = Laying(problem)

    def begins(wish: Wish) -> tuple[int, int]:
        return problem.lines[wish.crew].begins(wish.place), wish.number

    failed: set[str] = set()
    for wish in sorted(wishes, key=begins):
        order = laying.orders[wish.job]
        if wish.job not in failed and not laying.lay_next(order, wish.crew, place=wish.place):
            laying.drop(wish.job)
            failed.add(wish.job)
    for key in sorted(failed):
        lay_with_any(laying, laying.orders[key])
    return laying.draft


def has_place_beside(problem: Problem, key: str, draft: Draft) -> bool:
    """Say whether a job finds a place while others stay where a draft has them."""
    laying = Laying(problem)
    for other, mine in draft.items():
        laying.stand(other, mine)
    lay_with_any(laying, laying.orders[key])
    return key in laying.draft


def _lay_with_one_crew(laying: Laying, order: Order) -> None:
    """Lay a job with the crew that is done with it first."""
    ends: dict[str, int] = {}
    for choice in order.visits[0].choices:
        if _lay_whole(laying, order, choice.crew):
            ends[choice.crew] = laying.finished_at(order.key)
        laying.drop(order.key)
    if ends:
        _lay_whole(laying, order, min(ends, key=lambda crew: ends[crew]))


def _lay_whole(laying: Laying, order: Order, crew: str) -> bool:
    return all(laying.lay_next(order, crew) for _ in order.visits)


def lay_with_any(laying: Laying, order: Order) -> None:
    """Lay each visit of a job with the crew that is done with it first."""
    if order.has_one_crew:
        _lay_with_one_crew(laying, order)
        return
    for visit in order.visits:
        ends: dict[str, int] = {}
        for choice in visit.choices:
            if laying.lay_next(order, choice.crew):
                last = laying.laid[order.key][-1]
                ends[choice.crew] = laying.problem.lines[last.crew].ends(last.over)
                laying.undo_last(order.key)
        if not ends:
            laying.drop(order.key)
            return
        laying.lay_next(order, min(ends, key=lambda crew: ends[crew]))
