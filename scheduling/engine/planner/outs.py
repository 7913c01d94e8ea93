"""Which machines crews have out on which days, counted as visits are laid and taken away."""

from scheduling.engine.planner.compiling import compiled
from scheduling.engine.planner.fitting import Plan
from scheduling.engine.planner.tables import NONE, Numbers, Whole


@compiled
def take_out(numbers: Numbers, plan: Plan, crew: int, turn: int, outs: Whole) -> None:
    """Count what the visit of a turn has out."""
    work, lines = numbers.work, numbers.lines
    place, visit = plan.turns[crew, turn].place, plan.turns[crew, turn].visit
    if place == NONE:
        return
    for use in range(work.uses.shape[2]):
        machine = work.uses[crew, visit, use].machine
        if machine != NONE:
            begins = place + work.uses[crew, visit, use].offset
            last = begins + work.uses[crew, visit, use].length - 1
            for index in range(
                lines.places[crew, begins].index, lines.places[crew, last].index + 1
            ):
                outs[machine, crew, lines.stretches[crew, index].day] += 1


@compiled
def bring_back(numbers: Numbers, plan: Plan, crew: int, first: int, outs: Whole) -> None:
    """Count what a crew has out without the visits from a turn on.

    From the day on which the first of them begins it is counted anew, which is quicker than to
    bring back each.
    """
    turn = first
    while turn <= plan.size[crew] and plan.turns[crew, turn].place == NONE:
        turn += 1
    if turn > plan.size[crew]:
        return
    day = _day_of(numbers, crew, plan.turns[crew, turn].place)
    turn = first
    while turn > 1:
        over, place = plan.turns[crew, turn - 1].over, plan.turns[crew, turn - 1].place
        if over == 0 or _day_of(numbers, crew, over - 1) < day:
            break
        turn -= 1
        day = min(day, _day_of(numbers, crew, place)) if place != NONE else day
    for machine in range(outs.shape[0]):
        for later in range(day, outs.shape[2]):
            outs[machine, crew, later] = numbers.fleets.taken[machine, crew, later]
    for mine in range(turn, first):
        take_out(numbers, plan, crew, mine, outs)


@compiled
def _day_of(numbers: Numbers, crew: int, place: int) -> int:
    return int(numbers.lines.stretches[crew, numbers.lines.places[crew, place].index].day)
