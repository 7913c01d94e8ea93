"""Small changes of a queue: which way a visit goes."""

import numpy as np
import pytest

from scheduling.engine.planner.chance import begun_from
from scheduling.engine.planner.lines import Line, Stretch
from scheduling.engine.planner.moving import move
from scheduling.engine.planner.problem import Choice, Laid, Order, Problem, Visit
from scheduling.engine.planner.search import Search
from scheduling.engine.planner.tables import NONE
from scheduling.engine.planner.trials import COLUMNS, give_up
from scheduling.engine.planner.work_tables import Tables

DAYS, MIDDLE, CHANGES = 12, 5, 200


def turns_after(forward: float) -> list[int]:
    """Return the turns that a job takes by changes about it, of the eleven jobs of one crew."""
    line = Line(Stretch(begins=24 * day, length=8, day=day) for day in range(DAYS))
    visit = Visit(choices=(Choice(crew="a", length=8, starts=((0, line.length - 8),)),))
    orders = tuple(Order(key=f"job {number}", visits=(visit,)) for number in range(DAYS - 1))
    draft = {
        one.key: (Laid(crew="a", place=8 * number, length=8),) for number, one in enumerate(orders)
    }
    search = Search(Tables(Problem(lines={"a": line}, orders=orders, unit_min=60)), draft, 0)
    now, trial = search.plans
    changed, draws = np.full((1, COLUMNS), NONE, np.int32), begun_from(7)
    found = []
    for _ in range(CHANGES):
        if move(search.numbers, now, trial, changed, MIDDLE, forward, 0.0, draws):
            (turn,) = (n for n in range(1, DAYS) if trial.turns[0, n].visit == MIDDLE)
            found.append(turn)
            give_up(search.numbers, now, trial, changed)
    assert now.turn_of[MIDDLE] == MIDDLE + 1
    return found


@pytest.mark.parametrize("forward", [0.0, 0.65, 1.0])
def test_visit_goes_forward_as_often_as_asked_for(forward: float) -> None:
    turns = turns_after(forward)

    assert len(turns) > CHANGES / 2
    assert MIDDLE + 1 not in turns
    assert min(turns) < 3 or forward == 0.0
    assert max(turns) > 9 or forward == 1.0
    share = sum(turn < MIDDLE + 1 for turn in turns) / len(turns)
    # Within four standard errors of a share of so many draws: none for never and always.
    assert share == pytest.approx(forward, abs=4 * (forward * (1 - forward) / len(turns)) ** 0.5)
