"""What two jobs that change their places would come to is seen before anything is laid."""

import pytest

from scheduling.engine.planner.fitting import BROKEN, UNPLACED
from scheduling.engine.planner.lines import Line, Stretch
from scheduling.engine.planner.outlook import would_differ
from scheduling.engine.planner.problem import Choice, Laid, Order, Problem, Visit
from scheduling.engine.planner.search import Search
from scheduling.engine.planner.work_tables import Tables

DAYS = 12


def would_cost(*, due_day: int | None, promised_day: int | None = None, last: int = 88) -> float:
    """Return what it would cost to let a job of the first day change with one of the tenth."""
    lines = {
        key: Line(
            Stretch(begins=24 * day, length=8, day=day, room_min=480.0) for day in range(DAYS)
        )
        for key in ("a", "b")
    }

    def order(key: str, starts: tuple[int, int], due: int | None, promised: int | None) -> Order:
        choices = tuple(Choice(crew=crew, length=8, starts=(starts,)) for crew in lines)
        visit = Visit(choices=choices)
        return Order(key=key, visits=(visit,), due_day=due, promised_day=promised)

    orders = (order("early", (0, last), due_day, promised_day), order("late", (0, 88), None, None))
    problem = Problem(lines=lines, orders=orders, unit_min=60)
    draft = {
        "early": (Laid(crew="a", place=0, length=8),),
        "late": (Laid(crew="b", place=72, length=8),),
    }
    search = Search(Tables(problem), draft, 0)
    now, _ = search.plans
    return would_differ(search.numbers, now, 0, 1)


def test_days_late_by_the_change_count_but_for_one_that_may_be_won() -> None:
    assert would_cost(due_day=3) == pytest.approx(9 - 3 - 1)
    assert would_cost(due_day=9) == 0
    assert would_cost(due_day=None) == 0


def test_promise_broken_by_the_change_counts() -> None:
    assert would_cost(due_day=None, promised_day=3) == pytest.approx(BROKEN)
    assert would_cost(due_day=None, promised_day=8) == 0


def test_job_that_may_not_begin_so_late_counts_as_without_a_place() -> None:
    assert would_cost(due_day=None, last=40) == pytest.approx(UNPLACED)
    assert would_cost(due_day=None, last=72) == 0
