"""A plan that passes breaks no rule, and each single breach planted in a good plan is found."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import pytest

from scheduling.engine.breaches import Rule
from scheduling.engine.crew_days import find_violations
from scheduling.engine.errors import EngineError
from scheduling.engine.plan import (
    Concrete,
    Crew,
    CrewDay,
    Facts,
    JobFacts,
    Phase,
    timed,
)
from scheduling.engine.standing import Answer, Material, State, UtilityAnswer
from tests.plan_cases import (
    ASH,
    CHICAGO,
    ELM,
    FACTS,
    OAK,
    OAK_PLACE,
    PLAN,
    Breach,
    block,
    breaches,
    breaches_by_hand,
    june,
)
from tests.plan_worlds import changed, facts_with, on_the_map, with_air, with_permit, with_ticket


def sentences(plan: Sequence[CrewDay], facts: Facts = FACTS) -> list[str]:
    return [one.sentence for one in find_violations(plan, facts)]


def test_good_plan_is_passed() -> None:
    assert find_violations(PLAN, FACTS) == ()
    assert breaches_by_hand(PLAN, FACTS) == set()


def test_empty_plan_is_passed() -> None:
    assert find_violations((), FACTS) == ()


def crew_a_of_three(away: dict[dt.date, int]) -> dict[str, Crew]:
    return {**FACTS.crews, "a": replace(FACTS.crews["a"], people=3, away=away)}


PLANTED: list[tuple[Sequence[CrewDay], Facts, set[Breach]]] = [
    # The ticket is good from Wed 3.
    (changed("oak removal", date=june(2)), FACTS, {(Rule.TICKET, "oak removal")}),
    (PLAN, facts_with(elm=with_ticket(ELM, expires_on=june(3))), {(Rule.TICKET, "elm dig")}),
    (
        PLAN,
        facts_with(
            elm=with_ticket(ELM, answers=(UtilityAnswer(utility="Gas", answer=Answer.WAITING),))
        ),
        {(Rule.TICKET, "elm dig")},
    ),
    (PLAN, facts_with(elm=with_permit(ELM, State.ASKED)), {(Rule.READINESS, "elm dig")}),
    # Panels hold from Sat 6 13:00.
    (changed("oak hang", date=june(5)), FACTS, {(Rule.CURE, "oak hang")}),
    # 45 F: panels 78.5 h, Sun 7 19:30, which Mon 8 keeps; gates 180 h, Fri 12 1:00.
    (PLAN, facts_with(oak=with_air(OAK, 45)), {(Rule.CURE, "oak gates")}),
    (PLAN, facts_with(elm=with_air(ELM, 39)), {(Rule.CURE, "elm hang")}),
    # A frost in fresh concrete; nothing hangs on what froze.
    (PLAN, facts_with(elm=with_air(ELM, 32)), {(Rule.FROST, "elm set"), (Rule.CURE, "elm hang")}),
    # Fabric holds from Fri 5 15:00, the hour at which crew B goes home.
    (changed("elm hang", date=june(5), hours=6), FACTS, {(Rule.CURE, "elm hang")}),
    (changed("ash extra", date=june(6)), FACTS, {(Rule.CREW_OFF, "b 2026-06-06")}),
    (
        PLAN,
        replace(
            FACTS,
            crews={
                **FACTS.crews,
                "b": Crew(name="Crew B", hours=8, days_off=frozenset({june(5)})),
            },
        ),
        {(Rule.CREW_OFF, "b 2026-06-05")},
    ),
    # 3 + 1 + 5 are 9 h of 8.
    (changed("oak dig", hours=5), FACTS, {(Rule.CREW_HOURS, "a 2026-06-03")}),
    (changed("ash extra", start=dt.time(6, 30)), FACTS, {(Rule.CREW_HOURS, "b 2026-06-05")}),
    (changed("ash extra", start=dt.time(13, 30)), FACTS, {(Rule.CREW_HOURS, "b 2026-06-05")}),
    # Crew B hangs at Elm from 7 to 13.
    (
        changed("ash extra", date=june(8), start=dt.time(12)),
        FACTS,
        {(Rule.CREW_TWICE, "b 2026-06-08")},
    ),
    (changed("elm set", machine="mixer"), FACTS, {(Rule.MACHINE_TWICE, "mixer 2026-06-04")}),
    # Oak's gates hang on Tue 9.
    (changed("oak clean_up", date=june(8), crew="b"), FACTS, {(Rule.ORDER, "oak clean_up")}),
    (
        PLAN,
        facts_with(oak=replace(OAK, materials={Phase.GATES: Material()})),
        {(Rule.MATERIAL, "oak gates")},
    ),
    (
        PLAN,
        facts_with(elm=replace(ELM, standing=replace(ELM.standing, inspection_before_pour=True))),
        {(Rule.INSPECTION, "elm set")},
    ),
    (
        tuple(one for one in PLAN if one.key != "elm dig"),
        FACTS,
        {(Rule.ORDER, "elm set"), (Rule.ORDER, "elm hang")},
    ),
    # Ash was worked on Fri 5; oak hangs on Mon 8.
    (
        PLAN,
        facts_with(oak=replace(OAK, closed_days=frozenset({june(8), june(20)}))),
        {(Rule.CUSTOMER_DAY, "oak hang")},
    ),
    (PLAN, facts_with(ash=replace(ASH, not_before=june(6))), {(Rule.CUSTOMER_DAY, "ash extra")}),
    (
        PLAN,
        facts_with(ash=replace(ASH, after_job="elm")),
        {(Rule.AFTER, "ash extra")},
    ),
    # Elm is dug and set in the rain of Thu 4; digging takes as much.
    (
        PLAN,
        replace(
            FACTS,
            wet_days={june(4): 0.5},
            rain_limit_in={Phase.DIG: 0.5, Phase.SET: 0.25},
        ),
        {(Rule.RAIN, "oak set"), (Rule.RAIN, "elm set")},
    ),
    (
        PLAN,
        facts_with(oak=replace(OAK, skills={Phase.GATES: frozenset({"welding"})})),
        {(Rule.SKILL, "oak gates")},
    ),
    # Two of three set posts on Thu 4, where all three are asked for; they clean up on Tue 9.
    (
        PLAN,
        replace(
            facts_with(oak=replace(OAK, people={Phase.SET: 3, Phase.GATES: 2})),
            crews=crew_a_of_three(away={june(4): 1, june(9): 1}),
        ),
        {(Rule.PEOPLE, "oak set")},
    ),
    # All three are away on Thu 4: the crew is off, and that is all there is to say.
    (
        PLAN,
        replace(
            facts_with(oak=replace(OAK, people={Phase.SET: 3})),
            crews=crew_a_of_three(away={june(4): 3}),
        ),
        {(Rule.CREW_OFF, "a 2026-06-04")},
    ),
    # Ash is at Oak's fence: from Elm, where crew B is done at 10:00, it is 20.8 min.
    (
        (
            *changed("elm hang", hours=3)[:-1],
            replace(PLAN[-1], date=june(8), start=dt.time(10, 15)),
        ),
        on_the_map(FACTS, ash=OAK_PLACE),
        {(Rule.DRIVE, "b 2026-06-08")},
    ),
    # 7.5 h of work from 7 to 15, but Elm lies 8 mi farther from the yard: 0.69 h of road.
    (
        (
            *changed("elm hang", hours=3, start=dt.time(12))[:-1],
            replace(PLAN[-1], date=june(8), hours=4.5, start=dt.time(7)),
        ),
        on_the_map(FACTS, ash=OAK_PLACE),
        {(Rule.CREW_HOURS, "b 2026-06-08")},
    ),
]


@pytest.mark.parametrize(("plan", "facts", "expected"), PLANTED)
def test_planted_breach_is_found_and_nothing_else(
    plan: Sequence[CrewDay], facts: Facts, expected: set[Breach]
) -> None:
    assert breaches(find_violations(plan, facts)) == expected
    assert breaches_by_hand(plan, facts) == expected


def test_every_rule_has_a_planted_breach() -> None:
    assert {rule for _, _, expected in PLANTED for rule, _ in expected} == set(Rule)


def test_violations_are_told_in_sentences_that_give_the_reason() -> None:
    assert sentences(changed("oak removal", date=june(2))) == [
        "Oak: no taking out the old fence on Tue Jun 2, 2026. "
        "Locate ticket T-1: no digging before Wed Jun 3, 2026. Move the dig."
    ]
    assert sentences(PLAN, facts_with(elm=with_permit(ELM, State.REFUSED))) == [
        "Elm: no digging on Thu Jun 4, 2026. Permit: refused."
    ]
    assert sentences(changed("oak hang", date=june(5))) == [
        "Oak: hanging on Fri Jun 5 07:00 comes too early. "
        "As planned, posts are set Thu 13:00, standard mix. Panels from Saturday 13:00: the firm's "
        "table says 48 h "
        "at 60 F (25 % of strength 47.25 h, the label 24 h)."
    ]
    assert sentences(changed("oak clean_up", date=june(8), crew="b")) == [
        "Oak: clean-up on Mon Jun 8 07:00 comes too early: "
        "hanging gates is over on Tue Jun 9 10:00."
    ]
    assert sentences([one for one in PLAN if one.key not in {"elm dig", "elm hang"}]) == [
        "Elm: setting posts on Thu Jun 4 07:00 comes too early: digging is not on the calendar."
    ]
    assert sentences(changed("ash extra", date=june(6))) == [
        "Crew B does not work on Sat Jun 6, 2026."
    ]
    assert sentences(changed("oak dig", hours=5)) == [
        "Crew A on Wed Jun 3, 2026: 9 h planned, 8 h there."
    ]
    assert sentences(changed("ash extra", start=dt.time(6))) == [
        "Crew B on Fri Jun 5, 2026: its day begins at 07:00."
    ]
    assert sentences(changed("ash extra", start=dt.time(14))) == [
        "Crew B on Fri Jun 5, 2026: its day ends at 15:00."
    ]
    assert sentences(changed("ash extra", date=june(8), start=dt.time(12))) == [
        "Crew B is in two places on Mon Jun 8 12:00."
    ]
    assert sentences(changed("elm set", machine="mixer")) == [
        "Mixer on Thu Jun 4, 2026: wanted by Crew A, Crew B, the firm has 1."
    ]


def test_hang_may_begin_at_the_very_hour_the_wait_ends() -> None:
    # 20 + 4 = 24 h of fast mix at 75 F: set at 15:00 on Thu, free at 15:00 on Fri.
    crews = {**FACTS.crews, "b": Crew(name="Crew B", hours=10)}
    facts = replace(FACTS, crews=crews)
    no_repair = tuple(one for one in PLAN if one.job != "ash")
    at_15 = changed("elm hang", no_repair, date=june(5), start=dt.time(15), hours=2)
    assert find_violations(at_15, facts) == ()
    before = changed("elm hang", no_repair, date=june(5), start=dt.time(14, 59), hours=2)
    assert breaches(find_violations(before, facts)) == {(Rule.CURE, "elm hang")}


def test_job_may_say_that_its_removal_does_not_dig() -> None:
    cut_off = replace(OAK, digs=frozenset({Phase.DIG}))
    assert find_violations(changed("oak removal", date=june(2)), facts_with(oak=cut_off)) == ()


def hung(job: JobFacts, *, day: int = 8) -> set[Breach]:
    """Return the breaches of a plan that only hangs at Elm, from 7:00 on."""
    only = (block("elm", Phase.HANG, "b", day, 6),)
    return breaches(find_violations(only, facts_with(elm=job)))


POSTS_STAND = replace(ELM, done=frozenset({Phase.DIG, Phase.SET}))


def poured(job: JobFacts, at: dt.datetime) -> JobFacts:
    return replace(job, concrete=Concrete(mix="fast", air_f=75, poured_at=at))


def test_phase_that_is_done_needs_no_place_and_its_real_pour_counts() -> None:
    # Fabric, fast mix, 75 F: 24 h. Poured Sun 7 7:00 is free on Mon 8 7:00; a minute later is not.
    on_time = dt.datetime(2026, 6, 7, 7, 0, tzinfo=CHICAGO)
    assert hung(poured(POSTS_STAND, on_time)) == set()
    assert hung(poured(POSTS_STAND, on_time + dt.timedelta(minutes=1))) == {(Rule.CURE, "elm hang")}


def test_real_pour_may_be_given_in_any_time_zone() -> None:
    # 12:00 UTC is 7:00 in Chicago in June.
    assert hung(poured(POSTS_STAND, dt.datetime(2026, 6, 7, 12, 0, tzinfo=dt.UTC))) == set()
    late = poured(POSTS_STAND, dt.datetime(2026, 6, 7, 12, 1, tzinfo=dt.UTC))
    assert sentences((block("elm", Phase.HANG, "b", 8, 6),), facts_with(elm=late)) == [
        "Elm: hanging on Mon Jun 8 07:00 comes too early. "
        "Posts set Sun 07:01, fast mix. Stretched fabric from Monday 07:01: the firm's table says "
        "24 h at 75 F (the label 4 h)."
    ]


def test_real_pour_replaces_the_planned_one_once_all_posts_are_set() -> None:
    # Poured on Thu 4 7:00, a day before its place on the calendar: free on Fri 5 7:00.
    plan = (block("elm", Phase.SET, "b", 5, 3), block("elm", Phase.HANG, "a", 5, 6))
    job = poured(POSTS_STAND, dt.datetime(2026, 6, 4, 7, tzinfo=CHICAGO))
    assert find_violations(plan, facts_with(elm=job)) == ()


def test_nothing_hangs_where_nobody_wrote_down_when_the_posts_were_set() -> None:
    (violation,) = find_violations(
        (block("elm", Phase.HANG, "b", 8, 6),), facts_with(elm=POSTS_STAND)
    )
    assert violation.rule == Rule.CURE
    assert violation.sentence.endswith("The hour of the pour is not recorded.")


def test_later_of_real_and_planned_pour_counts_while_posts_are_to_set() -> None:
    # The first posts were poured on Wed 3; the rest is planned until Thu 4 15:00.
    early = poured(ELM, dt.datetime(2026, 6, 3, 12, tzinfo=CHICAGO))
    friday = changed("elm hang", date=june(5))
    assert breaches(find_violations(friday, facts_with(elm=early))) == {(Rule.CURE, "elm hang")}
    assert find_violations(PLAN, facts_with(elm=early)) == ()


def test_work_without_concrete_waits_for_nothing() -> None:
    driven = replace(ELM, concrete=None)
    assert find_violations(changed("elm hang", date=june(5)), facts_with(elm=driven)) == ()


def test_wait_runs_in_real_hours_over_the_change_of_clocks() -> None:
    # Clocks go back on Sun 1 Nov 2026. Fri 30 Oct 15:00 CDT is 20:00 UTC; 72 h later is Mon 2 Nov
    # 20:00 UTC, 14:00 CST. A wait on the clock's face would have said 15:00.
    friday = dt.datetime(2026, 10, 30, 15, tzinfo=CHICAGO)
    job = replace(POSTS_STAND, concrete=Concrete(mix="fast", air_f=45, poured_at=friday))
    at_14 = CrewDay(
        job="elm",
        phase=Phase.HANG,
        crew="b",
        date=dt.date(2026, 11, 2),
        hours=1,
        start=dt.time(14),
    )
    assert find_violations((at_14,), facts_with(elm=job)) == ()
    too_soon = (replace(at_14, start=dt.time(13, 59)),)
    assert [one.rule for one in find_violations(too_soon, facts_with(elm=job))] == [Rule.CURE]


def test_tenths_of_hours_fill_a_day_without_a_rest() -> None:
    # 1.1 + 3.2 + 3.2 is a little more than 7.5 in binary.
    tenths = tuple(block("ash", Phase.EXTRA, "b", 5, hours) for hours in (1.1, 3.2, 3.2))
    crews = {"b": Crew(name="Crew B", hours=7.5)}
    assert sum(one.hours for one in tenths) > 7.5
    assert find_violations(tenths, replace(FACTS, crews=crews)) == ()


def test_blocks_without_a_start_follow_one_another() -> None:
    starts = [f"{one.starts_at:%H:%M}-{one.ends_at:%H:%M}" for one in timed(PLAN[:3], FACTS)]
    assert starts == ["07:00-10:00", "10:00-11:00", "11:00-15:00"]


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"job": "yew"}, "job"),
        ({"crew": "c"}, "crew"),
        ({"machine": "crane"}, "machine"),
        ({"phase": Phase.GATES}, "phase"),
    ],
)
def test_block_that_names_what_is_unknown_is_refused(changes: dict[str, Any], field: str) -> None:
    with pytest.raises(EngineError) as refused:
        find_violations(changed("ash extra", **changes), FACTS)
    assert refused.value.field == field


@pytest.mark.parametrize("hours", [0, -1, 24.5, float("nan"), float("inf")])
def test_hours_no_day_has_are_refused(hours: float) -> None:
    with pytest.raises(EngineError, match="h") as refused:
        block("ash", Phase.EXTRA, "b", 5, hours)
    assert refused.value.field == "hours"
    with pytest.raises(EngineError, match="Crew C"):
        Crew(name="Crew C", hours=hours)


def test_facts_that_cannot_be_right_are_refused() -> None:
    with pytest.raises(EngineError, match="twice"):
        JobFacts(name="Yew", phases=(Phase.DIG, Phase.DIG), standing=ELM.standing)
    with pytest.raises(EngineError, match="temperature"):
        Concrete(mix="fast", air_f=float("nan"))
    with pytest.raises(EngineError, match="time zone"):
        Concrete(mix="fast", air_f=60, poured_at=dt.datetime(2026, 6, 1, 9))  # noqa: DTZ001
