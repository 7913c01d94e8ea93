"""The placer: each phase as early as it may be, or in words what the job waits for."""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import replace

import pytest

from scheduling.engine.errors import EngineError
from scheduling.engine.placing import Placing, Wanted, place
from scheduling.engine.plan import Concrete, Crew, CrewDay, Facts, JobFacts, Phase
from scheduling.engine.standing import Material, State
from tests.plan_cases import ASH, ELM, FACTS, OAK, block, june
from tests.plan_worlds import (
    facts_with,
    with_air,
    with_inspection,
    with_material,
    with_permit,
    with_ticket,
)

OAK_HOURS = {
    Phase.REMOVAL: 3.0,
    Phase.LAYOUT: 1.0,
    Phase.DIG: 4.0,
    Phase.SET: 6.0,
    Phase.HANG: 10.0,
    Phase.GATES: 3.0,
    Phase.CLEAN_UP: 2.0,
}
ELM_HOURS = {Phase.DIG: 5.0, Phase.SET: 3.0, Phase.HANG: 6.0}


def placed(
    job: str,
    hours: Mapping[Phase, float],
    facts: Facts = FACTS,
    standing: Sequence[CrewDay] = (),
    *,
    crews: Sequence[str] = ("a",),
    last: int = 60,
) -> Placing:
    wanted = Wanted(
        job=job, hours=dict.fromkeys(crews, hours), first_day=june(2), last_day=june(last)
    )
    return place(wanted, standing, facts)


def words(found: Placing) -> list[str]:
    """Return the blocks as crew, phase, day of June, start where it is given, hours."""
    assert found.waits_for == ""
    return [
        f"{one.crew} {one.phase} {(one.date - june(1)).days + 1}"
        f"{f' {one.start:%H:%M}' if one.start else ''} {one.hours:g} h"
        for one in found.blocks
    ]


def test_phases_are_placed_in_order_as_early_as_their_ticket_and_concrete_allow() -> None:
    # The ticket holds from Wed 3: 3 + 1 + 4 h fill that day. Set on Thu 4 from 7 to 13: 60 F,
    # standard mix, panels from Sat 6 13:00, so Mon 8. Gates from Mon 8 13:00, after hanging.
    assert words(placed("oak", OAK_HOURS)) == [
        "a removal 3 3 h",
        "a layout 3 1 h",
        "a dig 3 4 h",
        "a set 4 6 h",
        "a hang 8 8 h",
        "a hang 9 2 h",
        "a gates 9 3 h",
        "a clean_up 9 2 h",
    ]


def test_phase_longer_than_a_day_goes_on_the_next_working_day() -> None:
    hours = {Phase.EXTRA: 19.0}
    # Tue 2, Wed 3, Thu 4 is a day off, Fri 5.
    crews = {"a": Crew(name="Crew A", hours=8, days_off=frozenset({june(4)}))}
    found = placed("ash", hours, replace(FACTS, crews=crews))
    assert words(found) == ["a extra 2 8 h", "a extra 3 8 h", "a extra 5 3 h"]


def test_hanging_begins_in_the_middle_of_a_day_when_the_wait_ends_there() -> None:
    # Fast mix at 75 F: set Thu 4 by 15:00, fabric 24 h later, Fri 5 15:00: the day of 8 h is over
    # by then; one of 10 h has two hours left.
    crews = {"a": Crew(name="Crew A", hours=10)}
    found = placed("elm", ELM_HOURS, replace(FACTS, crews=crews))
    assert words(found) == ["a dig 4 5 h", "a set 4 3 h", "a hang 5 15:00 2 h", "a hang 8 4 h"]


def test_wait_that_ends_at_an_odd_minute_is_rounded_up_to_the_quarter_hour() -> None:
    poured_at = dt.datetime(2026, 6, 1, 9, 7, tzinfo=FACTS.zone)
    job = replace(
        ELM,
        done=frozenset({Phase.DIG, Phase.SET}),
        concrete=Concrete(mix="fast", air_f=75, poured_at=poured_at),
    )
    found = placed("elm", {Phase.HANG: 2.0}, facts_with(elm=job))
    assert words(found) == ["a hang 2 09:15 2 h"]


