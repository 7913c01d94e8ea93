"""Plans made at once, bettered step by step, and what no plan can be under."""

import itertools
import random
import time

import pytest

from scheduling.engine.planner.dispatch import Dispatch, Manner
from scheduling.engine.planner.figures import figures_of
from scheduling.engine.planner.floors import floors
from scheduling.engine.planner.hardening import Hardening
from scheduling.engine.planner.improving import Improving, searches_on
from scheduling.engine.planner.lines import Line, Stretch
from scheduling.engine.planner.problem import Choice, Draft, Order, Problem, Visit
from scheduling.engine.planner.search import Search
from scheduling.engine.planner.solving import Limits, solve
from scheduling.engine.planner.work_tables import Tables

LINE = Line(Stretch(begins=24 * day, length=8, day=day) for day in range(20))
LAST = 160


def visit(length: int, first: int = 0, ready: dict[int, Hardening] | None = None) -> Visit:
    """Return a visit of crew a that may begin from a place on."""
    choice = Choice(crew="a", length=length, starts=((first, LAST - length),), ready=ready or {})
    return Visit(choices=(choice,))


def one_crew(*orders: Order, drive: dict[tuple[str, str], float] | None = None) -> Problem:
    return Problem(lines={"a": LINE}, orders=orders, drive_min=drive or {}, unit_min=60)


def test_crew_takes_what_is_due_first_among_what_it_may_begin() -> None:
    """Elm is due first but may begin a day later: Oak is done meanwhile, then Elm, then Ash."""
    problem = one_crew(
        Order(key="ash", visits=(visit(4),), due_day=9),
        Order(key="elm", visits=(visit(4, first=8),), due_day=2),
        Order(key="oak", visits=(visit(8),), due_day=3),
    )
    draft = Dispatch(problem).plan(Manner(patience=0))
    assert {key: mine[0].place for key, mine in draft.items()} == {"oak": 0, "elm": 8, "ash": 12}


def test_crew_waits_as_long_as_its_patience_for_what_is_more_urgent() -> None:
    problem = one_crew(
        Order(key="elm", visits=(visit(4, first=2),), due_day=1),
        Order(key="oak", visits=(visit(8),), due_day=3),
    )
    for patience, first in ((1, "oak"), (2, "elm")):
        draft = Dispatch(problem).plan(Manner(patience=patience))
        assert min(draft, key=lambda key: draft[key][0].place) == first


def test_job_that_waits_for_another_comes_behind_it() -> None:
    problem = one_crew(
        Order(key="elm", visits=(visit(4),), due_day=0, after=("oak",)),
        Order(key="oak", visits=(visit(8),), due_day=9),
    )
    draft = Dispatch(problem).plan(Manner())
    assert draft["elm"][0].place == draft["oak"][0].over == 8


