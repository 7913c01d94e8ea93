"""A job as visits: which phases a crew does in one go, where on its line each visit may begin."""

import datetime as dt
import functools
import math
from collections.abc import Hashable, Iterable, Mapping, Sequence, Set
from dataclasses import dataclass, field

from scheduling.engine.breaches import Rule
from scheduling.engine.crew_days import (
    after_wait,
    day_bars,
    hang_wait,
    people_bar,
    skill_bar,
)
from scheduling.engine.placing import SHORTEST_PIECE_H, Wanted
from scheduling.engine.plan import CrewDay, Facts, JobFacts, Phase, Timed
from scheduling.engine.planner.hardening import Hardening
from scheduling.engine.planner.lines import Line
from scheduling.engine.planner.problem import Choice, Order, Range, Use, Visit
from scheduling.engine.real_time import QUARTER_HOUR, QUARTERS_PER_HOUR, hours_later

UNIT = QUARTER_HOUR
ONE_DAY = dt.timedelta(days=1)
SLACK = 1e-6
# Later than any day of a plan.
NEVER = 10**8
WAITING = (Phase.HANG, Phase.GATES)
SHORTEST_PIECE = round(SHORTEST_PIECE_H * QUARTERS_PER_HOUR)


def units(moment: dt.datetime, origin: dt.datetime, *, up: bool) -> int:
    """Return how many units a moment lies after the plan's first midnight."""
    count = (moment.astimezone(dt.UTC) - origin.astimezone(dt.UTC)) / UNIT
    return math.ceil(count) if up else math.floor(count)


@dataclass(frozen=True, kw_only=True, slots=True)
class Calendar:
    """What visits are made from: the facts, each crew's line, and what stands fixed by job."""

    facts: Facts
    origin: dt.datetime
    lines: Mapping[str, Line]
    fixed: Mapping[str, Sequence[Timed]]
    shown: Mapping[str, Sequence[CrewDay]]
    ignored: Set[Rule] = frozenset()
    _bars: dict[tuple[str, Phase, int], bool] = field(default_factory=dict)
    _hardening: dict[Hashable, Hardening] = field(default_factory=dict)

    def date(self, day: int) -> dt.date:
        """Return the date of a day of the plan."""
        return self.origin.date() + ONE_DAY * day

    def moment(self, unit: int) -> dt.datetime:
        """Return the moment a unit of real time begins."""
        return hours_later(self.origin, unit / QUARTERS_PER_HOUR)

    def unit(self, moment: dt.datetime) -> int:
        """Return the first unit that begins at a moment or after."""
        return units(moment, self.origin, up=True)

    def is_barred(self, key: str, phase: Phase, day: int) -> bool:
        """Say whether papers, customer, rain, frost or another day's work bar a phase on a day."""
        if (key, phase, day) not in self._bars:
            bars = day_bars(phase, self.facts.jobs[key], self.date(day), self.facts)
            self._bars[key, phase, day] = any(rule not in self.ignored for rule, _ in bars)
        return self._bars[key, phase, day]

    def hardening(self, key: str, phase: Phase) -> Hardening:
        """Return from when a phase may begin on posts that were set up to some moment."""
        job, fixed = self.facts.jobs[key], self.fixed.get(key, ())
        ends = tuple(one.ends_at for one in fixed if one.block.phase == Phase.SET)
        # Posts in the same mix and air harden alike, whosesoever they are.
        alike = (phase, job.hang_work, job.concrete, job.is_to_pour, ends)
        if alike not in self._hardening:
            ask = functools.partial(_ready_at, key, phase, self)
            self._hardening[alike] = Hardening(ask)
        return self._hardening[alike]


@dataclass(frozen=True, slots=True)
class Part:
    """A phase in a visit: from which unit of it on, and for how many."""

    phase: Phase
    offset: int
    length: int


def parts_of(wanted: Wanted, crew: str, phases: Iterable[Phase]) -> tuple[Part, ...]:
    """Return the phases of a visit as one crew works them, one after the other."""
    found: list[Part] = []
    offset = 0
    for phase in phases:
        length = math.ceil(wanted.hours[crew].get(phase, 0.0) * QUARTERS_PER_HOUR - SLACK)
        if length > 0:
            found.append(Part(phase, offset, length))
            offset += length
    return tuple(found)


