"""A problem as plain numbers in lists: what the search asks for thousands of times a second.

Crews, sites and visits go by number here. Site 0 is the yard; the others are jobs.
"""

import itertools
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from scheduling.engine.planner.hardening import Hardening
from scheduling.engine.planner.lines import Line, Stretch
from scheduling.engine.planner.problem import Choice, Order, Problem, Range

# Beyond every place and moment of a plan.
NEVER = 10**9
YARD = 0
# A machine and a day on which it is out.
Out = tuple[str, int]


class Task(NamedTuple):
    """A visit as one crew makes it.

    `first_from` holds for each place of the line the first one from it on at which the visit may
    begin; `uses` a machine, from which unit on, and for how many.
    """

    length: int
    site: int
    first_from: Sequence[int]
    uses: tuple[tuple[str, int, int], ...]


class Fixed(NamedTuple):
    """What stands fixed around a stretch: where a crew comes from and goes on to, and the ways.

    `way_min` leads from the yard to `known`, the last stop whose place is known; `rest_min` from
    `home_by`, the next such stop, home. `first` is the first of the day, -1 where there is none.
    """

    before: int
    after: int
    way_min: float
    known: int
    home_by: int
    rest_min: float
    first: int


class LineTables:
    """A crew's line by place and by stretch."""

    def __init__(self, line: Line, sites: "Sites") -> None:
        stretches = line.stretches
        self.at = line.at
        self.length = line.length
        self.index = [n for n, one in enumerate(stretches) for _ in range(one.length)]
        self.begins = [line.begins(place) for place in range(line.length)]
        self.ends = [0, *(line.ends(place) for place in range(1, line.length + 1))]
        self.day = [one.day for one in stretches]
        self.opens = [one.begins for one in stretches]
        self.closes = [one.ends for one in stretches]
        self.room_min = [NEVER if one.room_min is None else one.room_min for one in stretches]
        self.fixed = [sites.fixed(one) for one in stretches]
        self.has_fixed = line.has_stops
        last = max(self.closes, default=0)
        self._first_from = [line.first_from(moment) for moment in range(last)]
        self._alone: dict[int, list[int]] = {}
        self._sites = sites

    def first_from(self, moment: int) -> int:
        """Return the first place that begins at a moment of real time or after; else the end."""
        return self._first_from[moment] if moment < len(self._first_from) else self.length

    def alone_min(self, site: int) -> list[int]:
        """Return the minutes of driving to a site on all days before each, when it is alone there.

        What stands fixed is on the way.
        """
        if site not in self._alone:
            each = (self._sites.detour(one.before, site, one.after) for one in self.fixed)
            self._alone[site] = list(itertools.accumulate(each, initial=0))
        return self._alone[site]


class Sites:
    """The yard, the jobs, and the ways between them: to count, to keep, and by the minute."""

    def __init__(self, problem: Problem) -> None:
        stops = (
            key
            for line in problem.lines.values()
            for one in line.stretches
            for key in (*one.stops_before, *one.stops_after)
        )
        keys = ["", *dict.fromkeys([*(one.key for one in problem.orders), *stops])]
        self.number = {key: number for number, key in enumerate(keys)}
        self.drive = [[problem.drive(one, other) for other in keys] for one in keys]
        self.gap = [[problem.gap(one, other) for other in keys] for one in keys]
        ways = problem.drive_min
        self.is_known = [("", key) in ways for key in keys]
        self.way_min = [[ways.get((one, other), 0.0) for other in keys] for one in keys]

    def detour(self, before: int, site: int, after: int) -> int:
        """Return the minutes that going by a site adds between two others."""
        drive = self.drive
        return drive[before][site] + drive[site][after] - drive[before][after]

    def by_way_of(self, one: int, site: int, other: int) -> float:
        """Return the minutes from one site by another to a third, which may have no known place."""
        way_min = self.way_min
        if not self.is_known[site]:
            return way_min[one][other]
        return way_min[one][site] + way_min[site][other]

    def fixed(self, stretch: Stretch) -> Fixed:
        """Return what stands fixed around a stretch."""
        before = [self.number[key] for key in stretch.stops_before]
        after = [self.number[key] for key in stretch.stops_after]
        known = [YARD, *(one for one in before if self.is_known[one])]
        home = [*(one for one in after if self.is_known[one]), YARD]
        return Fixed(
            before=before[-1] if before else YARD,
            after=after[0] if after else YARD,
            way_min=self._way(known),
            known=known[-1],
            home_by=home[0],
            rest_min=self._way(home),
            first=known[1] if len(known) > 1 else -1,
        )

    def _way(self, stops: Iterable[int]) -> float:
        return sum(self.way_min[one][other] for one, other in itertools.pairwise(stops))


