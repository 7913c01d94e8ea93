"""Jobs, visits and machines in numbers."""

import itertools
from collections.abc import Mapping, Sequence

import numpy as np

from scheduling.engine.planner.hardening import Hardening
from scheduling.engine.planner.line_tables import lines_of, site_keys, ways_of
from scheduling.engine.planner.lines import Line
from scheduling.engine.planner.problem import Order, Problem, Range, Visit
from scheduling.engine.planner.tables import (
    NEVER,
    NONE,
    UNKNOWN,
    Flags,
    Fleets,
    Numbers,
    Records,
    Whole,
    Work,
    padded,
    records,
)

JOB = {
    "first_visit": np.int32,
    "visits": np.int32,
    "has_one_crew": np.bool_,
    "promised": np.int32,
    "due": np.int32,
}
VISIT = {"job": np.int32, "site": np.int32, "shown_crew": np.int32, "shown_day": np.int32}
TASK = {"length": np.int32, "starts": np.int32, "last": np.int32}
USE = {"machine": np.int32, "offset": np.int32, "length": np.int32}
MACHINE = {"owned": np.int32, "most": np.int32, "rent": np.int32}
NO_USE = {"machine": NONE, "offset": 0, "length": 0}


class Tables:
    """The numbers of a problem, the crews and orders they stand for, and who tells what hardens.

    What no crew may do has no number. `visits` are the numbers of each job's visits.
    """

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.crews = list(problem.lines)
        self.orders = [one for one in problem.orders if able_crews(one, self.crews)]
        ends = list(itertools.accumulate((len(one.visits) for one in self.orders), initial=0))
        self.visits = [range(*each) for each in itertools.pairwise(ends)]
        self.count = ends[-1]
        self.hardenings: list[Hardening] = []
        self._each = [
            (order, visits, visit)
            for order, visits in zip(self.orders, self.visits, strict=True)
            for visit in visits
        ]
        keys = site_keys(problem)
        site = {key: number for number, key in enumerate(keys)}
        ways, is_known = ways_of(problem, keys)
        self.numbers = Numbers(
            lines=lines_of(problem, site, ways, is_known),
            ways=ways,
            is_known=is_known,
            work=self._work(site),
            fleets=self._fleets(),
            unit_min=problem.unit_min,
            move_min=problem.move_min,
        )

    def ask(self, hardening: int, moment: int) -> None:
        """Note from when work may begin on what was made at a moment."""
        after = self.hardenings[hardening].after(moment)
        self.numbers.work.hard[hardening, moment] = min(after, NEVER)

    def _work(self, site: Mapping[str, int]) -> Work:
        tasks, uses, next_start = self._tasks()
        waits, hardens = self._waits()
        followers = self._followers(waits)
        last = max((one.ends for line in self._lines for one in line.stretches), default=0)
        return Work(
            jobs=self._jobs(),
            visits=self._visits(site),
            tasks=tasks,
            uses=uses,
            able=self._able(),
            next_start=next_start,
            waits=waits,
            hardens=hardens,
            hard=np.full((len(self.hardenings), last + 1), UNKNOWN, np.int32),
            due_at=self._due_at(),
            followers=followers,
            has_links=bool((followers != NONE).any()),
        )

    @property
    def _lines(self) -> Sequence[Line]:
        return list(self.problem.lines.values())

    def _jobs(self) -> Records:
        rows = [
            {
                "first_visit": visits.start,
                "visits": len(visits),
                "has_one_crew": order.has_one_crew,
                "promised": NEVER if order.promised_day is None else order.promised_day,
                "due": NEVER if order.due_day is None else order.due_day,
            }
            for order, visits in zip(self.orders, self.visits, strict=True)
        ]
        return records(rows, JOB, shape=(len(rows),))

    def _visits(self, site: Mapping[str, int]) -> Records:
        job = {one.key: number for number, one in enumerate(self.orders)}
        crews = {key: number for number, key in enumerate(self.crews)}
        rows = []
        for order, visits, visit in self._each:
            shown = order.visits[visit - visits.start].shown
            # Shown with a crew that is no more, a visit counts as moved wherever it is.
            crew = crews.get(shown[0], len(crews)) if shown else NONE
            rows.append(
                {
                    "job": job[order.key],
                    "site": site[order.key],
                    "shown_crew": crew,
                    "shown_day": shown[1] if shown else 0,
                }
            )
        # Behind the last is what stands for jobs that no crew may do.
        rows.append({"job": NONE, "site": 0, "shown_crew": NONE, "shown_day": 0})
        return records(rows, VISIT, shape=(len(rows),))

    def _tasks(self) -> tuple[Records, Records, Whole]:
        tables: dict[tuple[int, tuple[Range, ...]], int] = {}
        machines = {key: number for number, key in enumerate(self.problem.fleets)}
        tasks: list[dict[str, int]] = []
        uses: list[list[dict[str, int]]] = []
        for crew, key in enumerate(self.crews):
            for order, visits, visit in self._each:
                choice = order.visits[visit - visits.start].choice_of(key)
                if choice is None or not choice.starts:
                    tasks.append({"length": 0, "starts": NONE, "last": NEVER})
                    uses.append([])
                    continue
                row = tables.setdefault((crew, choice.starts), len(tables))
                _, last = choice.starts[-1]
                tasks.append({"length": choice.length, "starts": row, "last": last})
                uses.append(
                    [
                        {
                            "machine": machines[use.machine],
                            "offset": use.offset,
                            "length": use.length,
                        }
                        for use in choice.uses
                    ]
                )
        most = max(map(len, uses), default=0)
        flat = [use for mine in uses for use in [*mine, *[NO_USE] * (most - len(mine))]]
        shape = len(self.crews), self.count
        return (
            records(tasks, TASK, shape=shape),
            records(flat, USE, shape=(*shape, most)),
            self._next_starts(tables),
        )

    def _next_starts(self, tables: Mapping[tuple[int, tuple[Range, ...]], int]) -> Whole:
        longest = max((one.length for one in self._lines), default=0)
        found = np.full((len(tables), longest + 1), NEVER, np.int32)
        for (_, starts), row in tables.items():
            for low, high in reversed(starts):
                found[row, :low] = low
                found[row, low : high + 1] = np.arange(low, high + 1)
        return found

    def _waits(self) -> tuple[Whole, Whole]:
        """Return for each visit those it waits for, and by crew which hardening tells from when."""
        nothing = [NONE] * len(self.crews)
        last = {one.key: visits[-1] for one, visits in zip(self.orders, self.visits, strict=True)}
        found: list[list[tuple[int, list[int]]]] = []
        for order, visits, visit in self._each:
            mine = []
            for number, earlier in enumerate(order.visits[: visit - visits.start]):
                hardens = [
                    self._hardening(earlier, key, visit - visits.start) for key in self.crews
                ]
                if visits.start + number == visit - 1 or hardens != nothing:
                    mine.append((visits.start + number, hardens))
            if visit == visits.start:
                # A job that no crew may do holds back what waits for it: it never ends.
                mine += [(last.get(key, self.count), nothing) for key in order.after]
            found.append(mine)
        waits = padded([[earlier for earlier, _ in mine] for mine in found], NONE)
        by_crew = np.full((*waits.shape, len(self.crews)), NONE, np.int32)
        for visit, mine in enumerate(found):
            for place, (_, hardens) in enumerate(mine):
                by_crew[visit, place] = hardens
        return waits, by_crew

    def _hardening(self, earlier: Visit, crew: str, number: int) -> int:
        """Return the number of what hardens between two visits, if anything does."""
        choice = earlier.choice_of(crew)
        ready = choice.ready.get(number) if choice else None
        if ready is None:
            return NONE
        if ready not in self.hardenings:
            self.hardenings.append(ready)
        return self.hardenings.index(ready)

    def _due_at(self) -> Whole:
        """Return for each job by crew the place behind the last at which its end is in time."""
        found = np.full((len(self.orders), len(self.crews)), NEVER, np.int32)
        for number, order in enumerate(self.orders):
            days = [day for day in (order.due_day, order.promised_day) if day is not None]
            for crew, line in enumerate(self._lines if days else ()):
                later = (
                    at
                    for one, at in zip(line.stretches, line.at, strict=False)
                    if one.day > min(days)
                )
                found[number, crew] = next(later, line.length)
        return found

    def _followers(self, waits: Whole) -> Whole:
        """Return for each visit those that wait for it and may be out of its crew's turn."""
        found: list[list[int]] = [[] for _ in range(self.count + 1)]
        for order, visits, visit in self._each:
            for earlier in map(int, waits[visit]):
                if earlier != NONE and not (order.has_one_crew and earlier in visits):
                    found[earlier].append(visit)
        return padded(found, NONE)

    def _able(self) -> Flags:
        found = np.zeros((self.count, len(self.crews)), np.bool_)
        for order, visits in zip(self.orders, self.visits, strict=True):
            for visit, crews in zip(visits, able_crews(order, self.crews), strict=True):
                found[visit, list(crews)] = True
        return found

    def _fleets(self) -> Fleets:
        fleets = list(self.problem.fleets.values())
        rows = [
            {
                "owned": one.owned,
                "most": one.owned if one.rent is None else NEVER,
                "rent": one.rent or 0,
            }
            for one in fleets
        ]
        days = [one.day for line in self._lines for one in line.stretches]
        taken = np.zeros((len(fleets), len(self.crews), max(days, default=0) + 1), np.int32)
        for machine, fleet in enumerate(fleets):
            for day, crews in fleet.taken.items():
                if 0 <= day < taken.shape[2]:
                    taken[machine, :, day] = [key in crews for key in self.crews]
        return Fleets(
            machines=records(rows, MACHINE, shape=(len(rows),)),
            taken=taken,
            has_rent=any(one.rent for one in fleets),
        )


def able_crews(order: Order, crews: Sequence[str]) -> tuple[tuple[int, ...], ...]:
    """Return for each visit the numbers of the crews that may make it; nothing where none may."""
    found = []
    for visit in order.visits:
        choices = [visit.choice_of(key) for key in crews]
        found.append({crew for crew, one in enumerate(choices) if one and one.starts})
    if order.has_one_crew:
        found = [set.intersection(*found)] * len(found) if found else []
    return tuple(tuple(sorted(each)) for each in found) if all(found) else ()
