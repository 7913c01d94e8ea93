"""The placer among what surrounds a job: the drive, skills, the customer's days, rain, machines.

Two repairs: Yew at Oak's fence, 4 mi from the yard, and Ash at Elm's, 8 mi farther on. The drive
between them is 20.8 min and takes half an hour of the calendar.
"""

import datetime as dt
from collections.abc import Sequence
from dataclasses import replace

import pytest

from scheduling.engine.placing import Placing, Wanted, place
from scheduling.engine.plan import CrewDay, Facts, JobFacts, Machine, Phase
from scheduling.engine.standing import Standing
from tests.plan_cases import ASH, ELM_PLACE, FACTS, OAK_PLACE, YARD, block, june

YEW = JobFacts(name="Yew", phases=(Phase.EXTRA,), standing=Standing(), place=OAK_PLACE)
ASH_AT_ELM = replace(ASH, place=ELM_PLACE)


def firm(*, yew: JobFacts = YEW, ash: JobFacts = ASH_AT_ELM, **facts: object) -> Facts:
    return replace(FACTS, jobs={"yew": yew, "ash": ash}, yard=YARD, **facts)  # type: ignore[arg-type]


def yew_on(day: int, hours: float, start: dt.time | None = None) -> CrewDay:
    return replace(block("yew", Phase.EXTRA, "a", day, hours), start=start)


def ash_placed(
    hours: float,
    facts: Facts,
    standing: Sequence[CrewDay] = (),
    *,
    crews: Sequence[str] = ("a",),
    last: int = 30,
) -> Placing:
    wanted = Wanted(
        job="ash",
        hours={key: {Phase.EXTRA: hours} for key in crews},
        first_day=june(2),
        last_day=june(last),
    )
    return place(wanted, standing, facts)


def words(found: Placing) -> list[str]:
    assert found.waits_for == ""
    return [
        f"{one.crew} {(one.date - june(1)).days + 1}"
        f"{f' {one.start:%H:%M}' if one.start else ''} {one.hours:g} h"
        for one in found.blocks
    ]


@pytest.mark.parametrize(
    ("standing", "hours", "expected"),
    [
        # Ash from 9:30 when the crew comes from Yew; 2 + 5 + 0.69 h of road fit 8 h.
        (yew_on(2, 2), 5.0, ["a 2 09:30 5 h"]),
        # 8 - 2 - 0.69 = 5.31 h are left, in quarters 5.25.
        (yew_on(2, 2), 6.5, ["a 2 09:30 5.25 h", "a 3 1.25 h"]),
        # Before Yew at 10:00 it must leave at 9:30; Yew lies on the way home.
        (yew_on(2, 2, dt.time(10)), 2.5, ["a 2 07:00 2.5 h"]),
        # No hour before Yew at 8:00 is left, and behind it from 10:30.
        (yew_on(2, 2, dt.time(8)), 3.0, ["a 2 10:30 3 h"]),
        # A full day is full.
        (yew_on(2, 7.5), 2.0, ["a 3 2 h"]),
    ],
)
def test_drive_between_two_sites_is_left_free(
    standing: CrewDay, hours: float, expected: list[str]
) -> None:
    assert words(ash_placed(hours, firm(), [standing])) == expected


def test_drive_counts_for_nothing_where_a_place_is_unknown() -> None:
    assert words(ash_placed(6.0, firm(ash=ASH), [yew_on(2, 2)])) == ["a 2 6 h"]


def test_crew_that_can_do_it_is_chosen() -> None:
    asks = replace(ASH, skills={Phase.EXTRA: frozenset({"welding"})})
    skilled = replace(FACTS.crews["b"], skills=frozenset({"welding", "gates"}))
    facts = firm(ash=asks, crews={**FACTS.crews, "b": skilled})
    assert words(ash_placed(2.0, facts, crews=("a", "b"))) == ["b 2 2 h"]
    away = replace(skilled, people=2, away={june(2): 1}, skills_away={june(2): skilled.skills})
    facts = firm(ash=asks, crews={**FACTS.crews, "b": away})
    assert words(ash_placed(2.0, facts, crews=("a", "b"))) == ["b 3 2 h"]
    late = ash_placed(2.0, facts, crews=("b",), last=2)
    assert late.waits_for.endswith(
        "Other work asks for welding, and whoever of Crew B has it is away on Tue Jun 2, 2026."
    )
    nobody = ash_placed(2.0, firm(ash=asks), crews=("a", "b"))
    assert nobody.waits_for == "Ash: other work asks for welding, which Crew A does not have."


