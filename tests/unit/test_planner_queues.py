"""Queues of visits lie as the exact rules lay them and come to what a plan is counted to be."""

import math
import random
import subprocess
import sys

import pytest
from hypothesis import event, given, settings
from hypothesis import strategies as st

from scheduling.engine.planner.building import build
from scheduling.engine.planner.dispatch import Dispatch, Manner
from scheduling.engine.planner.figures import figures_of
from scheduling.engine.planner.fitting import BROKEN, END_DAY, MINUTE, SPAN_DAY, UNPLACED
from scheduling.engine.planner.hardening import Hardening
from scheduling.engine.planner.laying import Laying
from scheduling.engine.planner.lines import Line, Stretch
from scheduling.engine.planner.outs import take_out
from scheduling.engine.planner.problem import Choice, Draft, Fleet, Laid, Order, Problem, Use, Visit
from scheduling.engine.planner.search import Search
from scheduling.engine.planner.work_tables import Tables
from tests.bench.bench_planner import asked
from tests.unit.test_planner_properties import World, asked_of, open_jobs


def assert_lies_exactly(problem: Problem, draft: Draft) -> None:
    """Lay a plan again in the order of time: nothing may lie sooner than the rules allow."""
    laying = Laying(problem)
    visits = sorted(
        (problem.lines[one.crew].begins(one.place), number, key)
        for key, mine in draft.items()
        for number, one in enumerate(mine)
    )
    for _, number, key in visits:
        order, one = laying.orders[key], draft[key][number]
        choice = order.visits[number].choice(one.crew)
        assert problem.lines[one.crew].first_from(laying.ready_from(order)) <= one.place
        assert laying.earliest(key, choice, one.place) == one.place
        laying.put(key, choice, one.place)


def cost_of(problem: Problem, draft: Draft) -> float:
    """Return what a plan comes to, counted from the plan alone."""
    figures = figures_of(problem, draft)
    days = figures.span_days * SPAN_DAY + figures.end_days * END_DAY
    trouble = UNPLACED * figures.unplaced + BROKEN * figures.broken + figures.late_days
    return trouble + figures.minutes * MINUTE + days


def line_of(draw: random.Random, *, is_fixed: bool) -> Line:
    """Draw two weeks of a crew's days: some short, some with a slow crew, some partly fixed."""
    stretches = []
    for day in range(14):
        if day % 7 >= 5:
            continue
        length = draw.choice([8, 8, 8, 5])
        lasts = draw.choice([0, 0, length + 2])
        stops = draw.choice([(), (), ("site",), ("job 1",), ("site", "job 2")])
        before, after = draw.choice([(stops, ()), ((), stops)]) if is_fixed else ((), ())
        stretches.append(
            Stretch(
                begins=24 * day + draw.choice([0, 1]),
                length=length,
                lasts=lasts,
                day=day,
                stops_before=before,
                stops_after=after,
                room_min=60.0 * (max(length, lasts) + draw.choice([0, 0, 2])),
            )
        )
    return Line(stretches)


def order_of(draw: random.Random, number: int, lines: dict[str, Line], *, has_links: bool) -> Order:
    has_one_crew = not has_links or draw.random() < 0.7
    lengths = [draw.randint(2, 9) for _ in range(draw.randint(1, 3))]
    wait = draw.choice([20, 30, 60])
    hard = Hardening(lambda made: made + wait)
    visits = []
    for place, length in enumerate(lengths):
        uses = (Use(machine="auger", offset=1, length=1),) if place == 0 else ()
        ready = {len(lengths) - 1: hard} if place == 0 < len(lengths) - 1 else {}
        choices = []
        for key, line in lines.items():
            low = draw.choice([0, 0, 5, 20])
            high = line.length - length
            cut = draw.randint(low, high)
            starts = ((low, cut), (cut + 4, high)) if cut + 4 <= high else ((low, cut),)
            choices.append(Choice(crew=key, length=length, starts=starts, ready=ready, uses=uses))
        shown = draw.choice([None, ("a", draw.randint(0, 9))])
        visits.append(Visit(choices=tuple(choices), shown=shown))
    return Order(
        key=f"job {number}",
        visits=tuple(visits),
        has_one_crew=has_one_crew,
        promised_day=draw.choice([None, 5, 9]),
        due_day=draw.choice([None, 4, 8]),
        after=(f"job {number - 1}",) if has_links and number and draw.random() < 0.2 else (),
    )


def drawn_problem(draw: random.Random) -> Problem:
    """Draw more work than there is room for, with machines, fixed work, jobs in turn."""
    is_fixed = draw.random() < 0.5
    lines = {key: line_of(draw, is_fixed=is_fixed) for key in ("a", "b", "c")}
    # Only where no job waits for another crew is it foreseen what a change comes to.
    has_links = draw.random() < 0.5
    orders = tuple(
        order_of(draw, number, lines, has_links=has_links) for number in range(draw.randint(3, 14))
    )
    places = {key: (draw.uniform(0, 60), draw.uniform(0, 60)) for key in ["", "site"]}
    places |= {one.key: (draw.uniform(0, 60), draw.uniform(0, 60)) for one in orders}
    places |= {key: (30.0, draw.uniform(0, 60)) for key in ("job 1", "job 2")}
    drive = {
        (one, other): math.dist(places[one], places[other]) for one in places for other in places
    }
    taken = {draw.randint(0, 9): frozenset(draw.sample("abc", 1)) for _ in range(3)}
    rent = draw.choice([None, None, 90])
    fleet = Fleet(owned=draw.choice([1, 2]), rent=rent, taken=taken)
    return Problem(
        lines=lines,
        orders=orders,
        fleets={"auger": fleet},
        drive_min=drive,
        unit_min=60,
        move_min=45,
    )


