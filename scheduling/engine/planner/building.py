"""From the facts of a plan to a problem in whole units, each rule turned into places on a line."""

import datetime as dt
import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal

from scheduling.engine.breaches import Rule
from scheduling.engine.driving import drive_h
from scheduling.engine.placing import Wanted
from scheduling.engine.plan import Crew, CrewDay, Facts, Timed, timed
from scheduling.engine.planner.lines import Line, Stretch
from scheduling.engine.planner.problem import Fleet, Order, Problem
from scheduling.engine.planner.visiting import UNIT, Calendar, order_of, units
from scheduling.engine.real_time import hours_later

MINUTES_PER_HOUR = 60
ONE_DAY = dt.timedelta(days=1)
UNIT_MIN = UNIT // dt.timedelta(minutes=1)
# Moving a day that people were told of counts like an hour on the road: the firm's to change.
MOVE_MIN = 60
# What a minute of a crew on the road costs, to weigh it against a rented day: the firm's to change.
ROAD_COST = Decimal("3.00")


@dataclass(frozen=True, kw_only=True, slots=True)
class Weights:
    """What a moved visit counts in minutes of driving, and what such a minute costs."""

    move_min: int = MOVE_MIN
    road_cost: Decimal = ROAD_COST


@dataclass(frozen=True, kw_only=True, slots=True)
class Asked:
    """What is to be planned: jobs with their hours, what stands fixed, what people were told.

    `stands` is all that stands now, fixed and shown, in the order of the calendar. `ignored` names
    rules to leave out, to learn which of them bar a job.
    """

    jobs: tuple[Wanted, ...]
    fixed: tuple[CrewDay, ...]
    facts: Facts
    first_day: dt.date
    last_day: dt.date
    shown: tuple[CrewDay, ...] = ()
    stands: tuple[CrewDay, ...] = ()
    weights: Weights = field(default_factory=Weights)
    ignored: frozenset[Rule] = frozenset()


@dataclass(frozen=True, kw_only=True, slots=True)
class Built:
    """A problem with the calendar it was made from, which takes its answer back to days."""

    problem: Problem
    calendar: Calendar


def build(asked: Asked) -> Built:
    """Return the problem of what is asked.

    Raises:
        EngineError: a fixed block names what the facts lack, or jobs wait for one another.
    """
    facts = asked.facts
    fixed = timed(asked.fixed, facts)
    origin = dt.datetime.combine(asked.first_day, dt.time(), tzinfo=facts.zone)
    days = [
        asked.first_day + ONE_DAY * count
        for count in range((asked.last_day - asked.first_day).days + 1)
    ]
    lines = {key: _line(key, crew, days, fixed, facts, origin) for key, crew in facts.crews.items()}
    calendar = Calendar(
        facts=facts,
        origin=origin,
        lines=lines,
        fixed=_by_job(fixed),
        shown=_blocks_by_job(asked.shown),
        ignored=asked.ignored,
    )
    orders: dict[str, Order] = {}
    asked_keys = {one.job for one in asked.jobs}
    for wanted in asked.jobs:
        orders[wanted.job] = order_of(wanted, calendar, asked_keys)
    sites = set(orders) | {one.job for one in asked.fixed}
    problem = Problem(
        lines=lines,
        orders=tuple(orders.values()),
        fleets=_fleets(facts, fixed, asked),
        drive_min=_drives(sites, facts),
        unit_min=UNIT_MIN,
        move_min=asked.weights.move_min,
    )
    return Built(problem=problem, calendar=calendar)


def _line(
    key: str,
    crew: Crew,
    days: Sequence[dt.date],
    fixed: Sequence[Timed],
    facts: Facts,
    origin: dt.datetime,
) -> Line:
    by_day: dict[dt.date, list[Timed]] = defaultdict(list)
    for one in fixed:
        if one.block.crew == key:
            by_day[one.block.date].append(one)
    stretches: list[Stretch] = []
    for day in days:
        if crew.works_on(day) and (found := _stretch(crew, day, by_day[day], facts, origin)):
            # On the night on which clocks go forward a day of 24 h runs into the next.
            begins = max(found.begins, stretches[-1].ends) if stretches else found.begins
            if found.ends > begins and (rest := _begun_at(found, begins)).length:
                stretches.append(rest)
    return Line(stretches)


def _begun_at(one: Stretch, begins: int) -> Stretch:
    if begins == one.begins:
        return one
    lasts = one.ends - begins
    return replace(one, begins=begins, length=lasts * one.length // one.span, lasts=lasts)


def _stretch(
    crew: Crew, day: dt.date, mine: Sequence[Timed], facts: Facts, origin: dt.datetime
) -> Stretch | None:
    """Return the longest free time of a crew's day, in whole units of work of those there."""
    opens_at = dt.datetime.combine(day, crew.start, tzinfo=facts.zone)
    closes = units(hours_later(opens_at, crew.hours), origin, up=False)
    begins, best = units(opens_at, origin, up=True), (0, 0, 0)
    in_order = sorted(mine, key=lambda one: one.starts_at.astimezone(dt.UTC))
    for index, one in enumerate(in_order):
        ends = min(units(one.starts_at, origin, up=False), closes)
        best = max(best, (ends - begins, -begins, index))
        begins = max(begins, units(one.ends_at, origin, up=True))
    best = max(best, (closes - begins, -begins, len(in_order)))
    length = best[0] * crew.present_on(day) // crew.people
    if length <= 0:
        return None
    worked_h = sum(one.block.hours for one in mine)
    return Stretch(
        begins=-best[1],
        length=length,
        lasts=best[0],
        day=(day - origin.date()).days,
        stops_before=tuple(one.block.job for one in in_order[: best[2]]),
        stops_after=tuple(one.block.job for one in in_order[best[2] :]),
        room_min=(crew.hours - worked_h) * MINUTES_PER_HOUR,
    )


def _by_job(fixed: Iterable[Timed]) -> dict[str, list[Timed]]:
    found: dict[str, list[Timed]] = defaultdict(list)
    for one in fixed:
        found[one.block.job].append(one)
    return found


def _blocks_by_job(blocks: Iterable[CrewDay]) -> dict[str, list[CrewDay]]:
    found: dict[str, list[CrewDay]] = defaultdict(list)
    for one in blocks:
        found[one.job].append(one)
    return found


def _fleets(facts: Facts, fixed: Sequence[Timed], asked: Asked) -> dict[str, Fleet]:
    taken: dict[str, dict[int, set[str]]] = defaultdict(lambda: defaultdict(set))
    for one in fixed:
        day = (one.block.date - asked.first_day).days
        taken[one.block.machine][day].add(one.block.crew)
    found = {}
    for key, machine in facts.machines.items():
        rent = math.ceil(machine.day_rate / asked.weights.road_cost)
        found[key] = Fleet(
            owned=machine.owned,
            rent=rent if machine.is_rentable or Rule.MACHINE_TWICE in asked.ignored else None,
            taken={day: frozenset(crews) for day, crews in taken[key].items()},
        )
    return found


def _drives(sites: Iterable[str], facts: Facts) -> Mapping[tuple[str, str], float]:
    places = {"": facts.yard, **{key: facts.jobs[key].place for key in sorted(sites)}}
    known = {key: place for key, place in places.items() if place is not None}
    return {
        (one, other): drive_h(place, there, facts.road) * MINUTES_PER_HOUR
        for one, place in known.items()
        for other, there in known.items()
    }
