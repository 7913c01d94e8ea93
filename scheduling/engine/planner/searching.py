"""The search itself: some thousand changes in one go, each taken if it costs little enough."""

import math

from scheduling.engine.planner.chance import below, part
from scheduling.engine.planner.compiling import compiled
from scheduling.engine.planner.fitting import Plan
from scheduling.engine.planner.moving import move
from scheduling.engine.planner.queues import cost_of, tried
from scheduling.engine.planner.tables import NEVER, NONE, Draws, Numbers, Whole
from scheduling.engine.planner.trials import HARDENING, give_up, keep, take

# How often a change is about a job in trouble; how much likelier one without a place, with a broken
# promise, or late, is picked then.
TROUBLE_SHARE = 0.4
TIMES_WITHOUT, TIMES_BROKEN, TIMES_LATE = 3, 2, 1
# How often a visit of such a job goes forward rather than back, and of any other.
FORWARD_IN_TROUBLE, FORWARD = 0.65, 0.5
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
    draws: Draws,
) -> int:
    """Try so many changes of a plan; return how many were tried until something was missing.

    A change is taken if the plan costs no more by it than `heat` allows, on the mean. The best plan
    met is kept.
    """
    jobs = len(numbers.work.jobs)
    cost, least = cost_of(numbers, now), cost_of(numbers, best)
    many = 0
    for number in range(count):
        if number % AFRESH == 0:
            many = _in_trouble(numbers, now, trouble)
        is_about = many > 0 and part(draws) < TROUBLE_SHARE
        job = trouble[below(draws, many)] if is_about else below(draws, jobs)
        forward = FORWARD_IN_TROUBLE if is_about else FORWARD
        room = -heat * math.log(part(draws)) if heat > 0.0 else 0.0
        if not move(numbers, now, trial, changed, job, forward, room, draws):
            continue
        most = cost + room
        found = tried(numbers, now, trial, changed, most, missing)
        if found == math.inf:
            give_up(numbers, now, trial, changed)
            if missing[HARDENING] != NONE:
                return number
            continue
        take(numbers, now, trial, changed)
        cost = found
        if cost < least - DIGIT:
            least = cost
            keep(now, best)
    return count


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
            done = now.turns[now.crew_of[last], now.turn_of[last]].done
            times = TIMES_BROKEN if done > work.jobs[job].promised else 0
            times += TIMES_LATE if done > work.jobs[job].due else 0
        for _ in range(times):
            trouble[count] = job
            count += 1
    return count