class Wait(NamedTuple):
    """A visit that another waits for; by crew what it made that has to harden, if anything."""

    visit: int
    hardens: tuple[Hardening | None, ...]


class Tables:
    """The numbers of a problem; its jobs are those that some crew may do."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.crews = list(problem.lines)
        self.sites = Sites(problem)
        self.lines = [LineTables(line, self.sites) for line in problem.lines.values()]
        self._nexts: dict[tuple[int, tuple[Range, ...]], Sequence[int]] = {}
        self.orders = [one for one in problem.orders if able_crews(one, self.crews)]
        self.able = [able_crews(one, self.crews) for one in self.orders]
        # The numbers of each job's visits, and for each visit its job and its number there.
        self.visits: list[range] = []
        self.job: list[int] = []
        for number, order in enumerate(self.orders):
            self.visits.append(range(len(self.job), len(self.job) + len(order.visits)))
            self.job += [number] * len(order.visits)
        self.tasks = [
            [
                self._task(order, crew, choice_of(order, number, key))
                for order in self.orders
                for number in range(len(order.visits))
            ]
            for crew, key in enumerate(self.crews)
        ]
        numbers = {key: number for number, key in enumerate(self.crews)}
        self.shown = [
            visit.shown and (numbers.get(visit.shown[0], -1), visit.shown[1])
            for order in self.orders
            for visit in order.visits
        ]
        self.days_to_keep = [
            (
                NEVER if one.promised_day is None else one.promised_day,
                NEVER if one.due_day is None else one.due_day,
            )
            for one in self.orders
        ]
        self.waits = [self._waits(visit) for visit in range(len(self.job))]
        self.followers = self._followers()

    def number(self, visit: int) -> int:
        """Return which visit of its job a visit is."""
        return visit - self.visits[self.job[visit]].start

    def _task(self, order: Order, crew: int, choice: Choice | None) -> Task | None:
        if choice is None or not choice.starts:
            return None
        uses = tuple((use.machine, use.offset, use.length) for use in choice.uses)
        nexts = self._first_starts(crew, choice.starts)
        return Task(choice.length, self.sites.number[order.key], nexts, uses)

    def _first_starts(self, crew: int, starts: tuple[Range, ...]) -> Sequence[int]:
        if (crew, starts) not in self._nexts:
            nexts: list[int] = []
            for low, high in starts:
                nexts += [low] * (low - len(nexts))
                nexts += range(len(nexts), high + 1)
            nexts += [NEVER] * (self.lines[crew].length + 1 - len(nexts))
            self._nexts[crew, starts] = nexts
        return self._nexts[crew, starts]

    def _waits(self, visit: int) -> tuple[Wait, ...]:
        job, number = self.job[visit], self.number(visit)
        order, mine = self.orders[job], self.visits[job]
        found = []
        for earlier in range(number):
            choices = (choice_of(order, earlier, key) for key in self.crews)
            hardens = tuple(one.ready.get(number) if one else None for one in choices)
            if earlier == number - 1 or any(hardens):
                found.append(Wait(mine[earlier], hardens))
        if not number:
            known = {one.key: place for place, one in enumerate(self.orders)}
            nothing = (None,) * len(self.crews)
            for key in order.after:
                # A job that no crew may do holds back what waits for it.
                last = self.visits[known[key]][-1] if key in known else len(self.job)
                found.append(Wait(last, nothing))
        return tuple(found)

    def _followers(self) -> list[tuple[int, ...]]:
        """Return for each visit those that wait for it and may be made by another crew."""
        found: list[list[int]] = [[] for _ in range(len(self.job) + 1)]
        for visit, waits in enumerate(self.waits):
            job = self.job[visit]
            for wait in waits:
                is_own = wait.visit < len(self.job) and self.job[wait.visit] == job
                if not (is_own and self.orders[job].has_one_crew):
                    found[wait.visit].append(visit)
        return [tuple(each) for each in found]


def choice_of(order: Order, number: int, crew: str) -> Choice | None:
    """Return a crew's choice of a visit, None where it may not make it."""
    return next((one for one in order.visits[number].choices if one.crew == crew), None)


def able_crews(order: Order, crews: Sequence[str]) -> tuple[tuple[int, ...], ...]:
    """Return for each visit the numbers of the crews that may make it; nothing where none may."""
    found = []
    for number in range(len(order.visits)):
        choices = [choice_of(order, number, key) for key in crews]
        found.append({crew for crew, one in enumerate(choices) if one and one.starts})
    if order.has_one_crew:
        found = [set.intersection(*found)] * len(found) if found else []
    return tuple(tuple(sorted(each)) for each in found) if all(found) else ()