def groups_of(wanted: Wanted, calendar: Calendar) -> tuple[tuple[Phase, ...], ...]:
    """Return the phases of each visit: together what waits for nothing in between.

    Where no crew could make such a visit in one go, each of its phases is a visit of its own.
    """
    job = calendar.facts.jobs[wanted.job]
    asked = {phase for hours in wanted.hours.values() for phase, each in hours.items() if each > 0}
    groups: list[list[Phase]] = []
    for phase in job.phases:
        if phase in job.done or phase not in asked:
            continue
        if not groups or (phase in WAITING and job.concrete is not None):
            groups.append([])
        groups[-1].append(phase)
    found: list[tuple[Phase, ...]] = []
    for group in groups:
        if len(group) == 1 or any(
            starts_of(wanted, crew, tuple(group), calendar) for crew in wanted.hours
        ):
            found.append(tuple(group))
        else:
            found += [(phase,) for phase in group]
    return tuple(found)


def order_of(wanted: Wanted, calendar: Calendar, asked: Set[str]) -> Order:
    """Return a job as the planner sees it."""
    job = calendar.facts.jobs[wanted.job]
    groups = groups_of(wanted, calendar)
    crews = _crews(wanted, calendar, groups)
    visits = [
        Visit(
            choices=tuple(
                _choice(wanted, crew, groups, number, calendar)
                for crew in crews
                if not _lacks_skill(crew, group, job, calendar)
            ),
            shown=_shown(wanted.job, group, calendar),
        )
        for number, group in enumerate(groups)
    ]
    may_all = [
        crew
        for crew in crews
        if not any(_lacks_skill(crew, group, job, calendar) for group in groups)
    ]
    return Order(
        key=wanted.job,
        visits=tuple(visits),
        has_one_crew=bool(may_all),
        promised_day=_day(job.promised_on, calendar),
        due_day=_day(job.due_on, calendar),
        after=(job.after_job,) if job.after_job in asked else (),
    )


def _day(date: dt.date | None, calendar: Calendar) -> int | None:
    return None if date is None else (date - calendar.origin.date()).days


def _crews(
    wanted: Wanted, calendar: Calendar, groups: Sequence[tuple[Phase, ...]]
) -> tuple[str, ...]:
    """Return the crews that may do a job: those at it already, where one can do the rest."""
    job = calendar.facts.jobs[wanted.job]
    at_it = {one.block.crew for one in calendar.fixed.get(wanted.job, ())}
    phases = tuple(phase for group in groups for phase in group)
    able = [
        crew
        for crew in wanted.hours
        if crew in at_it and not _lacks_skill(crew, phases, job, calendar)
    ]
    return tuple(able or wanted.hours)


def _lacks_skill(crew: str, phases: Iterable[Phase], job: JobFacts, calendar: Calendar) -> bool:
    if Rule.SKILL in calendar.ignored:
        return False
    return any(skill_bar(phase, job, calendar.facts.crews[crew]) for phase in phases)


def _lacks_people(key: str, crew: str, phase: Phase, day: int, calendar: Calendar) -> bool:
    if Rule.PEOPLE in calendar.ignored:
        return False
    job, there = calendar.facts.jobs[key], calendar.facts.crews[crew]
    return bool(people_bar(phase, job, there, calendar.date(day)))


def _shown(key: str, group: Sequence[Phase], calendar: Calendar) -> tuple[str, int] | None:
    mine = [one for one in calendar.shown.get(key, ()) if one.phase in group]
    if not mine:
        return None
    first = min(mine, key=lambda one: one.date)
    return first.crew, (first.date - calendar.origin.date()).days


def _choice(
    wanted: Wanted,
    crew: str,
    groups: Sequence[tuple[Phase, ...]],
    number: int,
    calendar: Calendar,
) -> Choice:
    job, group = calendar.facts.jobs[wanted.job], groups[number]
    parts = parts_of(wanted, crew, group)
    machines = {} if Rule.MACHINE_TWICE in calendar.ignored else job.machines
    return Choice(
        crew=crew,
        length=sum(part.length for part in parts),
        starts=starts_of(wanted, crew, group, calendar),
        ready=_ready(wanted, groups, number, calendar),
        uses=tuple(
            Use(machine=machines[part.phase], offset=part.offset, length=part.length)
            for part in parts
            if machines.get(part.phase)
        ),
    )


def _ready(
    wanted: Wanted,
    groups: Sequence[tuple[Phase, ...]],
    number: int,
    calendar: Calendar,
) -> dict[int, Hardening]:
    """Return for later visits that hang on this one's posts from when they may begin.

    Told by the end of the visit: if a crew does more in it after the posts, a little late.
    """
    job = calendar.facts.jobs[wanted.job]
    if job.concrete is None or Phase.SET not in groups[number] or Rule.CURE in calendar.ignored:
        return {}
    found = {}
    for later in range(number + 1, len(groups)):
        phase = next((each for each in groups[later] if each in WAITING), None)
        if phase is not None:
            found[later] = calendar.hardening(wanted.job, phase)
    return found