@pytest.mark.parametrize("seed", range(6))
def test_search_finds_the_least_late_days_of_all_orders_of_work(seed: int) -> None:
    """Six jobs and one crew: every order of work is tried by hand, 720 of them."""
    draw = random.Random(seed)  # noqa: S311
    lengths = [draw.randint(3, 14) for _ in range(6)]
    due = [draw.randint(0, 5) for _ in range(6)]

    def late(order: tuple[int, ...]) -> int:
        over, days = 0, 0
        for number in order:
            over += lengths[number]
            days += max(0, (over - 1) // 8 - due[number])
        return days

    best = min(late(order) for order in itertools.permutations(range(6)))
    problem = one_crew(
        *(
            Order(key=f"job {number}", visits=(visit(length),), due_day=due[number])
            for number, length in enumerate(lengths)
        )
    )
    improving = Improving(problem, seed)
    before = improving.figures
    for _ in range(40):
        improving.step()
    assert improving.figures.late_days == best
    assert improving.figures <= before
    assert figures_of(problem, improving.draft) == improving.figures
    assert floors(problem).late_days <= best


def test_floor_of_a_job_is_what_it_comes_to_alone() -> None:
    """Set on one day, hung from hour 8 two days on at the soonest: 2 days from first to last.

    It can't begin before day 3, so it is over on day 5: a promise for day 4 is broken, and one
    day late for day 4.
    """
    ready = Hardening(lambda made: made // 24 * 24 + 48)
    order = Order(key="elm", visits=(visit(6, 24, {1: ready}), visit(4)), promised_day=4, due_day=4)
    least = floors(one_crew(order))
    assert (least.broken, least.late_days, least.span_days, least.end_days) == (1, 1, 2, 5)


def test_floor_of_driving_is_near_where_every_day_has_one_site() -> None:
    """Two sites 30 and 40 minutes from the yard, 50 apart, a day's work each: out and back."""
    sites = {("", "elm"): 30.0, ("elm", ""): 30.0, ("", "oak"): 40.0, ("oak", ""): 40.0}
    far = {("elm", "oak"): 50.0, ("oak", "elm"): 50.0}
    orders = (Order(key="elm", visits=(visit(8),)), Order(key="oak", visits=(visit(8),)))
    problem = one_crew(*orders, drive=sites | far)
    assert figures_of(problem, Dispatch(problem).plan(Manner())).minutes == 140
    # Both ways in from the yard, 30 + 40; home twice from the nearer one at the least.
    assert floors(problem).minutes == 30 + 40 + 30 + 30


def test_days_with_fixed_work_have_no_floor_of_driving() -> None:
    line = Line([Stretch(begins=0, length=8, day=0, stops_before=("ash",))])
    order = Order(
        key="elm", visits=(Visit(choices=(Choice(crew="a", length=2, starts=((0, 6),)),)),)
    )
    drive = {("", "elm"): 30.0, ("elm", ""): 30.0, ("ash", "elm"): 1.0, ("elm", "ash"): 1.0}
    problem = Problem(lines={"a": line}, orders=(order,), drive_min=drive, unit_min=60)
    assert floors(problem).minutes == 0


def test_search_goes_on_from_a_worse_plan_while_it_is_hot_and_keeps_the_best() -> None:
    """Too much is due too soon: some plans it goes on from are worse than the one before."""
    orders = [Order(key=f"job {n}", visits=(visit(5 + n), visit(4)), due_day=n) for n in range(8)]
    for cooled, is_hot in ((0.0, True), (1.0, False)):
        improving = Improving(one_crew(*orders), 1)
        went_up, best = False, improving.figures
        for _ in range(100):
            before = improving.cost
            improving.step(cooled=cooled)
            went_up |= improving.cost > before + 1e-9
            assert improving.figures <= best
            best = improving.figures
        assert went_up == is_hot


@pytest.mark.parametrize(
    ("cores", "searches"), [(None, 2), (1, 2), (2, 2), (3, 2), (4, 3), (5, 4), (64, 4)]
)
def test_more_cores_make_more_searches_and_leave_one_for_all_else(
    cores: int | None, searches: int
) -> None:
    assert searches_on(cores) == searches


def test_many_searches_better_one_plan(monkeypatch: pytest.MonkeyPatch) -> None:
    """By urgency Elm, which takes five days, comes first and makes both others four days late.

    With both on the first day it is Elm that is late, by five days.
    """
    begun = []

    class Counted(Search):
        def __init__(self, tables: Tables, draft: Draft, seed: int) -> None:
            super().__init__(tables, draft, seed)
            begun.append(seed)

    monkeypatch.setattr("scheduling.engine.planner.search.Search", Counted)
    monkeypatch.setattr("os.sched_getaffinity", lambda process: range(8), raising=False)
    problem = one_crew(
        Order(key="ash", visits=(visit(4),), due_day=1),
        Order(key="elm", visits=(visit(40),), due_day=0),
        Order(key="oak", visits=(visit(4),), due_day=1),
    )
    improving = Improving(problem, 0)
    assert improving.figures.late_days == 4 + 4 + 4
    assert improving.step(cooled=0.5)
    assert len(set(begun)) == 4
    assert improving.figures.late_days == 5


def test_bound_of_driving_holds_where_a_site_without_a_place_lies_between_two_stops() -> None:
    """No way is known to Oak: on the one day there is, it takes that from Elm home, 40 minutes."""
    line = Line([Stretch(begins=0, length=8, day=0, stops_before=("elm",))])
    half_a_day = Choice(crew="a", length=4, starts=((0, 4),))
    problem = Problem(
        lines={"a": line},
        orders=(Order(key="oak", visits=(Visit(choices=(half_a_day,)),)),),
        drive_min={("", "elm"): 40.0, ("elm", ""): 40.0},
        unit_min=60,
    )
    solved = solve(problem, Limits(seconds=0.3), clock=time.monotonic)

    minutes = next(one for one in solved.stages if one.name == "minutes")
    assert (minutes.value, minutes.bound) == (-40, -40)
