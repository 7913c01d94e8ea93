"""Where a visit fits right behind what its crew did before: the rules of `laying`, in numbers."""

import math
from collections.abc import Sequence
from collections.abc import Set as AbstractSet
from typing import NamedTuple

from scheduling.engine.planner.problem import SLACK
from scheduling.engine.planner.tables import NEVER, YARD, Fixed, LineTables, Out, Tables, Task

# What a job without a place and a broken promise count, in late days; how many minutes of driving,
# days on site and days until a job is done count as one.
UNPLACED, BROKEN = 100.0, 50.0
MINUTE, SPAN_DAY, END_DAY = 1 / 2000, 1 / 1000, 1 / 10000
# So many visits are kept as they were laid before all are forgotten, to bound the memory.
MOST_KNOWN = 200_000


class State(NamedTuple):
    """Where a crew is behind a visit: the place on its line, the site, its day so far.

    On the day it has `worked` units and has come by `way_min` from the yard, by the `first` site to
    the last with a `known` place.
    """

    over: int
    site: int
    worked: int
    way_min: float
    known: int
    first: int


class Lying(NamedTuple):
    """A visit as it lies in a queue: where, when it ends, what is out for it, what it adds.

    `place` is -1 where it has none. `done` is its last day, `state` is the number of the crew's
    state behind it.
    """

    place: int
    over: int
    end: int
    done: int
    outs: tuple[Out, ...]
    state: int
    cost: float


