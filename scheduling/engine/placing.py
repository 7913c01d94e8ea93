"""Placing the open phases of one job on crew days, each as early as it may be.

One crew does all of them. What stands on the calendar stays where it is; a plan that comes out has
been checked as a whole and breaks no rule that was not broken before.
"""

import datetime as dt
import math
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from scheduling.engine.crew_days import (
    PHASE_NAMES,
    after_wait,
    day_bars,
    hang_wait,
    people_bar,
    skill_bar,
)
from scheduling.engine.driving import SLACK_H, drive_quarters_h, extra_drive_h
from scheduling.engine.errors import EngineError
from scheduling.engine.new_breaches import Told, new_violations, told_of
from scheduling.engine.plan import CrewDay, Facts, Phase, Timed, timed
from scheduling.engine.real_time import QUARTER_HOUR, QUARTERS_PER_HOUR, hours_later
from scheduling.engine.wording import day_words

ONE_DAY = dt.timedelta(days=1)
ONE_HOUR = dt.timedelta(hours=1)
# A crew does not unload for less, unless that is all there is to do.
SHORTEST_PIECE_H = 1.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Wanted:
    """What is to be placed: by crew and phase the hours still needed, and the days to look at.

    The crews named are those that may do it; hours are those of a whole crew, so that a day on
    which some are away brings less. A phase without hours is placed already.
    """

    job: str
    hours: Mapping[str, Mapping[Phase, float]]
    first_day: dt.date
    last_day: dt.date


@dataclass(frozen=True, kw_only=True, slots=True)
class Placing:
    """The new blocks in the order they are worked, or in words what the job waits for."""

    blocks: tuple[CrewDay, ...] = ()
    waits_for: str = ""


def place(wanted: Wanted, standing: Sequence[CrewDay], facts: Facts) -> Placing:
    """Place a job's open phases: with the crew that is at it, else with the one done first.

    Raises:
        EngineError: `facts` lack the job or a crew, or the plan that came out breaks a rule.
    """
    if not wanted.hours:
        return Placing(waits_for="No crew can be planned yet.")
    stood = told_of(standing, facts)
    at_it = {one.crew for one in standing if one.job == wanted.job}
    failed: list[Placing] = []
    for crews in (at_it, wanted.hours.keys() - at_it):
        done: list[tuple[dt.datetime, Placing]] = []
        for crew in (each for each in wanted.hours if each in crews):
            attempt = _Attempt(wanted, crew, standing, facts)
            waits_for = attempt.run() or _conflict(attempt.new, standing, facts, stood)
            if waits_for:
                failed.append(Placing(waits_for=waits_for))
            else:
                done.append((attempt.free_from, Placing(blocks=tuple(attempt.new))))
        if done:
            return min(done, key=lambda each: each[0])[1]
    return failed[0]


def _conflict(
    new: Sequence[CrewDay],
    standing: Sequence[CrewDay],
    facts: Facts,
    stood: Told,
) -> str:
    """Return which standing block the new ones would break, or nothing."""
    for one in new_violations([*standing, *new], facts, stood):
        if all(each in new for each in one.blocks):
            raise EngineError(f"The placing broke a rule: {one.sentence}")
        return one.sentence
    return ""


