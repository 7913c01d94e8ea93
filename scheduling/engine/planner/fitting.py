"""Where a visit fits right behind what its crew did before: the rules of `laying`, in numbers."""

import math
from typing import NamedTuple

import numpy as np

from scheduling.engine.planner.compiling import compiled
from scheduling.engine.planner.problem import SLACK
from scheduling.engine.planner.tables import NEVER, NONE, YARD, Numbers, Records, Whole

# What a job without a place and a broken promise count, in late days: finding a place may break
# some promises, which are kept again after it. What a minute counts by which the turn of a visit
# without a place comes too late. How many minutes of driving, days on site and days until a job is
# done count as one late day.
UNPLACED, BROKEN = 400.0, 30.0
TOO_LATE = 0.25 / 480
MINUTE, SPAN_DAY, END_DAY = 1 / 2000, 1 / 1000, 1 / 10000


class Plan(NamedTuple):
    """Each crew's visits in the order it makes them, and where each of them lies.

    `turns` are by crew and turn, from turn 1 on; turn 0 is a crew before its first visit. `place`
    is NONE where a visit has none; then all else is as in the turn before. Behind a turn the crew
    is `over` a place of its line, at a `site`. Its last day so far is `worked` units long, its way
    of `way_min` from the yard led by the `first` site to the last with a `known` place. `cost` is
    that of all turns so far, `trouble` the part of it for jobs late, broken or without a place.
    `crew_of` and `turn_of` hold by visit where in which queue it is, `ends` when it is over, `outs`
    by machine, crew and day how many visits have it out.
    """

    size: Whole
    turns: Records
    crew_of: Whole
    turn_of: Whole
    ends: Whole
    outs: Whole


TURN = {
    "visit": np.int32,
    "place": np.int32,
    "over": np.int32,
    "site": np.int32,
    "done": np.int32,
    "worked": np.int32,
    "way_min": np.float64,
    "known": np.int32,
    "first": np.int32,
    "cost": np.float64,
    "trouble": np.float64,
    "spare": np.int32,
    "until": np.int32,
}


def no_plan(numbers: Numbers) -> Plan:
    """Return a plan of nothing: what stands fixed has its machines out."""
    crews, visits = numbers.work.tasks.shape
    turns = np.zeros((crews, visits + 1), list(TURN.items())).view(np.recarray)
    turns.visit = turns.place = turns.first = NONE
    return Plan(
        size=np.zeros(crews, np.int32),
        turns=turns,
        crew_of=np.zeros(visits, np.int32),
        turn_of=np.zeros(visits, np.int32),
        ends=np.full(visits + 1, NEVER, np.int32),
        outs=numbers.fleets.taken.copy(),
    )


@compiled
def fit(numbers: Numbers, plan: Plan, crew: int, turn: int, place: int) -> int:
    """Return the first place from one on at which the visit of a turn fits, else `NEVER`."""
    lines, visit = numbers.lines, plan.turns[crew, turn].visit
    starts = numbers.work.tasks[crew, visit].starts
    last = turn - 1
    over = plan.turns[crew, last].over
    last_day = lines.places[crew, over - 1].index if over > 0 else NONE
    while starts != NONE and place < lines.crews[crew].length:
        place = numbers.work.next_start[starts, place]
        if place >= NEVER:
            return NEVER
        later = place
        if lines.crews[crew].has_fixed:
            later = _behind_fixed(numbers, plan, crew, visit, last, place)
        elif lines.places[crew, place].index == last_day:
            later = _in_day(numbers, plan, crew, visit, last, place)
        if later == place:
            later = machine_back(numbers, plan, crew, visit, place)
        if later == place:
            return place
        place = later
    return NEVER


@compiled
def put(numbers: Numbers, plan: Plan, crew: int, turn: int, place: int) -> None:
    """Lay the visit of a turn at a place that was found for it."""
    lines, work, visit = numbers.lines, numbers.work, plan.turns[crew, turn].visit
    site, over = work.visits[visit].site, place + work.tasks[crew, visit].length
    begun, ended = lines.places[crew, place].index, lines.places[crew, over - 1].index
    last = turn - 1
    last_over = plan.turns[crew, last].over
    last_day = lines.places[crew, last_over - 1].index if last_over > 0 else NONE
    if ended == last_day:
        worked = (
            plan.turns[crew, last].worked
            + lines.places[crew, over].ends
            - lines.places[crew, place].begins
        )
        way, known = plan.turns[crew, last].way_min, plan.turns[crew, last].known
        first = plan.turns[crew, last].first
    else:
        opens = (
            lines.places[crew, place].begins
            if begun == ended
            else lines.stretches[crew, ended].opens
        )
        worked = lines.places[crew, over].ends - opens
        way, known = lines.stretches[crew, ended].way_min, lines.stretches[crew, ended].known
        first = lines.stretches[crew, ended].first
    if numbers.is_known[site]:
        way += numbers.ways[known, site].minutes
        known = site
        first = site if first == NONE else first
    plan.turns[crew, turn].place, plan.turns[crew, turn].over = place, over
    plan.turns[crew, turn].site = site
    plan.turns[crew, turn].worked, plan.turns[crew, turn].way_min = worked, way
    plan.turns[crew, turn].known, plan.turns[crew, turn].first = known, first
    plan.ends[visit] = lines.places[crew, over].ends
    minutes = _drive(numbers, plan, crew, last, site, begun, ended, last_day)
    done = lines.stretches[crew, ended].day
    plan.turns[crew, turn].done = done
    trouble = trouble_of(numbers, visit, done)
    plan.turns[crew, turn].spare = place - last_over
    if begun == last_day:
        gap = numbers.ways[plan.turns[crew, last].site, site].gap
        plan.turns[crew, turn].spare = max(0, place - last_over - gap)
    plan.turns[crew, turn].until = _until_later(numbers, crew, visit, over, ended)
    cost = trouble + _cost(numbers, crew, visit, lines.stretches[crew, begun].day, done, minutes)
    plan.turns[crew, turn].cost = plan.turns[crew, last].cost + cost
    plan.turns[crew, turn].trouble = plan.turns[crew, last].trouble + trouble