def test_some_away_make_a_day_shorter_and_too_few_are_sent_nowhere() -> None:
    crew = replace(FACTS.crews["a"], people=3, away={june(2): 1, june(3): 3, june(4): 2})
    facts = firm(crews={"a": crew})
    # Two of three do 16/3 h of the crew's 10 h in 8 h; nobody, then one 8/3 h; 2 h are left.
    assert words(ash_placed(10.0, facts)) == ["a 2 8 h", "a 4 8 h", "a 5 2 h"]
    # 3 h of three are 4.5 h of two.
    assert words(ash_placed(3.0, facts)) == ["a 2 4.5 h"]
    two = firm(ash=replace(ASH, people={Phase.EXTRA: 2}), crews={"a": crew})
    # 14/3 h are left for the Friday, in quarters 4.75.
    assert words(ash_placed(10.0, two)) == ["a 2 8 h", "a 5 4.75 h"]
    three = firm(ash=replace(ASH, people={Phase.EXTRA: 3}), crews={"a": crew})
    assert ash_placed(3.0, three, last=4).waits_for == (
        "Ash: other work finds no day until Thu Jun 4, 2026. "
        "Other work asks for 3 people, and 1 of Crew A's 3 are there on Thu Jun 4, 2026."
    )


def test_days_the_customer_wants_nobody_are_passed_over() -> None:
    closed = replace(ASH, not_before=june(4), closed_days=frozenset({june(4), june(9)}))
    assert words(ash_placed(20.0, firm(ash=closed))) == ["a 5 8 h", "a 8 8 h", "a 10 4 h"]
    until = ash_placed(2.0, firm(ash=closed), last=3)
    assert until.waits_for == (
        "Ash: other work finds no day until Wed Jun 3, 2026. "
        "The customer wants nobody there before Thu Jun 4, 2026."
    )


def test_rain_over_the_phase_s_limit_moves_it() -> None:
    rain = {june(2): 0.26, june(3): 0.25}
    facts = firm(wet_days=rain, rain_limit_in={Phase.EXTRA: 0.25})
    assert words(ash_placed(2.0, facts)) == ["a 3 2 h"]
    assert words(ash_placed(2.0, firm(wet_days=rain))) == ["a 2 2 h"]


def test_job_begins_after_the_one_it_waits_for() -> None:
    facts = firm(ash=replace(ASH, after_job="yew"))
    assert words(ash_placed(2.0, facts, [yew_on(3, 2)])) == ["a 3 2 h"]
    assert words(ash_placed(2.0, facts, [yew_on(3, 2)], crews=("b",))) == ["b 3 09:00 2 h"]
    waits = "Ash waits: Yew comes first, and its other work is not on the calendar."
    assert ash_placed(2.0, facts).waits_for == waits
    over = replace(YEW, done=frozenset({Phase.EXTRA}))
    assert words(ash_placed(2.0, firm(yew=over, ash=replace(ASH, after_job="yew")))) == ["a 2 2 h"]


def test_machine_that_can_be_rented_is_not_waited_for() -> None:
    lifted = replace(ASH, machines={Phase.EXTRA: "auger"})
    out = [replace(block("yew", Phase.EXTRA, "b", 2, 2), machine="auger")]
    assert words(ash_placed(2.0, firm(ash=lifted), out)) == ["a 3 2 h"]
    rentable = {"auger": Machine(name="Auger", is_rentable=True)}
    found = ash_placed(2.0, firm(ash=lifted, machines=rentable), out)
    assert words(found) == ["a 2 2 h"]
    assert found.blocks[0].machine == "auger"
