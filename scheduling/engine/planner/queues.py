"""Crews' queues as a change would have them, laid anew only from where they differ.

What costs more than it may is given up as soon as that is seen.
"""

import math

from scheduling.engine.planner.compiling import compiled
from scheduling.engine.planner.fitting import MINUTE, Plan, fit, machine_back, put, put_nowhere
from scheduling.engine.planner.outlook import least_behind, still_comes
from scheduling.engine.planner.outs import bring_back, take_out
from scheduling.engine.planner.tables import NEVER, NONE, UNKNOWN, Numbers, Whole
from scheduling.engine.planner.trials import (
    BEHIND,
    FIRST,
    HARDENING,
    LONGER,
    MOMENT,
    TOUCHED,
    is_all_its_own,
)

# So many queues may have to be laid anew for one change, where jobs wait for other crews.
MOST_LAID = 8


@compiled
def tried(
    numbers: Numbers, now: Plan, trial: Plan, changed: Whole, most: float, missing: Whole
) -> float:
    """Lay the queues that are changed; return what the plan costs then, infinity for too much.

    `missing` tells which hardening nobody has asked for yet, where that is why it is given up.
    """
    is_alone = is_all_its_own(numbers, changed)
    spent, left = _before(numbers, now, trial, changed, is_alone)
    for step in range(2 * len(now.size)):
        crew = step % len(now.size)
        # Where a queue gets longer the change is the likelier to cost too much.
        is_due = (changed[crew, LONGER] == 1) == (step < len(now.size))
        if changed[crew, FIRST] != NONE and is_due:
            before = trial.turns[crew, changed[crew, FIRST] - 1].cost
            left -= least_behind(now, crew, changed[crew, FIRST])
            limit = most - spent - max(0.0, left) + before
            if not _lay(numbers, now, trial, changed, crew, limit, is_alone, missing):
                return math.inf
            spent += trial.turns[crew, trial.size[crew]].cost - before
    if numbers.work.has_links:
        spent = _mended(numbers, now, trial, changed, most, spent, missing)
    spent += rent_of(numbers, trial)
    return spent if spent <= most else math.inf


@compiled
def _before(
    numbers: Numbers, now: Plan, trial: Plan, changed: Whole, is_alone: bool
) -> tuple[float, float]:
    """Clear what is to be laid anew; return what all else costs, and about what comes to it."""
    spent, left = 0.0, 0.0
    for crew in range(len(now.size)):
        first = changed[crew, FIRST]
        if first == NONE:
            spent += now.turns[crew, now.size[crew]].cost
            continue
        spent += now.turns[crew, first - 1].cost
        left += least_behind(now, crew, first)
        if not is_alone:
            changed[crew, TOUCHED] = max(now.size[crew], trial.size[crew])
            bring_back(numbers, now, crew, first, trial.outs)
    return spent, left


@compiled
def _mended(
    numbers: Numbers,
    now: Plan,
    trial: Plan,
    changed: Whole,
    most: float,
    spent: float,
    missing: Whole,
) -> float:
    """Lay anew what begins before what it waits for is over; return the costs, as `tried`."""
    for _ in range(MOST_LAID):
        crew, turn = _too_soon(numbers, now, trial, changed, missing)
        if missing[HARDENING] != NONE:
            break
        if crew == NONE:
            return spent
        changed[crew, TOUCHED] = max(now.size[crew], trial.size[crew])
        bring_back(numbers, trial, crew, turn, trial.outs)
        spent -= trial.turns[crew, trial.size[crew]].cost
        changed[crew, FIRST], changed[crew, BEHIND] = turn, NEVER
        changed[crew, LONGER] = NONE
        is_little = _lay(numbers, now, trial, changed, crew, most - spent, False, missing)
        changed[crew, FIRST] = 1
        if not is_little:
            break
        spent += trial.turns[crew, trial.size[crew]].cost
    return math.inf