@compiled
def put_nowhere(numbers: Numbers, plan: Plan, crew: int, turn: int) -> None:
    """Leave the visit of a turn without a place; with its last one the job counts as without.

    The later its turn comes for its place, the more that counts: else it would not find back.
    """
    visit = plan.turns[crew, turn].visit
    plan.turns[crew, turn] = plan.turns[crew, turn - 1]
    mine = plan.turns[crew, turn]
    mine.visit, mine.place, mine.done = visit, NONE, NEVER
    mine.spare, mine.until = 0, NEVER
    trouble = UNPLACED if _is_last(numbers, visit) else 0.0
    too_late = mine.over - numbers.work.tasks[crew, visit].last
    if too_late > 0:
        trouble += too_late * numbers.unit_min * TOO_LATE
    mine.cost += trouble
    mine.trouble += trouble
    plan.ends[visit] = NEVER


@compiled
def _is_last(numbers: Numbers, visit: int) -> bool:
    return bool(visit == last_visit(numbers, numbers.work.visits[visit].job))


@compiled
def last_visit(numbers: Numbers, job: int) -> int:
    """Return the visit with which a job is done."""
    return int(numbers.work.jobs[job].first_visit + numbers.work.jobs[job].visits - 1)


@compiled
def _drive(
    numbers: Numbers,
    plan: Plan,
    crew: int,
    last: int,
    site: int,
    begun: int,
    ended: int,
    last_day: int,
) -> int:
    """Return the minutes of driving that a visit adds to its crew's days."""
    alone = numbers.lines.alone_min
    if begun != last_day:
        return int(alone[crew, site, ended + 1] - alone[crew, site, begun])
    ways, after = numbers.ways, numbers.lines.stretches[crew, begun].after
    before = plan.turns[crew, last].site
    on_the_day = ways[before, site].drive + ways[site, after].drive - ways[before, after].drive
    return int(on_the_day + alone[crew, site, ended + 1] - alone[crew, site, begun + 1])


@compiled
def trouble_of(numbers: Numbers, visit: int, done: int) -> float:
    """Return what the end of a visit counts when its job is late by it or breaks its promise."""
    if not _is_last(numbers, visit):
        return 0.0
    job = numbers.work.jobs[numbers.work.visits[visit].job]
    return float(max(0, done - job.due) + (BROKEN if done > job.promised else 0.0))


@compiled
def _until_later(numbers: Numbers, crew: int, visit: int, over: int, ended: int) -> int:
    """Return by how many places a visit has to be over later to make its job a day later."""
    if not _is_last(numbers, visit):
        return NEVER
    due_at = numbers.work.due_at[numbers.work.visits[visit].job, crew]
    if over > due_at:
        due_at = numbers.lines.stretches[crew, ended + 1].at
    return int(due_at - over + 1)


@compiled
def _cost(numbers: Numbers, crew: int, visit: int, begun: int, done: int, minutes: int) -> float:
    """Return what driving to a visit and the days from its job's first to its last count."""
    work = numbers.work
    job = work.visits[visit].job
    if work.visits[visit].shown_crew != NONE and (
        work.visits[visit].shown_crew != crew or work.visits[visit].shown_day != begun
    ):
        minutes += numbers.move_min
    cost = minutes * MINUTE
    if visit == work.jobs[job].first_visit:
        cost -= begun * SPAN_DAY
    if _is_last(numbers, visit):
        cost += done * (SPAN_DAY + END_DAY)
    return cost