class Fitting:
    """The rules by which visits are laid one behind the other.

    What a crew's state and a visit come to is kept: the same ones meet over and over.
    """

    def __init__(self, tables: Tables) -> None:
        self.tables = tables
        self.sites = tables.sites
        self.unit_min = tables.problem.unit_min
        # How many of a machine there are; no end to it where it can be rented.
        self.owned = {
            key: fleet.owned if fleet.rent is None else NEVER
            for key, fleet in tables.problem.fleets.items()
        }
        self.states: list[State] = []
        self._numbers: dict[State, int] = {}
        self.start = self._number(State(0, YARD, worked=0, way_min=0.0, known=YARD, first=-1))
        self._known: list[dict[tuple[int, int, int], Lying]] = [{} for _ in tables.crews]
        # Of visits that begin a day, which do not depend on what the crew did the day before.
        self._fresh: list[dict[tuple[int, int], Lying]] = [{} for _ in tables.crews]

    def laid(
        self, crew: int, visit: int, place: int, state: int, others: Sequence[AbstractSet[Out]]
    ) -> Lying:
        """Return a visit as it lies from a place on behind a crew's state.

        `others` holds what each other crew has out.
        """
        known, key = self._known[crew], (visit, place, state)
        found = known.get(key)
        if found is None:
            if len(known) >= MOST_KNOWN:
                known.clear()
            found = known[key] = self._laid(crew, visit, place, state, ())
        if found.outs and not self._are_free(found.outs, others):
            return self._laid(crew, visit, place, state, others)
        return found

    def nowhere(self, state: int, cost: float) -> Lying:
        """Return a visit that has no place behind a crew's state."""
        over = self.states[state].over
        return Lying(-1, over, NEVER, NEVER, (), state, cost)

    def stand(self, crew: int, visit: int, place: int, state: int) -> Lying:
        """Return a visit as it lies at a place, as it was found before."""
        line, task = self.tables.lines[crew], self.tables.tasks[crew][visit]
        if task is None:
            raise AssertionError("A plan holds what its crew may not do.")
        return self._lying(crew, line, visit, task, place, self.states[state])

    def _are_free(self, outs: Sequence[Out], others: Sequence[AbstractSet[Out]]) -> bool:
        return all(sum(1 for each in others if out in each) < self.owned[out[0]] for out in outs)

    def _number(self, state: State) -> int:
        number = self._numbers.setdefault(state, len(self.states))
        if number == len(self.states):
            self.states.append(state)
        return number

    def _laid(
        self, crew: int, visit: int, place: int, state: int, others: Sequence[AbstractSet[Out]]
    ) -> Lying:
        line, task = self.tables.lines[crew], self.tables.tasks[crew][visit]
        if task is not None:
            last = self.states[state]
            place = self._place(line, task, place, last, others)
            if place < NEVER:
                if last.over and line.index[place] == line.index[last.over - 1]:
                    return self._lying(crew, line, visit, task, place, last)
                return self._lying_first(crew, line, visit, task, place, last)
        return self.nowhere(state, UNPLACED)

    def _place(
        self,
        line: LineTables,
        task: Task,
        place: int,
        last: State,
        others: Sequence[AbstractSet[Out]],
    ) -> int:
        """Return the first place from one on at which a visit fits, else `NEVER`."""
        index, first_from, has_fixed = line.index, task.first_from, line.has_fixed
        last_day = index[last.over - 1] if last.over else -1
        while place < line.length:
            place = first_from[place]
            if place >= NEVER:
                return NEVER
            later = place
            if has_fixed:
                later = self._behind_fixed(line, task, place, last)
            elif index[place] == last_day:
                later = self._in_day(line, task, place, last)
            if later == place and task.uses:
                later = self._machine_back(line, task, place, others)
            if later == place:
                return place
            place = later
        return NEVER

    def _lying_first(
        self, crew: int, line: LineTables, visit: int, task: Task, place: int, last: State
    ) -> Lying:
        found = self._fresh[crew].get((visit, place))
        if found is None:
            found = self._lying(crew, line, visit, task, place, last)
            self._fresh[crew][visit, place] = found
        return found

    def _lying(
        self, crew: int, line: LineTables, visit: int, task: Task, place: int, last: State
    ) -> Lying:
        over, index = place + task.length, line.index
        begun, done = line.day[index[place]], line.day[index[over - 1]]
        minutes = self._drive(line, task, place, last)
        job, shown = self.tables.job[visit], self.tables.shown[visit]
        if shown is not None and shown != (crew, begun):
            minutes += self.tables.problem.move_min
        cost = minutes * MINUTE
        if visit == self.tables.visits[job][-1]:
            promised, due = self.tables.days_to_keep[job]
            cost += BROKEN * (done > promised) + max(0, done - due) + done * (SPAN_DAY + END_DAY)
        if visit == self.tables.visits[job][0]:
            cost -= begun * SPAN_DAY
        outs = self._outs(line, task, place) if task.uses else ()
        state = self._number(self._state(line, task, place, last))
        return Lying(place, over, line.ends[over], done, outs, state, cost)

    def _state(self, line: LineTables, task: Task, place: int, last: State) -> State:
        over, index, site = place + task.length, line.index, task.site
        begun, ended = index[place], index[over - 1]
        if last.over and ended == index[last.over - 1]:
            day: State | Fixed = last
            worked = last.worked + line.ends[over] - line.begins[place]
        else:
            day = line.fixed[ended]
            worked = line.ends[over] - (line.begins[place] if begun == ended else line.opens[ended])
        if not self.sites.is_known[site]:
            return State(over, site, worked, day.way_min, day.known, day.first)
        way = day.way_min + self.sites.way_min[day.known][site]
        return State(over, site, worked, way, site, site if day.first < 0 else day.first)

    def _drive(self, line: LineTables, task: Task, place: int, last: State) -> int:
        """Return the minutes of driving that a visit adds to its crew's days."""
        alone, index = line.alone_min(task.site), line.index
        begun, ended = index[place], index[place + task.length - 1]
        if not last.over or begun != index[last.over - 1]:
            return alone[ended + 1] - alone[begun]
        on_the_day = self.sites.detour(last.site, task.site, line.fixed[begun].after)
        return on_the_day + alone[ended + 1] - alone[begun + 1]

    def _outs(self, line: LineTables, task: Task, place: int) -> tuple[Out, ...]:
        return tuple(
            (machine, line.day[day])
            for machine, offset, length in task.uses
            for day in range(
                line.index[place + offset], line.index[place + offset + length - 1] + 1
            )
        )

    def _in_day(self, line: LineTables, task: Task, place: int, last: State) -> int:
        """Return where to try next on a day on which the crew was at another site before."""
        begins = line.begins[place]
        short = line.ends[last.over] + self.sites.gap[last.site][task.site] - begins
        if short > 0:
            return place + short
        today, over = line.index[place], place + task.length
        behind = line.at[today + 1]
        worked = last.worked + line.ends[min(over, behind)] - begins
        extra_min = self._extra_min(last, task.site, YARD, 0.0)
        short_min = worked * self.unit_min + extra_min - line.room_min[today]
        if short_min <= SLACK:
            return place
        return self._later_today(place, over, behind, short_min)

    def _extra_min(self, so_far: State | Fixed, site: int, to: int, rest_min: float) -> float:
        """Return the minutes of a day's way by a site beyond the one to its first site and back."""
        first = so_far.first
        if first < 0:
            first = site if self.sites.is_known[site] else to
        way = so_far.way_min + self.sites.by_way_of(so_far.known, site, to) + rest_min
        return max(0.0, way - 2 * self.sites.way_min[YARD][first])

    def _later_today(self, place: int, over: int, behind: int, short_min: float) -> int:
        """Return the place at which less of a visit that goes on tomorrow falls on the day."""
        if over <= behind:
            return behind
        return min(behind, place + math.ceil(short_min / self.unit_min - SLACK))

    def _behind_fixed(self, line: LineTables, task: Task, place: int, last: State) -> int:
        """Return where to try next on a line on which work stands fixed."""
        over, index, sites = place + task.length, line.index, self.sites
        begun, ended = index[place], index[over - 1]
        last_day = index[last.over - 1] if last.over else -1
        for day in range(begun, ended + 1):
            fixed, behind = line.fixed[day], line.at[day + 1]
            begins = line.begins[place] if day == begun else line.opens[day]
            ends = line.ends[over] if day == ended else line.closes[day]
            if day == last_day:
                so_far: State | Fixed = last
                came, site, worked = line.ends[last.over], last.site, last.worked
            else:
                so_far = fixed
                came, site, worked = line.opens[day], fixed.before, 0
            # The way from the yard is in the hours the first job was sold with.
            short = came + sites.gap[site][task.site] - begins if site != YARD else 0
            if short > 0:
                return (place if day == begun else line.at[day]) + short
            is_late = ends + sites.gap[task.site][fixed.after] > line.closes[day]
            if fixed.after != YARD and is_late:
                return behind
            extra_min = self._extra_min(so_far, task.site, fixed.home_by, fixed.rest_min)
            short_min = (worked + ends - begins) * self.unit_min + extra_min - line.room_min[day]
            if short_min > SLACK:
                return self._later_today(place, over, behind, short_min) if day == begun else behind
        return place

    def _machine_back(
        self, line: LineTables, task: Task, place: int, others: Sequence[AbstractSet[Out]]
    ) -> int:
        """Return where to try next when a machine is out with other crews."""
        for machine, offset, length in task.uses:
            owned = self.owned[machine]
            last = line.index[place + offset + length - 1]
            for day in range(line.index[place + offset], last + 1):
                out = machine, line.day[day]
                if sum(1 for each in others if out in each) >= owned:
                    return max(place + 1, line.at[day + 1] - offset)
        return place
