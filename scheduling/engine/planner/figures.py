"""What a plan comes to, counted from the plan alone: no solver is believed."""

import itertools
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from scheduling.engine.planner.laying import use_days
from scheduling.engine.planner.lines import Line
from scheduling.engine.planner.problem import Draft, Laid, Order, Problem


@dataclass(frozen=True, kw_only=True, order=True, slots=True)
class Figures:
    """A plan's worth, the weightiest first; less is better.

    `unplaced` jobs, promises `broken`, `late_days` over all jobs, `minutes` of driving with rented
    days and moves counted as driving, `span_days` from each job's first day to
    its last, and `end_days`, the day each is finished counted from the plan's first.
    """

    unplaced: int
    broken: int
    late_days: int
    minutes: int
    span_days: int
    end_days: int


def figures_of(problem: Problem, draft: Draft) -> Figures:
    """Return what a plan comes to."""
    placed = [(one, draft[one.key]) for one in problem.orders if one.key in draft]
    return Figures(
        unplaced=len(problem.orders) - len(placed),
        broken=sum(is_broken(problem, order, mine) for order, mine in placed),
        late_days=sum(late_days(problem, order, mine) for order, mine in placed),
        minutes=_drive(problem, draft) + _rent(problem, placed) + _moves(problem, placed),
        span_days=sum(_span_days(problem, mine) for _, mine in placed),
        end_days=sum(last_day(problem, mine) for _, mine in placed),
    )


def last_day(problem: Problem, mine: tuple[Laid, ...]) -> int:
    """Return the day on which a job is finished."""
    return _end_day(problem.lines[mine[-1].crew], mine[-1])


def late_days(problem: Problem, order: Order, mine: tuple[Laid, ...]) -> int:
    """Return how many days after its day a job is finished."""
    if order.due_day is None:
        return 0
    return max(0, last_day(problem, mine) - order.due_day)


def is_broken(problem: Problem, order: Order, mine: tuple[Laid, ...]) -> bool:
    return order.promised_day is not None and last_day(problem, mine) > order.promised_day


def start_day(line: Line, one: Laid) -> int:
    """Return the day on which a visit begins."""
    return line.stretches[line.index_of_start(one.place)].day


def _end_day(line: Line, one: Laid) -> int:
    return line.stretches[line.index_of_end(one.over)].day


def _span_days(problem: Problem, mine: tuple[Laid, ...]) -> int:
    return last_day(problem, mine) - start_day(problem.lines[mine[0].crew], mine[0])


def _drive(problem: Problem, draft: Draft) -> int:
    """Return the minutes that crews drive more than for what stands fixed."""
    if not problem.drive_min:
        return 0
    stops: dict[tuple[str, int], list[tuple[int, str]]] = defaultdict(list)
    for key, mine in draft.items():
        for one in mine:
            line = problem.lines[one.crew]
            for piece in line.pieces(one.place, one.length):
                stops[one.crew, piece.index].append((piece.begins, key))
    minutes = 0
    for (crew, index), sites in stops.items():
        stretch = problem.lines[crew].stretches[index]
        way = [stretch.before, *(key for _, key in sorted(sites)), stretch.after]
        minutes += sum(problem.drive(*leg) for leg in itertools.pairwise(way))
        minutes -= problem.drive(stretch.before, stretch.after)
    return minutes


def _rent(problem: Problem, placed: Iterable[tuple[Order, tuple[Laid, ...]]]) -> int:
    users: dict[tuple[str, int], set[str]] = defaultdict(set)
    for order, mine in placed:
        for visit, one in zip(order.visits, mine, strict=True):
            for use in visit.choice(one.crew).uses:
                for day in use_days(problem.lines[one.crew], use, one.place):
                    users[use.machine, day].add(one.crew)
    total = 0
    for (machine, day), crews in users.items():
        fleet = problem.fleets[machine]
        taken = fleet.taken.get(day, frozenset())
        over = max(0, len(taken | crews) - fleet.owned) - max(0, len(taken) - fleet.owned)
        total += over * (fleet.rent or 0)
    return total


def _moves(problem: Problem, placed: Iterable[tuple[Order, tuple[Laid, ...]]]) -> int:
    moved = 0
    for order, mine in placed:
        for visit, one in zip(order.visits, mine, strict=True):
            at = one.crew, start_day(problem.lines[one.crew], one)
            moved += visit.shown is not None and visit.shown != at
    return moved * problem.move_min