def test_hours_are_rounded_up_to_quarters_and_pieces_are_not_shorter_than_an_hour() -> None:
    # 7.5 h stand on Tue 2: the half hour left is too little for 2.1 h, which makes 2.25.
    standing = [block("ash", Phase.EXTRA, "a", 2, 7.5)]
    crews = {"a": Crew(name="Crew A", hours=8)}
    facts = replace(FACTS, crews=crews, jobs={**FACTS.jobs, "fir": replace(ASH, name="Fir")})
    assert words(placed("fir", {Phase.EXTRA: 2.1}, facts, standing)) == ["a extra 3 2.25 h"]
    assert words(placed("fir", {Phase.EXTRA: 0.5}, facts, standing)) == ["a extra 2 0.5 h"]


def test_gap_before_a_block_with_a_start_of_its_own_is_used() -> None:
    # Ash is from 10 to 13: three hours before it, two after.
    standing = [replace(block("ash", Phase.EXTRA, "a", 2, 3), start=dt.time(10))]
    facts = facts_with(fir=replace(ASH, name="Fir"))
    assert words(placed("fir", {Phase.EXTRA: 3}, facts, standing)) == ["a extra 2 07:00 3 h"]
    # What doesn't fit whole begins in the gap and goes on the next day.
    assert words(placed("fir", {Phase.EXTRA: 4}, facts, standing)) == [
        "a extra 2 07:00 3 h",
        "a extra 3 1 h",
    ]


def test_day_that_is_full_or_overfull_is_left_alone() -> None:
    standing = [block("ash", Phase.EXTRA, "a", 2, 10)]
    facts = facts_with(fir=replace(ASH, name="Fir"))
    assert words(placed("fir", {Phase.EXTRA: 2}, facts, standing)) == ["a extra 3 2 h"]


def test_the_crew_that_is_done_first_gets_the_job() -> None:
    standing = [block("ash", Phase.EXTRA, "a", 2, 8)]
    facts = facts_with(fir=replace(ASH, name="Fir"))
    found = placed("fir", {Phase.EXTRA: 2}, facts, standing, crews=("a", "b"))
    assert words(found) == ["b extra 2 2 h"]
    equal = placed("fir", {Phase.EXTRA: 2}, facts, (), crews=("b", "a"))
    assert words(equal) == ["b extra 2 2 h"]


def test_crew_that_is_at_the_job_keeps_it_and_placed_blocks_stay() -> None:
    # Crew B dug by hand's placing on Fri 5; crew A would be free sooner.
    standing = [replace(block("elm", Phase.DIG, "b", 5, 5, "auger"), key="7")]
    found = placed("elm", {Phase.SET: 3.0, Phase.HANG: 6.0}, FACTS, standing, crews=("a", "b"))
    # Set Fri 5 from 12 to 15; fabric 24 h later, Sat 6 15:00: Mon 8.
    assert words(found) == ["b set 5 3 h", "b hang 8 6 h"]


def test_another_crew_steps_in_when_the_one_at_the_job_cannot() -> None:
    away = frozenset(june(day) for day in range(6, 40))
    crews = {**FACTS.crews, "b": Crew(name="Crew B", hours=8, days_off=away)}
    standing = [
        block("elm", Phase.DIG, "b", 4, 5, "auger"),
        block("elm", Phase.SET, "b", 4, 3),
    ]
    facts = replace(FACTS, crews=crews)
    found = placed("elm", {Phase.HANG: 6.0}, facts, standing, crews=("a", "b"), last=30)
    assert words(found) == ["a hang 8 6 h"]


def test_auger_that_another_crew_has_is_waited_for() -> None:
    standing = [block("ash", Phase.EXTRA, "b", 4, 2, "auger")]
    facts = facts_with(elm=replace(ELM, machines={Phase.DIG: "auger"}))
    found = placed("elm", {Phase.DIG: 5.0}, facts, standing)
    assert words(found) == ["a dig 5 5 h"]
    assert found.blocks[0].machine == "auger"
    until = placed("elm", {Phase.DIG: 5.0}, facts, standing, last=4)
    assert until.waits_for.endswith("Auger is not free on Thu Jun 4, 2026.")


def test_phase_the_crew_has_on_that_day_already_is_not_placed_there_twice() -> None:
    standing = [block("ash", Phase.EXTRA, "a", 2, 3)]
    assert words(placed("ash", {Phase.EXTRA: 4}, FACTS, standing)) == ["a extra 3 4 h"]


def test_nothing_is_placed_where_everything_stands() -> None:
    assert placed("ash", {}) == Placing()