@settings(max_examples=60)
@given(world=open_jobs(), seed=st.integers(0, 99))
def test_changed_queues_lie_and_cost_as_the_exact_rules_say(world: World, seed: int) -> None:
    met = check(build(asked_of(world)).problem, random.Random(seed))  # noqa: S311
    event(f"{met // 10 * 10} plans or more")


@settings(max_examples=60)
@given(seed=st.integers(0, 10**6))
def test_changed_queues_keep_to_machines_fixed_work_and_turns(seed: int) -> None:
    draw = random.Random(seed)  # noqa: S311
    event(f"{check(drawn_problem(draw), draw) // 10 * 10} plans or more")


def assert_in_step(search: Search) -> None:
    """Each visit is once in the queues, where it is said to be, and the trial is as the plan.

    What is out is what the visits use and what stands fixed.
    """
    now, trial = search.plans
    queues = [one[1 : size + 1] for one, size in zip(now.turns, now.size, strict=True)]
    tried = [one[1 : size + 1] for one, size in zip(trial.turns, trial.size, strict=True)]
    visits = sorted(int(turn.visit) for queue in queues for turn in queue)
    assert visits == list(range(len(now.crew_of)))
    for crew, (queue, other) in enumerate(zip(queues, tried, strict=True)):
        assert (queue == other).all()
        assert (now.crew_of[queue.visit] == crew).all()
        assert (now.turn_of[queue.visit] == range(1, len(queue) + 1)).all()
        assert (now.ends[queue.visit] == trial.ends[queue.visit]).all()
    assert (now.outs == trial.outs).all()
    outs = search.numbers.fleets.taken.copy()
    for crew, size in enumerate(now.size):
        for turn in range(1, size + 1):
            take_out(search.numbers, now, crew, turn, outs)
    assert (now.outs == outs).all()


def check(problem: Problem, draw: random.Random) -> int:
    """Change a plan a little and a little more: it always lies and costs as the rules say.

    Return how many plans were met.
    """
    search = Search(Tables(problem), Dispatch(problem).plan(Manner()), draw.randrange(10**6))
    drafts: list[Draft] = []
    for _ in range(40):
        search.changed(draw.choice([1, 5]), draw.choice([0.0, 1.0, 100.0]))
        assert_in_step(search)
        if drafts and drafts[-1] == search.now:
            continue
        drafts.append(search.now)
        assert_lies_exactly(problem, search.now)
        if len(search.now) == len(problem.orders):
            assert search.cost == pytest.approx(cost_of(problem, search.now))
    best = [cost_of(problem, one) for one in drafts if len(one) == len(problem.orders)]
    if best:
        assert cost_of(problem, search.best) <= min(best) + 1e-9
    return len(drafts)


def test_long_search_of_many_jobs_stays_in_step() -> None:
    """A crew's queue that got shorter and lay as before soon after was once not restored whole."""
    problem = build(asked(60, 1, 0.8)).problem
    search = Search(Tables(problem), Dispatch(problem).plan(Manner()), 7)
    for _ in range(200):
        search.changed(6000, 0.5)
        assert_in_step(search)
    assert_lies_exactly(problem, search.now)
    assert len(search.best) == 60
    assert cost_of(problem, search.best) < cost_of(problem, Dispatch(problem).plan(Manner()))


def cost_with_early_job_behind(others: int) -> float:
    """Return what a crew's plan costs: some days' work, then a job for its first day only."""
    line = Line(Stretch(begins=24 * day, length=8, day=day, room_min=480.0) for day in range(12))
    early = Order(
        key="early", visits=(Visit(choices=(Choice(crew="a", length=8, starts=((0, 0),)),)),)
    )
    each = Visit(choices=(Choice(crew="a", length=8, starts=((0, 88),)),))
    orders = [Order(key=f"job {number}", visits=(each,)) for number in range(others)]
    problem = Problem(lines={"a": line}, orders=(*orders, early), unit_min=60)
    draft = {
        one.key: (Laid(crew="a", place=8 * number, length=8),) for number, one in enumerate(orders)
    }
    return Search(Tables(problem), draft, 0).cost


def test_visit_without_a_place_counts_more_the_later_its_turn_comes_for_it() -> None:
    """Else nothing leads it back: a job was left out of long searches, its turn late in a queue."""
    costs = [cost_with_early_job_behind(others) for others in (1, 2, 9)]
    assert costs[0] >= UNPLACED + 0.25
    assert costs[1] - costs[0] == pytest.approx(0.25, abs=0.02)
    assert costs[2] - costs[1] == pytest.approx(7 * 0.25, abs=0.02)


BOUNDS_CHECKED = """
import random
import subprocess
import sys
from scheduling.engine.planner import compiling
compiling.OPTIONS["boundscheck"] = True
compiling.OPTIONS["cache"] = False
from tests.unit.test_planner_queues import check, drawn_problem
for seed in range(150):
    draw = random.Random(seed)
    check(drawn_problem(draw), draw)
print("150 problems")
"""


@pytest.mark.slow
def test_no_search_reads_or_writes_beyond_an_array() -> None:
    """What is compiled does not look by itself: a place beyond an array is told here only."""
    command = [sys.executable, "-c", BOUNDS_CHECKED]
    found = subprocess.run(command, capture_output=True, text=True, timeout=300, check=False)
    assert (found.stdout, found.returncode) == ("150 problems\n", 0), found.stderr


def test_search_draws_the_same_from_the_same_seed() -> None:
    drafts = []
    for _ in range(2):
        problem = drawn_problem(random.Random(3))  # noqa: S311
        search = Search(Tables(problem), Dispatch(problem).plan(Manner()), 5)
        search.changed(300, 1.0)
        drafts.append(search.now)
    assert drafts[0] == drafts[1]