@compiled
def cost_of(numbers: Numbers, plan: Plan) -> float:
    """Return what a plan comes to, in late days."""
    cost = rent_of(numbers, plan)
    for crew in range(len(plan.size)):
        cost += plan.turns[crew, plan.size[crew]].cost
    return cost


@compiled
def rent_of(numbers: Numbers, plan: Plan) -> float:
    """Return what machines beyond the firm's own come to, in late days."""
    fleets, minutes = numbers.fleets, 0
    for machine in range(len(fleets.machines)):
        if fleets.machines[machine].rent == 0:
            continue
        for day in range(plan.outs.shape[2]):
            users, stood = 0, 0
            for crew in range(len(plan.size)):
                users += 1 if plan.outs[machine, crew, day] > 0 else 0
                stood += 1 if fleets.taken[machine, crew, day] > 0 else 0
            owned = fleets.machines[machine].owned
            minutes += (max(0, users - owned) - max(0, stood - owned)) * fleets.machines[
                machine
            ].rent
    return minutes * MINUTE


@compiled
def _lay(
    numbers: Numbers,
    now: Plan,
    trial: Plan,
    changed: Whole,
    crew: int,
    most: float,
    is_alone: bool,
    missing: Whole,
) -> bool:
    """Lay a crew's queue from where it differs; say whether it costs no more than it may."""
    first, behind = changed[crew, FIRST], changed[crew, BEHIND]
    size, shift = trial.size[crew], now.size[crew] - trial.size[crew]
    at_least = max(0.0, least_behind(now, crew, behind + shift)) if behind <= size else 0.0
    if numbers.work.has_links:
        for turn in range(first, size + 1):
            trial.ends[trial.turns[crew, turn].visit] = NEVER
    for turn in range(first, size + 1):
        _lay_turn(numbers, trial, crew, turn, is_alone, missing)
        changed[crew, TOUCHED] = max(changed[crew, TOUCHED], turn)
        old = _turn_before(now, trial, changed, crew, turn)
        if old != NONE:
            enough = most - trial.turns[crew, turn].cost
            at_least = still_comes(now, trial, crew, turn, old, is_alone, enough)
        if missing[HARDENING] != NONE or trial.turns[crew, turn].cost + at_least > most:
            return False
        is_rest = turn >= behind and _is_as_before(now, trial, crew, first, turn, old)
        if is_rest and (is_alone or _is_free(numbers, now, trial, crew, old)):
            changed[crew, TOUCHED] = max(changed[crew, TOUCHED], size)
            _go_on(numbers, now, trial, crew, turn, shift, is_alone)
            break
    return bool(trial.turns[crew, size].cost <= most)


@compiled
def _turn_before(now: Plan, trial: Plan, changed: Whole, crew: int, turn: int) -> int:
    """Return which turn a turn was before, if what came behind it still does or left the crew."""
    if turn >= changed[crew, BEHIND]:
        return int(turn + now.size[crew] - trial.size[crew])
    visit = trial.turns[crew, turn].visit
    is_between_crews = changed[crew, LONGER] != NONE
    return int(now.turn_of[visit]) if is_between_crews and now.crew_of[visit] == crew else NONE


@compiled
def _lay_turn(
    numbers: Numbers, trial: Plan, crew: int, turn: int, is_alone: bool, missing: Whole
) -> None:
    visit = trial.turns[crew, turn].visit
    moment = ready_from(numbers, trial, visit, missing)
    if moment >= NEVER or missing[HARDENING] != NONE:
        put_nowhere(numbers, trial, crew, turn)
        return
    lines = numbers.lines
    is_in_plan = moment < lines.first_from.shape[1]
    soonest = lines.first_from[crew, moment] if is_in_plan else NEVER
    place = fit(numbers, trial, crew, turn, max(trial.turns[crew, turn - 1].over, soonest))
    if place < NEVER:
        put(numbers, trial, crew, turn, place)
        if not is_alone:
            take_out(numbers, trial, crew, turn, trial.outs)
    else:
        put_nowhere(numbers, trial, crew, turn)