def _ready_at(key: str, phase: Phase, calendar: Calendar, poured: int) -> int:
    job = calendar.facts.jobs[key]
    mine = [one for one in calendar.fixed.get(key, ()) if one.block.phase == Phase.SET]
    at = calendar.moment(poured)
    last = Timed(
        block=CrewDay(job=key, phase=Phase.SET, crew="", date=at.date(), hours=1),
        starts_at=at,
        ends_at=at,
    )
    wait = hang_wait(phase, job, [*mine, last], calendar.facts)
    if wait is None:
        return poured
    return NEVER if wait.ready_at is None else calendar.unit(wait.ready_at)


def starts_of(
    wanted: Wanted, crew: str, group: Sequence[Phase], calendar: Calendar
) -> tuple[Range, ...]:
    """Return the places on a crew's line at which a visit may begin, other jobs left aside."""
    line = calendar.lines[crew]
    parts = parts_of(wanted, crew, group)
    length = sum(part.length for part in parts)
    not_before, not_after = _window(wanted.job, parts, calendar)
    first, last = line.first_from(not_before), line.last_until(not_after) - length
    found: tuple[Range, ...] = ((first, last),) if first <= last else ()
    for part in parts:
        found = _common(found, _starts_of_part(wanted.job, crew, part, calendar))
    return _common(found, _not_too_late(line, length))


def _window(key: str, parts: Sequence[Part], calendar: Calendar) -> tuple[int, int]:
    """Return between which moments of real time a visit lies, by what stands fixed of its job."""
    facts, fixed = calendar.facts, calendar.fixed.get(key, ())
    job = facts.jobs[key]
    place = {phase: number for number, phase in enumerate(job.phases)}
    numbers = [place[part.phase] for part in parts]
    before = [calendar.unit(one.ends_at) for one in fixed if place[one.block.phase] <= min(numbers)]
    after = [calendar.unit(one.starts_at) for one in fixed if place[one.block.phase] > max(numbers)]
    if Rule.ORDER in calendar.ignored:
        after = []
    waits = [_after_job(job, calendar)]
    for phase in (part.phase for part in parts):
        if Rule.CURE not in calendar.ignored and not _is_asked_before(phase, parts, job):
            wait = hang_wait(phase, job, _set_blocks(fixed), facts)
            if wait is not None:
                waits.append(NEVER if wait.ready_at is None else calendar.unit(wait.ready_at))
    return max([0, *before, *waits]), min([NEVER, *after])


def _is_asked_before(phase: Phase, parts: Sequence[Part], job: JobFacts) -> bool:
    """Say whether the pour a phase waits for is planned in the same visit."""
    return phase in WAITING and any(part.phase == Phase.SET for part in parts)


def _set_blocks(fixed: Iterable[Timed]) -> list[Timed]:
    return [one for one in fixed if one.block.phase == Phase.SET]


def _after_job(job: JobFacts, calendar: Calendar) -> int:
    """Return from when a job may begin by what stands fixed of the one before it."""
    if Rule.AFTER in calendar.ignored or not job.after_job:
        return 0
    wait = after_wait(job, calendar.fixed, calendar.facts)
    # What has no days yet is planned along with this one, or bars it there.
    return 0 if isinstance(wait, str) else max(0, calendar.unit(wait))


def _starts_of_part(key: str, crew: str, part: Part, calendar: Calendar) -> tuple[Range, ...]:
    line = calendar.lines[crew]
    taken = {
        (one.block.date - calendar.origin.date()).days
        for one in calendar.fixed.get(key, ())
        if one.block.phase == part.phase and one.block.crew == crew
    }
    allowed = [
        one.day not in taken
        and not calendar.is_barred(key, part.phase, one.day)
        and not _lacks_people(key, crew, part.phase, one.day, calendar)
        for one in line.stretches
    ]
    runs = (
        (low - part.offset, high - part.offset - part.length) for low, high in line.runs(allowed)
    )
    return tuple((low, high) for low, high in runs if low <= high)


def _not_too_late(line: Line, length: int) -> tuple[Range, ...]:
    """Return the starts on days that have an hour left: a crew does not unload for less."""
    least = min(length, SHORTEST_PIECE)
    return tuple(
        (line.at[index], line.at[index + 1] - min(least, one.length))
        for index, one in enumerate(line.stretches)
    )


def _common(some: Sequence[Range], others: Sequence[Range]) -> tuple[Range, ...]:
    """Return what lies in both of two rows of ranges, each in order."""
    found = []
    index = 0
    for low, high in some:
        while index < len(others) and others[index][1] < low:
            index += 1
        at = index
        while at < len(others) and others[at][0] <= high:
            found.append((max(low, others[at][0]), min(high, others[at][1])))
            at += 1
    return tuple(found)
