"""No plan the planner returns breaks a rule, as judged by the rules said by hand."""

import time
from collections import Counter

import pytest
from hypothesis import event, given, settings
from hypothesis import strategies as st

from scheduling.engine.placing import Wanted
from scheduling.engine.plan import CrewDay, Facts, Phase
from scheduling.engine.planner.building import Asked
from scheduling.engine.planner.planning import Planned, make_plan
from scheduling.engine.planner.solving import Limits
from tests.plan_cases import breaches_by_hand, june, whole_crew_hours
from tests.plan_worlds import HALVES, SELDOM, plans, worlds
from tests.unit.test_placing_properties import named

Hours = dict[str, dict[Phase, float]]
World = tuple[Facts, Hours, tuple[CrewDay, ...]]


@st.composite
def open_jobs(draw: st.DrawFn) -> World:
    """Draw a firm, the hours of some of its jobs, and what stands fixed of the others."""
    facts = draw(worlds())
    chosen = draw(st.sets(st.sampled_from(["oak", "elm", "ash"]), min_size=1))
    hours = {
        key: {phase: draw(HALVES) for phase in facts.jobs[key].phases} for key in sorted(chosen)
    }
    fixed = () if draw(SELDOM) else draw(plans())
    return facts, hours, tuple(one for one in fixed if one.job not in chosen)


def asked_of(world: World) -> Asked:
    facts, hours, fixed = world
    jobs = tuple(
        Wanted(
            job=key,
            hours=dict.fromkeys(facts.crews, mine),
            first_day=june(1),
            last_day=june(24),
        )
        for key, mine in hours.items()
    )
    return Asked(jobs=jobs, fixed=fixed, facts=facts, first_day=june(1), last_day=june(24))


def outcome(world: World) -> Planned:
    return make_plan(asked_of(world), Limits(seconds=0.3), clock=time.monotonic)


def check(world: World) -> None:
    facts, hours, fixed = world
    found = outcome(world)
    event(f"{len(found.waits)} of {len(hours)} wait")
    before = breaches_by_hand(fixed, facts)
    assert breaches_by_hand((*fixed, *named(found.blocks)), facts) <= before
    placed = Counter[tuple[str, Phase]]()
    for one in found.blocks:
        placed[one.job, one.phase] += whole_crew_hours(one, facts)  # type: ignore[assignment]
    asked = {
        (key, phase): each
        for key, mine in hours.items()
        for phase, each in mine.items()
        if key not in found.waits
    }
    assert placed.keys() == asked.keys()
    # Where some are away each day's end is rounded to a quarter hour.
    days = Counter((one.job, one.phase) for one in found.blocks if facts.crews[one.crew].away)
    assert all(abs(placed[at] - each) <= 0.25 * days[at] + 1e-6 for at, each in asked.items())
    assert found.figures.unplaced == len(found.waits)
    assert all(found.waits.values())
    if not found.waits:
        assert [one for one in found.stages if one.bound > one.value] == []


@settings(max_examples=25)
@given(world=open_jobs())
def test_no_plan_breaks_a_rule_and_every_job_has_its_hours_or_a_reason(world: World) -> None:
    check(world)


@pytest.mark.slow
@settings(max_examples=120)
@given(world=open_jobs())
def test_no_plan_of_many_breaks_a_rule(world: World) -> None:
    check(world)