WAITING: list[tuple[JobFacts, str]] = [
    (
        with_permit(ELM, State.ASKED),
        "Elm: digging finds no day until Thu Jun 25, 2026. Permit: asked for, not here yet.",
    ),
    (
        with_ticket(ELM, expires_on=june(1)),
        "Elm: digging finds no day until Thu Jun 25, 2026. "
        "Locate ticket T-1: ended on Mon Jun 1, 2026. Request a new one.",
    ),
    (
        replace(ELM, materials={Phase.SET: Material()}),
        "Elm: digging finds no day until Thu Jun 25, 2026. "
        "Material: no date promised. Have it in the yard before the crew leaves.",
    ),
    (
        with_inspection(ELM),
        "Elm: setting posts finds no day until Thu Jun 25, 2026. "
        "Footing inspection still open: holes may be dug, not filled. Book it a day ahead.",
    ),
    (
        with_air(ELM, 39),
        "Elm: hanging waits. As planned, posts are set Thu 15:00, fast mix. 39 F: "
        "go by the maker's sheet; no wait can be given under 40 F.",
    ),
]


@pytest.mark.parametrize(("job", "sentence"), WAITING)
def test_job_that_cannot_be_placed_says_what_it_waits_for(job: JobFacts, sentence: str) -> None:
    found = placed("elm", ELM_HOURS, facts_with(elm=job), last=25)
    assert found == Placing(waits_for=sentence)


def test_promised_material_is_planned_for_the_day_after() -> None:
    facts = facts_with(oak=with_material(OAK, Phase.HANG, promised=9))
    found = placed("oak", OAK_HOURS, facts)
    assert words(found)[4:6] == ["a hang 10 8 h", "a hang 11 2 h"]


def test_digging_that_does_not_fit_before_the_ticket_ends_is_not_placed() -> None:
    # Thu 4 and Fri 5 have 16 h for 20 h of digging.
    facts = facts_with(elm=with_ticket(ELM, expires_on=june(5)))
    found = placed("elm", {**ELM_HOURS, Phase.DIG: 20.0}, facts)
    assert "ended on Fri Jun 5, 2026" in found.waits_for


def test_full_crew_and_no_crew_are_named() -> None:
    standing = [block("ash", Phase.EXTRA, "a", day, 8) for day in (2, 3)]
    facts = facts_with(fir=replace(ASH, name="Fir"))
    found = placed("fir", {Phase.EXTRA: 2}, facts, standing, last=3)
    assert found.waits_for == (
        "Fir: other work finds no day until Wed Jun 3, 2026. Crew A has no hours left."
    )
    nobody = place(Wanted(job="ash", hours={}, first_day=june(2), last_day=june(9)), (), FACTS)
    assert nobody.waits_for == "No crew can be planned yet."


def test_block_placed_by_hand_that_new_blocks_would_break_is_named() -> None:
    # Hanging stands by hand on Fri 5; posts can't be set before Thu 4 12:00 to 15:00.
    standing = [block("elm", Phase.HANG, "b", 5, 6)]
    found = placed("elm", {Phase.DIG: 5.0, Phase.SET: 3.0}, FACTS, standing)
    assert found.waits_for.startswith("Elm: hanging on Fri Jun 5 07:00 comes too early.")


def test_breach_that_stood_before_bars_nothing() -> None:
    standing = [block("ash", Phase.EXTRA, "b", 6, 2)]
    assert words(placed("elm", {Phase.DIG: 2.0}, FACTS, standing)) == ["a dig 4 2 h"]


def test_phases_without_hours_do_not_pass_the_check_of_the_whole_plan() -> None:
    # Setting has no hours and no place: the placer must not hand out such a plan.
    with pytest.raises(EngineError, match="digging is not on the calendar"):
        placed("elm", {Phase.SET: 3.0})


def test_night_crew_begins_nothing_after_midnight() -> None:
    # From 20:00 for 8 h; until 2:00 the crew is elsewhere, and a start after midnight would be the
    # next day's.
    crews = {"a": Crew(name="Crew A", hours=8, start=dt.time(20))}
    standing = [replace(block("ash", Phase.EXTRA, "a", 2, 5), start=dt.time(21))]
    facts = replace(facts_with(fir=replace(ASH, name="Fir")), crews=crews)
    assert words(placed("fir", {Phase.EXTRA: 2}, facts, standing)) == [
        "a extra 2 20:00 1 h",
        "a extra 3 1 h",
    ]
