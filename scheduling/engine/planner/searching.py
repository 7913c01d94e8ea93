"""The search itself: some thousand changes in one go, each taken if it costs little enough."""

import math
import random

from scheduling.engine.planner.compiling import compiled
from scheduling.engine.planner.fitting import Plan
from scheduling.engine.planner.moving import move
from scheduling.engine.planner.queues import (
    HARDENING,
    begin,
    copy_rest,
    copy_turns,
    cost_of,
    take,
    tried,
)
from scheduling.engine.planner.tables import NEVER, NONE, Numbers, Whole

# How often a change is about a job in trouble; how much likelier one without a place, with a broken
# promise, or late, is picked then.
TROUBLE_SHARE = 0.4
TIMES_WITHOUT, TIMES_BROKEN, TIMES_LATE = 3, 2, 1
# After so many changes it is looked anew which jobs are in trouble.
AFRESH = 50
# A plan is better than the best only by more than a last digit.
DIGIT = 1e-9


@compiled
def changed_a_little(
    numbers: Numbers,
    now: Plan,
    trial: Plan,
    best: Plan,
    changed: Whole,
    heat: float,
    count: int,
    missing: Whole,
    trouble: Whole,
    seed: int,
) -> int:
    """Try so many changes of a plan; return how many were tried until something was missing.

    A change is taken if the plan costs no more by it than `heat` allows, on the mean. The best plan
    met is kept.
    """
    random.seed(seed)
    jobs = len(numbers.work.jobs)
    cost, least = cost_of(numbers, now), cost_of(numbers, best)
    many = 0
    for number in range(count):
        if number % AFRESH == 0:
            many = _in_trouble(numbers, now, trouble)
        is_about = many > 0 and random.random() < TROUBLE_SHARE
        job = trouble[random.randrange(many)] if is_about else random.randrange(jobs)
        begin(now, trial, changed)
        if not move(numbers, now, trial, changed, job):
            continue
        most = cost
        if heat > 0.0:
            most += heat * random.expovariate(1.0)
        found = tried(numbers, now, trial, changed, most, missing)
        if missing[HARDENING] != NONE:
            return number
        if found < math.inf:
            take(now, trial, changed)
            cost = found
            if cost < least - DIGIT:
                least = cost
                keep(now, best)
    return count


@compiled
def keep(now: Plan, best: Plan) -> None:
    """Keep a plan as it is."""
    copy_rest(now, best)
    for crew in range(len(now.size)):
        copy_turns(now, best, crew, 0, now.size[crew] + 1)


@compiled
def _in_trouble(numbers: Numbers, now: Plan, trouble: Whole) -> int:
    """Write down the jobs without a place, with a broken promise, and late; return how many rows.

    The worse it is, the more rows a job has.
    """
    work, count = numbers.work, 0
    for job in range(len(work.jobs)):
        first = work.jobs[job].first_visit
        last = first + work.jobs[job].visits - 1
        is_whole = True
        for visit in range(first, last + 1):
            is_whole = is_whole and now.ends[visit] < NEVER
        times = TIMES_WITHOUT
        if is_whole:
            done = day_of(numbers, now, last)
            times = TIMES_BROKEN if done > work.jobs[job].promised else 0
            times += TIMES_LATE if done > work.jobs[job].due else 0
        for _ in range(times):
            trouble[count] = job
            count += 1
    return count


@compiled
def day_of(numbers: Numbers, now: Plan, visit: int) -> int:
    """Return the day on which a visit that has its place is over."""
    crew = now.crew_of[visit]
    for turn in range(1, now.size[crew] + 1):
        if now.turns[crew, turn].visit == visit:
            return int(now.turns[crew, turn].done)
    return NEVER