@compiled
def ready_from(numbers: Numbers, plan: Plan, visit: int, missing: Whole) -> int:
    """Return in real time from when a visit may begin by what it waits for."""
    work, moment = numbers.work, 0
    for place in range(work.waits.shape[1]):
        earlier = work.waits[visit, place]
        if earlier == NONE:
            break
        end = plan.ends[earlier]
        if end >= NEVER:
            return NEVER
        hardening = work.hardens[visit, place, plan.crew_of[earlier]]
        if hardening != NONE:
            hard = work.hard[hardening, end]
            if hard == UNKNOWN:
                missing[HARDENING], missing[MOMENT] = hardening, end
                return NEVER
            end = hard
        moment = max(moment, end)
    return moment


@compiled
def _is_as_before(now: Plan, trial: Plan, crew: int, first: int, turn: int, old: int) -> bool:
    """Say whether everything behind a turn is as it was."""
    if (
        trial.turns[crew, turn].place != now.turns[crew, old].place
        or trial.turns[crew, turn].over != now.turns[crew, old].over
        or trial.turns[crew, turn].site != now.turns[crew, old].site
        or trial.turns[crew, turn].worked != now.turns[crew, old].worked
        or trial.turns[crew, turn].way_min != now.turns[crew, old].way_min
        or trial.turns[crew, turn].known != now.turns[crew, old].known
        or trial.turns[crew, turn].first != now.turns[crew, old].first
    ):
        return False
    for earlier in range(first, turn):
        visit = trial.turns[crew, earlier].visit
        if trial.ends[visit] != now.ends[visit]:
            return False
    return True


@compiled
def _is_free(numbers: Numbers, now: Plan, trial: Plan, crew: int, old: int) -> bool:
    """Say whether what a crew uses behind a turn is not out with others meanwhile."""
    for later in range(old + 1, now.size[crew] + 1):
        visit, place = now.turns[crew, later].visit, now.turns[crew, later].place
        if place != NONE and machine_back(numbers, trial, crew, visit, place) != place:
            return False
    return True


@compiled
def _go_on(
    numbers: Numbers, now: Plan, trial: Plan, crew: int, turn: int, shift: int, is_alone: bool
) -> None:
    """Let the turns behind one lie as they did."""
    more = trial.turns[crew, turn].cost - now.turns[crew, turn + shift].cost
    worse = trial.turns[crew, turn].trouble - now.turns[crew, turn + shift].trouble
    for later in range(turn + 1, trial.size[crew] + 1):
        visit = now.turns[crew, later + shift].visit
        trial.turns[crew, later] = now.turns[crew, later + shift]
        trial.turns[crew, later].cost += more
        trial.turns[crew, later].trouble += worse
        trial.ends[visit] = now.ends[visit]
        if not is_alone:
            take_out(numbers, trial, crew, later, trial.outs)


@compiled
def _too_soon(
    numbers: Numbers, now: Plan, trial: Plan, changed: Whole, missing: Whole
) -> tuple[int, int]:
    """Return the crew and turn of a visit that begins before what it waits for is over."""
    work = numbers.work
    for crew in range(len(now.size)):
        if changed[crew, FIRST] == NONE:
            continue
        for turn in range(1, trial.size[crew] + 1):
            visit = trial.turns[crew, turn].visit
            for number in range(work.followers.shape[1]):
                follower = work.followers[visit, number]
                if follower == NONE:
                    break
                other = trial.crew_of[follower]
                at = turn_of(trial, other, follower)
                if trial.turns[other, at].place == NONE:
                    continue
                begins = numbers.lines.places[other, trial.turns[other, at].place].begins
                if begins < ready_from(numbers, trial, follower, missing):
                    return other, at
    return NONE, NONE


@compiled
def turn_of(plan: Plan, crew: int, visit: int) -> int:
    """Return the turn of a visit in its crew's queue, 0 where it is not in it."""
    for turn in range(1, plan.size[crew] + 1):
        if plan.turns[crew, turn].visit == visit:
            return turn
    return 0
