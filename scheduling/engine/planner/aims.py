"""What makes one plan better than another, in the order of weight, as the solver counts it."""

from collections.abc import Callable
from typing import Any

from scheduling.engine.planner.lines import Line
from scheduling.engine.planner.model import At, Model
from scheduling.engine.planner.problem import Choice, Order

# With how many near sites a site may share a day in the solver's count of drives.
NEAR = 3


def unplaced(model: Model) -> Any:
    """Return how many jobs have no place."""
    return sum(1 - placed for placed in model.placed.values())


def broken(model: Model) -> Any:
    """Return how many promises are broken."""
    found = []
    for order in model.problem.orders:
        if order.promised_day is None:
            continue
        is_broken = model.cp.new_bool_var("")
        found.append(is_broken)
        for at in _known(model, model.last_of(order)):
            line = model.problem.lines[at[2]]
            in_time = sum(1 for one in line.stretches if one.day <= order.promised_day)
            model.cp.add(model.over(at) <= line.at[in_time]).only_enforce_if(
                [model.chosen[at], ~is_broken]
            )
    return sum(found)


def late_days(model: Model) -> Any:
    """Return how many days jobs are late, all added up."""
    return sum(_late(model, order) for order in model.problem.orders if order.due_day is not None)


def minutes(model: Model) -> Any:
    """Return the minutes of driving, with rented days and moves counted as driving."""
    drives = [_drive(model, at) for at in model.starts]
    return sum(drives) - sum(_savings(model)) + sum(_moves(model)) + sum(_rents(model))


def span_days(model: Model) -> Any:
    """Return the days from each job's first to its last, all added up."""
    found = []
    for order in model.problem.orders:
        span = model.cp.new_int_var(0, _days(model), "")
        found.append(span)
        for first in _known(model, model.crews_of(order.key, 0)):
            for last in _known(model, model.last_of(order)):
                if order.has_one_crew and first[2] != last[2]:
                    continue
                days = _day(model, last, of_end=True) - _day(model, first, of_end=False)
                both = [model.chosen[first], model.chosen[last]]
                model.cp.add(span >= days).only_enforce_if(both)
    return sum(found)


def end_days(model: Model) -> Any:
    """Return the days on which jobs are finished, all added up."""
    found = []
    for order in model.problem.orders:
        end = model.cp.new_int_var(0, _days(model), "")
        found.append(end)
        for at in _known(model, model.last_of(order)):
            day = _day(model, at, of_end=True)
            model.cp.add(end >= day).only_enforce_if(model.chosen[at])
    return sum(found)


Aim = Callable[[Model], Any]
# By the names of figures.Figures.
AIMS: dict[str, Aim] = {
    "unplaced": unplaced,
    "broken": broken,
    "late_days": late_days,
    "minutes": minutes,
    "span_days": span_days,
    "end_days": end_days,
}


def _known(model: Model, choices: list[At]) -> list[At]:
    return [at for at in choices if at in model.starts]


def _days(model: Model) -> int:
    return max(
        (one.day for line in model.problem.lines.values() for one in line.stretches), default=0
    )


def _day(model: Model, at: At, *, of_end: bool) -> Any:
    """Return the day on which a visit begins or ends."""
    line = model.problem.lines[at[2]]
    index = model.index(at, of_end=of_end)
    if line.is_plain:
        return index + line.stretches[0].day
    return model.looked_up([one.day for one in line.stretches], index)


def _late(model: Model, order: Order) -> Any:
    due = order.due_day or 0
    late = model.cp.new_int_var(0, max(0, _days(model) - due), "")
    for at in _known(model, model.last_of(order)):
        line = model.problem.lines[at[2]]
        if line.is_plain:
            days = _day(model, at, of_end=True) - due
        else:
            table = [max(0, one.day - due) for one in line.stretches]
            days = model.looked_up(table, model.index(at, of_end=True))
        model.cp.add(late >= days).only_enforce_if(model.chosen[at])
    return late


def _drive(model: Model, at: At) -> Any:
    """Return the minutes a visit adds when each of its days is spent at this site alone."""
    job, _, crew = at
    problem, line = model.problem, model.problem.lines[crew]
    sums = [0]
    for one in line.stretches:
        there = problem.drive(one.before, job) + problem.drive(job, one.after)
        sums.append(sums[-1] + there - problem.drive(one.before, one.after))
    if not sums[-1]:
        return 0
    up_to = model.looked_up(sums[1:], model.index(at, of_end=True))
    before = model.looked_up(sums[:-1], model.index(at, of_end=False))
    minutes = model.cp.new_int_var(0, sums[-1], "")
    model.cp.add(minutes >= up_to - before).only_enforce_if(model.chosen[at])
    # Said apart it lifts the bound: whichever days it takes, it takes that many.
    model.cp.add(minutes >= _least(line, model.choice(at), sums) * model.chosen[at])
    return minutes