@compiled
def _in_day(numbers: Numbers, plan: Plan, crew: int, visit: int, last: int, place: int) -> int:
    """Return where to try next on a day on which the crew was at another site before."""
    lines, site = numbers.lines, numbers.work.visits[visit].site
    begins, day = lines.places[crew, place].begins, lines.places[crew, place].index
    before = plan.turns[crew, last]
    short = lines.places[crew, before.over].ends + numbers.ways[before.site, site].gap - begins
    if short > 0:
        return int(place + short)
    over, behind = place + numbers.work.tasks[crew, visit].length, lines.stretches[crew, day + 1].at
    worked = plan.turns[crew, last].worked + lines.places[crew, min(over, behind)].ends - begins
    way, known, first = (
        plan.turns[crew, last].way_min,
        plan.turns[crew, last].known,
        plan.turns[crew, last].first,
    )
    extra_min = _extra_min(numbers, way, known, first, site, YARD, 0.0)
    short_min = worked * numbers.unit_min + extra_min - lines.stretches[crew, day].room_min
    if short_min <= SLACK:
        return place
    return _later_today(numbers, place, over, behind, short_min)


@compiled
def _later_today(numbers: Numbers, place: int, over: int, behind: int, short_min: float) -> int:
    """Return the place at which less of a visit that goes on tomorrow falls on the day."""
    if over <= behind:
        return behind
    return min(behind, place + math.ceil(short_min / numbers.unit_min - SLACK))


@compiled
def _extra_min(
    numbers: Numbers, way: float, known: int, first: int, site: int, to: int, rest_min: float
) -> float:
    """Return the minutes of a day's way by a site beyond the one to its first site and back.

    The way so far led by the first site to a known one; it goes on by the site to another, and
    from there takes the rest.
    """
    ways = numbers.ways
    if numbers.is_known[site]:
        first = site if first == NONE else first
        way += ways[known, site].minutes + ways[site, to].minutes
    else:
        first = to if first == NONE else first
        way += ways[known, to].minutes
    return float(max(0.0, way + rest_min - 2 * ways[YARD, first].minutes))


@compiled
def _behind_fixed(
    numbers: Numbers, plan: Plan, crew: int, visit: int, last: int, place: int
) -> int:
    """Return where to try next on a line on which work stands fixed."""
    lines, site, ways = numbers.lines, numbers.work.visits[visit].site, numbers.ways
    over, last_over = place + numbers.work.tasks[crew, visit].length, plan.turns[crew, last].over
    begun, ended = lines.places[crew, place].index, lines.places[crew, over - 1].index
    last_day = lines.places[crew, last_over - 1].index if last_over > 0 else NONE
    for day in range(begun, ended + 1):
        behind = lines.stretches[crew, day + 1].at
        begins = (
            lines.places[crew, place].begins if day == begun else lines.stretches[crew, day].opens
        )
        ends = lines.places[crew, over].ends if day == ended else lines.stretches[crew, day].closes
        if day == last_day:
            came, before = lines.places[crew, last_over].ends, plan.turns[crew, last].site
            worked, way = plan.turns[crew, last].worked, plan.turns[crew, last].way_min
            known, first = plan.turns[crew, last].known, plan.turns[crew, last].first
        else:
            came, before, worked = (
                lines.stretches[crew, day].opens,
                lines.stretches[crew, day].before,
                0,
            )
            way, known = lines.stretches[crew, day].way_min, lines.stretches[crew, day].known
            first = lines.stretches[crew, day].first
        # The way from the yard is in the hours the first job was sold with.
        short = came + ways[before, site].gap - begins if before != YARD else 0
        if short > 0:
            return (place if day == begun else lines.stretches[crew, day].at) + short
        after = lines.stretches[crew, day].after
        if after != YARD and ends + ways[site, after].gap > lines.stretches[crew, day].closes:
            return int(behind)
        home, rest = lines.stretches[crew, day].home_by, lines.stretches[crew, day].rest_min
        extra_min = _extra_min(numbers, way, known, first, site, home, rest)
        worked_min = (worked + ends - begins) * numbers.unit_min
        short_min = worked_min + extra_min - lines.stretches[crew, day].room_min
        if short_min > SLACK:
            is_first = day == begun
            return _later_today(numbers, place, over, behind, short_min) if is_first else behind
    return place


@compiled
def machine_back(numbers: Numbers, plan: Plan, crew: int, visit: int, place: int) -> int:
    """Return where to try next when a machine is out with other crews."""
    work, lines = numbers.work, numbers.lines
    for use in range(work.uses.shape[2]):
        machine = work.uses[crew, visit, use].machine
        if machine == NONE:
            break
        offset = work.uses[crew, visit, use].offset
        last = place + offset + work.uses[crew, visit, use].length - 1
        for index in range(
            lines.places[crew, place + offset].index, lines.places[crew, last].index + 1
        ):
            users = 0
            for other in range(len(plan.size)):
                if (
                    other != crew
                    and plan.outs[machine, other, lines.stretches[crew, index].day] > 0
                ):
                    users += 1
            if users >= numbers.fleets.machines[machine].most:
                return int(max(place + 1, lines.stretches[crew, index + 1].at - offset))
    return place
