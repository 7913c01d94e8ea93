"""A lost day shifted breaks no rule that was not broken before, as judged by the rules by hand."""

from dataclasses import replace

from hypothesis import assume, event, given, settings
from hypothesis import strategies as st

from scheduling.engine.placing import Wanted
from scheduling.engine.plan import CrewDay, Facts, JobFacts, timed
from scheduling.engine.shifting import Fate, Line, shift
from tests.plan_cases import breaches_by_hand, june
from tests.plan_worlds import plans, worlds

DAYS = (3, 4, 5, 8)
Plan = tuple[CrewDay, ...]


def on_the_hour(plan: Plan, facts: Facts) -> Plan:
    """Give every block its hour, as the service does before it asks."""
    return tuple(replace(one.block, start=one.starts_at.time()) for one in timed(plan, facts))


def line_of(job: JobFacts, key: str, plan: Plan, stands: Plan, *, must_move: bool) -> Line:
    """Return a job as it is placed anew: what may move in its hours, what stands nowhere in two."""
    there = {one.phase for one in plan if one.job == key}
    hours = {phase: 2.0 for phase in job.phases if phase not in there}
    for one in stands:
        hours[one.phase] = hours.get(one.phase, 0.0) + one.hours
    first = min(one.date for one in stands)
    by_crew = {"a": hours, "b": hours}
    wanted = Wanted(job=key, hours=by_crew, first_day=first, last_day=june(24))
    return Line(wanted=wanted, stands=stands, must_move=must_move)


@settings(max_examples=60)
@given(
    plan=plans(),
    facts=worlds(),
    day=st.sampled_from(DAYS),
    lost=st.sampled_from(["oak", "elm", "ash"]),
    with_others=st.booleans(),
)
def test_whatever_is_lost_nothing_new_is_broken(
    plan: Plan, facts: Facts, day: int, lost: str, with_others: bool
) -> None:
    plan = on_the_hour(plan, facts)
    assume(any(one.job == lost and one.date == june(day) for one in plan))
    mine = tuple(one for one in plan if one.job == lost and one.date >= june(day))
    line = line_of(facts.jobs[lost], lost, plan, mine, must_move=True)
    lines = [replace(line, wanted=replace(line.wanted, first_day=june(day + 1)))]
    others = {one.job for one in plan if one.date > june(day)} - {lost} if with_others else set()
    for job in sorted(others):
        later = tuple(one for one in plan if one.job == job and one.date > june(day))
        lines.append(line_of(facts.jobs[job], job, plan, later, must_move=False))
    fixed = [one for one in plan if not any(one in line.stands for line in lines)]
    found, after = shift(lines, fixed, facts)
    event(found[0].fate)
    assume(found[0].fate != Fate.STUCK)
    assert not any(one.job == lost and one.date == june(day) for one in after)
    assert all(one in after for one in fixed)
    named = [
        one if one.key else replace(one, key=f"new {number}") for number, one in enumerate(after)
    ]
    assert breaches_by_hand(named, facts) <= breaches_by_hand(plan, facts)