def _least(line: Line, choice: Choice, sums: list[int]) -> int:
    """Return the least minutes a visit adds, wherever it begins."""
    places = {
        place
        for low, high in choice.starts
        for index in range(line.index_of_start(low), line.index_of_start(high) + 1)
        for place in (max(low, line.at[index]), min(high, line.at[index + 1] - 1))
    }
    return min(
        sums[line.index_of_end(place + choice.length) + 1] - sums[line.index_of_start(place)]
        for place in places
    )


def _savings(model: Model) -> list[Any]:
    """Return what is saved where a crew goes from one site straight to a near one on a day."""
    problem = model.problem
    found: list[Any] = []
    from_here: dict[At, list[Any]] = {}
    to_there: dict[At, list[Any]] = {}
    near = _near(model)
    for at in model.starts:
        for other in model.starts:
            if at == other or at[2] != other[2] or other[0] not in near[at[0]]:
                continue
            saved = problem.drive(at[0], "") + problem.drive("", other[0])
            saved -= problem.drive(at[0], other[0])
            is_next = model.cp.new_bool_var("")
            from_here.setdefault(at, []).append(is_next)
            to_there.setdefault(other, []).append(is_next)
            model.cp.add_implication(is_next, model.chosen[at])
            model.cp.add_implication(is_next, model.chosen[other])
            ends, begins = model.index(at, of_end=True), model.index(other, of_end=False)
            model.cp.add(ends == begins).only_enforce_if(is_next)
            model.cp.add(model.starts[other] >= model.over(at)).only_enforce_if(is_next)
            found.append(saved * is_next)
    for pairs in (*from_here.values(), *to_there.values()):
        model.cp.add_at_most_one(pairs)
    return found


def _near(model: Model) -> dict[str, set[str]]:
    """Return for each job itself and the sites that save most on a shared day."""
    found = {}
    for one, saved in _saved(model).items():
        best = sorted((key for key in saved if saved[key] > 0), key=lambda key: -saved[key])
        # Between two visits of one job on a day there is no drive at all.
        found[one] = {one, *best[:NEAR]}
    return found


def _saved(model: Model) -> dict[str, dict[str, int]]:
    """Return for each job what going on to another on the same day saves, in minutes."""
    problem = model.problem
    keys = [one.key for one in problem.orders]
    return {
        one: {
            other: problem.drive(one, "") + problem.drive("", other) - problem.drive(one, other)
            for other in keys
            if other != one
        }
        for one in keys
    }


def counts_all_drives(model: Model) -> bool:
    """Say whether `minutes` counts all that shared days can save; only then does a bound hold.

    Where days have fixed work on them it counts ways by the yard that nobody drives.
    """
    if any(line.has_stops for line in model.problem.lines.values()):
        return False
    return all(
        sum(1 for each in saved.values() if each > 0) <= NEAR for saved in _saved(model).values()
    )


def _moves(model: Model) -> list[Any]:
    """Return what it counts to move visits that people were told of."""
    found = []
    for order in model.problem.orders:
        for number, visit in enumerate(order.visits):
            if visit.shown is None or not model.problem.move_min:
                continue
            moved = model.cp.new_bool_var("")
            found.append(model.problem.move_min * moved)
            for at in _known(model, model.crews_of(order.key, number)):
                if at[2] != visit.shown[0]:
                    model.cp.add(moved >= model.chosen[at])
                else:
                    day = _day(model, at, of_end=False)
                    model.cp.add(day == visit.shown[1]).only_enforce_if([model.chosen[at], ~moved])
    return found


def _rents(model: Model) -> list[Any]:
    """Return what machines beyond the firm's own count, day by day."""
    found: list[Any] = []
    for machine, fleet in model.problem.fleets.items():
        if fleet.rent is None:
            continue
        for day in range(_days(model) + 1):
            users = _users(model, machine, day)
            taken = fleet.taken.get(day, frozenset())
            free = max(0, fleet.owned - len(taken))
            if len(users) <= free:
                continue
            rented = model.cp.new_int_var(0, len(users), "")
            model.cp.add(rented >= sum(users) - free)
            found.append(fleet.rent * rented)
    return found


def _users(model: Model, machine: str, day: int) -> list[Any]:
    """Return for each crew that may need a machine on a day whether it does."""
    taken = model.problem.fleets[machine].taken.get(day, frozenset())
    found = []
    for crew, line in model.problem.lines.items():
        indexes = [index for index, one in enumerate(line.stretches) if one.day == day]
        if crew in taken or not indexes:
            continue
        uses = model.cp.new_bool_var("")
        found.append(uses)
        first, behind = line.at[indexes[0]], line.at[indexes[-1] + 1]
        uses_of_crew = (
            (at, use)
            for at in model.starts
            for use in model.choice(at).uses
            if at[2] == crew and use.machine == machine
        )
        for at, use in uses_of_crew:
            is_before = model.cp.new_bool_var("")
            begins = model.starts[at] + use.offset
            chosen = model.chosen[at]
            model.cp.add(begins + use.length <= first).only_enforce_if([chosen, ~uses, is_before])
            model.cp.add(begins >= behind).only_enforce_if([chosen, ~uses, ~is_before])
    return found
