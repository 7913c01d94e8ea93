"""What no plan can be under, told from each job by itself: at once, and with no solver.

It holds for plans in which every job has its place. The solver's bounds may be higher.
"""

import math
from collections.abc import Iterator
from dataclasses import replace

from scheduling.engine.planner.figures import Figures, is_broken, last_day, late_days, start_day
from scheduling.engine.planner.laying import Laying
from scheduling.engine.planner.problem import Laid, Order, Problem

# Beyond so many days it would take longer than it is worth.
MOST_DAYS = 400
NOTHING = Figures(unplaced=0, broken=0, late_days=0, minutes=0, span_days=0, end_days=0)


def floors(problem: Problem) -> Figures:
    """Return for each aim what a plan with every job in it comes to at the least."""
    if any(len(line.stretches) > MOST_DAYS for line in problem.lines.values()):
        return replace(NOTHING, minutes=min(0, _least_beside_fixed(problem)))
    alone = replace(
        problem, orders=tuple(replace(one, after=()) for one in problem.orders), drive_min={}
    )
    broken = late = span = end = 0
    for order in alone.orders:
        ways = list(_ways(alone, order))
        if not ways:
            continue
        broken += all(is_broken(alone, order, mine) for mine in ways)
        late += min(late_days(alone, order, mine) for mine in ways)
        span += min(_span(alone, mine) for mine in ways)
        end += min(last_day(alone, mine) for mine in ways)
    return Figures(
        unplaced=0,
        broken=broken,
        late_days=late,
        minutes=_least_minutes(problem),
        span_days=span,
        end_days=end,
    )


def _span(problem: Problem, mine: tuple[Laid, ...]) -> int:
    return last_day(problem, mine) - start_day(problem.lines[mine[0].crew], mine[0])


def _ways(problem: Problem, order: Order) -> Iterator[tuple[Laid, ...]]:
    """Yield a job's visits as early as may be after each day on which it can begin, alone.

    Drives are left aside, and so are machines that others have.
    """
    laying = Laying(problem)
    for choice in order.visits[0].choices:
        line = problem.lines[choice.crew]
        days = {line.index_of_start(low) for low, _ in choice.starts}
        for place in sorted(line.at[index] for index in days):
            if laying.lay_next(order, choice.crew, place=place):
                yield from _ways_on(laying, order)
                laying.undo_last(order.key)


def _ways_on(laying: Laying, order: Order) -> Iterator[tuple[Laid, ...]]:
    """Yield a job's later visits as early as may be, by every crew that may make them."""
    mine = laying.laid[order.key]
    if len(mine) == len(order.visits):
        yield tuple(mine)
        return
    for choice in order.visits[len(mine)].choices:
        if order.has_one_crew and choice.crew != mine[0].crew:
            continue
        if laying.lay_next(order, choice.crew):
            yield from _ways_on(laying, order)
            laying.undo_last(order.key)


def _least_minutes(problem: Problem) -> int:
    """Return the minutes that crews drive at the least.

    To each stop of a day leads one way, from the nearest place at best; so many days as the work
    fills begin at the yard and end there.
    """
    if not problem.drive_min or any(line.has_stops for line in problem.lines.values()):
        return _least_beside_fixed(problem)
    stretches = [one for line in problem.lines.values() for one in line.stretches]
    longest = max((one.length for one in stretches), default=1)
    work = ways_in = 0
    from_yard: list[int] = []
    home: list[int] = []
    places = ["", *(one.key for one in problem.orders)]
    for order in problem.orders:
        nearest = min(problem.drive(other, order.key) for other in places if other != order.key)
        for number, visit in enumerate(order.visits):
            length = min(choice.length for choice in visit.choices)
            days = math.ceil(length / longest)
            work += length
            ways_in += nearest * (days if _is_apart(problem, order, number) else days - 1)
            # Begun late in a day it may take one more.
            from_yard += [problem.drive("", order.key) - nearest] * (days + 1)
            home += [problem.drive(order.key, "")] * (days + 1)
    trips = math.ceil(work / longest)
    return ways_in + sum(sorted(from_yard)[:trips]) + sum(sorted(home)[:trips])


def _least_beside_fixed(problem: Problem) -> int:
    """Return the least of what is driven more than for what stands fixed: none, or below that.

    No way is known to a site without a place: between two stops it saves that from one to the
    other.
    """
    if all(("", one.key) in problem.drive_min for one in problem.orders):
        return 0
    stretches = (one for line in problem.lines.values() for one in line.stretches)
    return -sum(problem.drive(one.before, one.after) for one in stretches)


def _is_apart(problem: Problem, order: Order, number: int) -> bool:
    """Say whether a visit never begins where the crew is already, on the day of the one before."""
    if not number:
        return True
    for choice in order.visits[number - 1].choices:
        ready = choice.ready.get(number)
        line = problem.lines[choice.crew]
        if ready is None or any(
            moment <= one.ends
            for moment, one in zip(ready.soonest(line), line.stretches, strict=True)
        ):
            return False
    return True
