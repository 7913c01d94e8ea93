"""What surrounds a job, as the checker tells it: drive, rain, skills, customer, other jobs."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

import pytest

from scheduling.engine.breaches import Rule
from scheduling.engine.crew_days import find_violations
from scheduling.engine.errors import EngineError
from scheduling.engine.plan import CrewDay, Facts, Machine, Phase, timed
from scheduling.starter import load_rain_limits_in
from tests.plan_cases import ASH, ELM, FACTS, OAK, OAK_PLACE, PLAN, block, june
from tests.plan_worlds import changed, facts_with, on_the_map


def sentences(plan: Sequence[CrewDay], facts: Facts) -> list[str]:
    return [one.sentence for one in find_violations(plan, facts)]


def test_machine_that_can_be_rented_goes_out_twice() -> None:
    owned = replace(FACTS, machines={**FACTS.machines, "auger": Machine(name="Auger", owned=0)})
    assert {one.rule for one in find_violations(PLAN, owned)} == {Rule.MACHINE_TWICE}
    rented = Machine(name="Auger", owned=0, is_rentable=True, day_rate=Decimal(185))
    assert find_violations(PLAN, replace(FACTS, machines={**FACTS.machines, "auger": rented})) == ()


def test_block_without_a_start_begins_when_the_crew_has_driven_there() -> None:
    day = [
        block("oak", Phase.REMOVAL, "a", 3, 2),
        block("ash", Phase.EXTRA, "a", 3, 1),
        block("elm", Phase.HANG, "a", 3, 1),
        block("oak", Phase.DIG, "a", 3, 1),
    ]
    starts = [f"{one.starts_at:%H:%M}" for one in timed(day, on_the_map(FACTS))]
    # Nobody knows where Ash is: to Elm the half hour counts from Oak, and is over by 10:00.
    assert starts == ["07:00", "09:00", "10:00", "11:30"]
    short = [day[0], replace(day[1], hours=0.25), *day[2:]]
    starts = [f"{one.starts_at:%H:%M}" for one in timed(short, on_the_map(FACTS))]
    assert starts == ["07:00", "09:00", "09:30", "11:00"]
    assert [f"{one.starts_at:%H:%M}" for one in timed(day, FACTS)][-1] == "11:00"


def test_new_rules_say_what_they_found() -> None:
    at_oak = on_the_map(FACTS, ash=OAK_PLACE)
    early = (
        *changed("elm hang", hours=3)[:-1],
        replace(PLAN[-1], date=june(8), start=dt.time(10, 15)),
    )
    assert sentences(early, at_oak) == [
        "Crew B on Mon Jun 8, 2026: from Elm to Ash it is a drive of 21 min, and 15 min are free."
    ]
    long = (
        *changed("elm hang", hours=3, start=dt.time(12))[:-1],
        replace(PLAN[-1], date=june(8), hours=4.5, start=dt.time(7)),
    )
    assert sentences(long, at_oak) == [
        "Crew B on Mon Jun 8, 2026: 7.5 h planned and 42 min more on the road, 8 h there."
    ]
    wet = replace(FACTS, wet_days={june(4): 0.5}, rain_limit_in={Phase.DIG: 0.4})
    assert sentences(PLAN, wet) == [
        "Elm: no digging on Thu Jun 4, 2026. 0.5 in of rain; it is done in up to 0.4 in."
    ]
    # 0.5 in are 12.7 mm, 0.4 in 10.16.
    assert sentences(PLAN, replace(wet, is_metric=True)) == [
        "Elm: no digging on Thu Jun 4, 2026. 13 mm of rain; it is done in up to 10 mm."
    ]
    three = replace(FACTS.crews["a"], people=3, away={june(9): 1, june(8): 3})
    off = replace(three, off_words={june(8): "Nobody is there: Ada, Bo, Cy"})
    short = replace(facts_with(oak=replace(OAK, people={Phase.GATES: 3})), crews=FACTS.crews)
    assert sentences(PLAN, replace(short, crews={**FACTS.crews, "a": off})) == [
        "Oak: hanging gates asks for 3 people, and 2 of Crew A's 3 are there on Tue Jun 9, 2026.",
        "Crew A does not work on Mon Jun 8, 2026. Nobody is there: Ada, Bo, Cy.",
    ]
    assert sentences(PLAN, short) == ["Oak: hanging gates asks for 3 people, and Crew A has 1."]
    asked = {Phase.GATES: frozenset({"welding", "gates"})}
    assert sentences(PLAN, facts_with(oak=replace(OAK, skills=asked))) == [
        "Oak: hanging gates asks for gates, welding, which Crew A does not have."
    ]
    assert sentences(PLAN, facts_with(ash=replace(ASH, not_before=june(6)))) == [
        "Ash: no other work on Fri Jun 5, 2026. "
        "The customer wants nobody there before Sat Jun 6, 2026."
    ]
    assert sentences(PLAN, facts_with(ash=replace(ASH, after_job="elm"))) == [
        "Ash: other work on Fri Jun 5 07:00 comes too early: "
        "Elm comes first and is over on Mon Jun 8 13:00."
    ]
    without = tuple(one for one in PLAN if one.key != "elm hang")
    assert sentences(without, facts_with(ash=replace(ASH, after_job="elm"))) == [
        "Ash: other work on Fri Jun 5 07:00 comes too early: "
        "Elm comes first, and its hanging is not on the calendar."
    ]


def test_nobody_waits_for_a_job_that_is_over() -> None:
    over = replace(ELM, done=frozenset(ELM.phases))
    facts = facts_with(elm=over, ash=replace(ASH, after_job="elm"))
    assert find_violations(PLAN[-1:], facts) == ()


def test_job_that_waits_for_itself_is_refused() -> None:
    with pytest.raises(EngineError, match=r"Ash waits for itself\.") as refused:
        facts_with(ash=replace(ASH, after_job="ash"))
    assert refused.value.field == "after_job"
    with pytest.raises(EngineError, match="waits for itself"):
        facts_with(ash=replace(ASH, after_job="elm"), elm=replace(ELM, after_job="ash"))
    with pytest.raises(EngineError, match="unknown"):
        facts_with(ash=replace(ASH, after_job="yew"))


def test_lateness_counts_from_the_deadline_else_from_the_promise() -> None:
    promised = replace(OAK, promised_on=june(12))
    assert OAK.due_on is None
    assert promised.due_on == june(12)
    assert replace(promised, wanted_by=june(10)).due_on == june(10)


def test_posts_are_set_in_no_wet_day_and_layout_goes_on_in_any() -> None:
    # Common practice, no source.
    limits = load_rain_limits_in()
    assert Phase.LAYOUT not in limits
    assert limits[Phase.SET] <= limits[Phase.DIG]
    assert all(0 < limit < 1 for limit in limits.values())
