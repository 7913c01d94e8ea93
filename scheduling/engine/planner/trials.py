"""A trial: a plan that differs from another in some crews' queues, taken or given up again.

Between changes a trial is as the plan is, so that no more is copied than was written.
"""

from scheduling.engine.planner.compiling import compiled
from scheduling.engine.planner.fitting import Plan
from scheduling.engine.planner.outs import bring_back, take_out
from scheduling.engine.planner.tables import NONE, Numbers, Whole

# Columns of what a change is, by crew: from which turn on a queue differs, from which on it is as
# before again, up to which turn the trial was written, and whether it has more work than before,
# NONE where no other crew is part of the change.
FIRST, BEHIND, TOUCHED, LONGER = 0, 1, 2, 3
COLUMNS = 4
# Of what is not known: which hardening, of which moment.
HARDENING, MOMENT = 0, 1


@compiled
def is_all_its_own(numbers: Numbers, changed: Whole) -> bool:
    """Say whether one crew's queue is changed and nobody else has to know what it has out."""
    count = 0
    for crew in range(len(changed)):
        count += 1 if changed[crew, FIRST] != NONE else 0
    return count == 1 and not numbers.work.has_links and not numbers.fleets.has_rent


@compiled
def take(numbers: Numbers, now: Plan, trial: Plan, changed: Whole) -> None:
    """Go on from what was tried."""
    is_alone = is_all_its_own(numbers, changed)
    for crew in range(len(now.size)):
        first = changed[crew, FIRST]
        if first == NONE:
            continue
        if is_alone:
            bring_back(numbers, now, crew, first, trial.outs)
            for turn in range(first, trial.size[crew] + 1):
                take_out(numbers, trial, crew, turn, trial.outs)
        now.size[crew] = trial.size[crew]
        copy_turns(trial, now, crew, first, trial.size[crew] + 1)
        for turn in range(first, trial.size[crew] + 1):
            visit = trial.turns[crew, turn].visit
            now.crew_of[visit], now.ends[visit] = crew, trial.ends[visit]
            now.turn_of[visit] = turn
        _copy_outs(trial, now, crew)
        changed[crew, FIRST] = NONE


@compiled
def give_up(numbers: Numbers, now: Plan, trial: Plan, changed: Whole) -> None:
    """Let a trial be as the plan is again."""
    is_alone = is_all_its_own(numbers, changed)
    for crew in range(len(now.size)):
        first = changed[crew, FIRST]
        if first == NONE:
            continue
        trial.size[crew] = now.size[crew]
        last = min(now.size[crew], changed[crew, TOUCHED])
        copy_turns(now, trial, crew, first, last + 1)
        for turn in range(first, last + 1):
            visit = now.turns[crew, turn].visit
            trial.crew_of[visit], trial.ends[visit] = crew, now.ends[visit]
        if not is_alone:
            _copy_outs(now, trial, crew)
    for crew in range(len(now.size)):
        changed[crew, FIRST] = NONE


@compiled
def put_back(now: Plan, trial: Plan, changed: Whole, crew: int) -> None:
    """Let the turns of a crew that only change their order be as they are in the plan again."""
    for turn in range(changed[crew, FIRST], changed[crew, BEHIND]):
        visit = now.turns[crew, turn].visit
        trial.turns[crew, turn].visit, trial.ends[visit] = visit, now.ends[visit]
    changed[crew, FIRST] = NONE


@compiled
def copy_rest(one: Plan, other: Plan) -> None:
    """Copy what a plan has beside its turns to another."""
    for crew in range(len(one.size)):
        other.size[crew] = one.size[crew]
    for visit in range(len(one.crew_of)):
        other.crew_of[visit] = one.crew_of[visit]
        other.turn_of[visit] = one.turn_of[visit]
        other.ends[visit] = one.ends[visit]
    for machine in range(one.outs.shape[0]):
        for crew in range(one.outs.shape[1]):
            for day in range(one.outs.shape[2]):
                other.outs[machine, crew, day] = one.outs[machine, crew, day]


@compiled
def copy_turns(one: Plan, other: Plan, crew: int, first: int, behind: int) -> None:
    """Copy some turns of a crew from one plan to another."""
    for turn in range(first, behind):
        other.turns[crew, turn] = one.turns[crew, turn]


@compiled
def _copy_outs(one: Plan, other: Plan, crew: int) -> None:
    for machine in range(one.outs.shape[0]):
        for day in range(one.outs.shape[2]):
            other.outs[machine, crew, day] = one.outs[machine, crew, day]


@compiled
def keep(now: Plan, best: Plan) -> None:
    """Keep a plan as it is."""
    copy_rest(now, best)
    for crew in range(len(now.size)):
        copy_turns(now, best, crew, 0, now.size[crew] + 1)