class _Attempt:
    """One crew's try: `new` grows block by block, `free_from` is when the last phase is over."""

    def __init__(
        self, wanted: Wanted, crew: str, standing: Sequence[CrewDay], facts: Facts
    ) -> None:
        self.wanted, self.crew_key, self.facts = wanted, crew, facts
        self.job, self.crew = facts.jobs[wanted.job], facts.crews[crew]
        self.new: list[CrewDay] = []
        self.by_day: dict[tuple[str, dt.date], list[CrewDay]] = defaultdict(list)
        for one in standing:
            self.by_day[one.crew, one.date].append(one)
        self.free_from = self._at(wanted.first_day, dt.time())

    def run(self) -> str:
        """Place every open phase in order; return what it waits for, or nothing."""
        before = {self.job.after_job: self._of_job(self.job.after_job)}
        first = after_wait(self.job, before, self.facts)
        if isinstance(first, str):
            return f"{self.job.name} waits: {first}."
        self.free_from = max(self.free_from, _next_quarter(first))
        for phase in self.job.phases:
            if phase in self.job.done:
                continue
            hours = self.wanted.hours[self.crew_key].get(phase, 0.0)
            if hours > 0 and (waits_for := self._place(phase, hours)):
                return waits_for
            ends = [one.ends_at for one in self._blocks_of(phase)]
            self.free_from = max([self.free_from, *ends])
        return ""

    def _place(self, phase: Phase, hours: float) -> str:
        if why := skill_bar(phase, self.job, self.crew):
            return f"{self.job.name}: {why}"
        not_before, why = self.free_from, f"{self.crew.name} has no hours left."
        wait = hang_wait(phase, self.job, self._blocks_of(Phase.SET), self.facts)
        if wait is not None and wait.ready_at is None:
            told = wait.told(is_planned=self.job.is_to_pour)
            return f"{self.job.name}: {PHASE_NAMES[phase]} waits. {told}"
        if wait is not None and wait.ready_at is not None:
            not_before = max(not_before, _next_quarter(wait.ready_at))
            why = f"{why} {wait.told(is_planned=self.job.is_to_pour)}"
        left = _up_to_quarters(hours)
        for day in self._days(not_before):
            if bar := self._bar(phase, day):
                why = bar
                continue
            share = self.crew.share_on(day)
            block = self._fit(phase, day, not_before, _up_to_quarters(left / share))
            if block is not None:
                self.new.append(block)
                self.by_day[self.crew_key, day].append(block)
                left -= block.hours * share
            if left <= SLACK_H:
                return ""
        until = day_words(self.wanted.last_day)
        return f"{self.job.name}: {PHASE_NAMES[phase]} finds no day until {until}. {why}"

    def _days(self, not_before: dt.datetime) -> Iterator[dt.date]:
        """Yield the days on which the crew works."""
        day = max(not_before.date(), self.wanted.first_day)
        while day <= self.wanted.last_day:
            if self.crew.works_on(day):
                yield day
            day += ONE_DAY

    def _bar(self, phase: Phase, day: dt.date) -> str:
        """Return why this crew may not do a phase on a day, or nothing."""
        for _, why in day_bars(phase, self.job, day, self.facts):
            return why
        if why := people_bar(phase, self.job, self.crew, day):
            return f"{why[0].upper()}{why[1:]}"
        key = self._machine(phase)
        if key:
            machine = self.facts.machines[key]
            others = {
                one.crew
                for (crew, date), blocks in self.by_day.items()
                for one in blocks
                if date == day and crew != self.crew_key and one.machine == key
            }
            if len(others) >= machine.owned and not machine.is_rentable:
                return f"{machine.name} is not free on {day_words(day)}."
        return ""

    def _fit(
        self, phase: Phase, day: dt.date, not_before: dt.datetime, left: float
    ) -> CrewDay | None:
        """Return a block in the crew's first gap that is long enough, if there is one."""
        mine = self.by_day[self.crew_key, day]
        if any((one.job, one.phase) == (self.wanted.job, phase) for one in mine):
            return None
        listed = timed(mine, self.facts)
        follows = sorted(listed, key=lambda each: each.starts_at)
        opens_at = self._at(day, self.crew.start)
        natural = listed[-1].ends_at if listed else opens_at
        for place, (begins, ends) in enumerate(self._gaps(follows, opens_at, not_before)):
            rest = self._rest_h(follows, place)
            hours = _whole_quarters(min((ends - begins) / ONE_HOUR, rest, left))
            local = begins.astimezone(self.facts.zone)
            if hours <= 0 or hours < min(left, SHORTEST_PIECE_H) or local.date() != day:
                continue
            return CrewDay(
                job=self.wanted.job,
                phase=phase,
                crew=self.crew_key,
                date=day,
                hours=hours,
                # After a drive as well: whoever reads the row need not know the way.
                start=None if begins == natural else local.time(),
                machine=self._machine(phase),
            )
        return None

    def _rest_h(self, follows: Sequence[Timed], place: int) -> float:
        """Return the hours a day has left for a block that comes at a place in its row."""
        sites = [self.facts.jobs[one.block.job].place for one in follows]
        sites.insert(place, self.job.place)
        road = max(extra_drive_h(sites, self.facts.yard, self.facts.road), 0.0)
        return self.crew.hours - road - sum(one.block.hours for one in follows)

    def _gaps(
        self, follows: Sequence[Timed], opens_at: dt.datetime, not_before: dt.datetime
    ) -> Iterator[tuple[dt.datetime, dt.datetime]]:
        """Yield the free hours of a day in real time: before each block, then behind the last."""
        opens = max(opens_at, not_before).astimezone(dt.UTC)
        closes = hours_later(opens_at, self.crew.hours).astimezone(dt.UTC)
        ways = [dt.timedelta(hours=self._away_h(one)) for one in follows]
        starts = [one.starts_at.astimezone(dt.UTC) for one in follows]
        ends = [one.ends_at.astimezone(dt.UTC) for one in follows]
        for place in range(len(follows) + 1):
            behind = [end + way for end, way in zip(ends[:place], ways[:place], strict=True)]
            ahead = [start - way for start, way in zip(starts[place:], ways[place:], strict=True)]
            yield max([opens, *behind]), min([closes, *ahead])

    def _away_h(self, one: Timed) -> float:
        there = self.facts.jobs[one.block.job].place
        return drive_quarters_h(there, self.job.place, self.facts.road)

    def _blocks_of(self, phase: Phase) -> list[Timed]:
        return [one for one in self._of_job(self.wanted.job) if one.block.phase == phase]

    def _of_job(self, key: str) -> list[Timed]:
        return [
            one
            for blocks in self.by_day.values()
            if any(each.job == key for each in blocks)
            for one in timed(blocks, self.facts)
            if one.block.job == key
        ]

    def _machine(self, phase: Phase) -> str:
        return self.job.machines.get(phase, "")

    def _at(self, day: dt.date, time: dt.time) -> dt.datetime:
        return dt.datetime.combine(day, time, tzinfo=self.facts.zone)


def _next_quarter(moment: dt.datetime) -> dt.datetime:
    """Return the moment itself, or the next whole quarter hour of the clock."""
    hour = moment.replace(minute=0, second=0, microsecond=0)
    return moment + (hour - moment) % QUARTER_HOUR


def _up_to_quarters(hours: float) -> float:
    return math.ceil(hours * QUARTERS_PER_HOUR - SLACK_H) / QUARTERS_PER_HOUR


def _whole_quarters(hours: float) -> float:
    return math.floor(hours * QUARTERS_PER_HOUR + SLACK_H) / QUARTERS_PER_HOUR
