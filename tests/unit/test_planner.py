"""Small plans whose best is worked out by hand."""

import datetime as dt
import time
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import pytest

from scheduling.engine.crew_days import find_violations
from scheduling.engine.errors import EngineError
from scheduling.engine.placing import Wanted
from scheduling.engine.plan import CrewDay, Facts, Machine, Phase
from scheduling.engine.planner.building import Asked
from scheduling.engine.planner.hardening import Hardening
from scheduling.engine.planner.improving import Improving
from scheduling.engine.planner.lines import Line, Stretch
from scheduling.engine.planner.planning import Planned, make_plan
from scheduling.engine.planner.problem import Choice, Order, Problem, Visit
from scheduling.engine.planner.solving import Limits, Progress, solve
from tests.plan_cases import FACTS, OAK, OAK_PLACE, block, june
from tests.plan_worlds import on_the_map, with_permit, with_ticket

OAK_HOURS = {
    Phase.REMOVAL: 3.0,
    Phase.LAYOUT: 1.0,
    Phase.DIG: 4.0,
    Phase.SET: 6.0,
    Phase.HANG: 8.0,
    Phase.GATES: 3.0,
    Phase.CLEAN_UP: 2.0,
}
HOURS: Mapping[str, Mapping[Phase, float]] = {
    "oak": OAK_HOURS,
    "elm": {Phase.DIG: 5.0, Phase.SET: 3.0, Phase.HANG: 6.0},
    "ash": {Phase.EXTRA: 2.0},
}


def asked(facts: Facts, *keys: str, last: int = 24, **more: Any) -> Asked:
    """Ask for a plan from 1 June on, by both crews."""
    jobs = tuple(
        Wanted(
            job=key,
            hours=dict.fromkeys(facts.crews, HOURS[key]),
            first_day=june(1),
            last_day=june(last),
        )
        for key in keys or ("oak", "elm", "ash")
    )
    return Asked(
        jobs=jobs,
        fixed=more.pop("fixed", ()),
        facts=facts,
        first_day=june(1),
        last_day=june(last),
        **more,
    )


def planned(facts: Facts, *keys: str, last: int = 24, **more: Any) -> Planned:
    limits = Limits(seconds=20)
    return make_plan(asked(facts, *keys, last=last, **more), limits, clock=time.monotonic)


def days(plan: Planned, job: str) -> list[tuple[int, Phase, float]]:
    return [(one.date.day, one.phase, one.hours) for one in plan.blocks if one.job == job]


def test_three_jobs_come_out_as_worked_by_hand() -> None:
    """Oak's ticket is good from Wed 3, Elm's from Thu 4; the concrete waits as in `plan_cases`.

    Oak: removal, layout and dig fill Wed 3, its posts are set Thu 4 by 13:00, panels may hang from
    Sat 6, so on Mon 8; gates from Tue 9. From Wed to Tue are 6 days, and no start later in the week
    has fewer. Elm set on a day hangs two days on at the soonest, when its 24 h are over in the
    afternoon: 2 days. Nobody drives, so it is 8 days over all.
    """
    plan = planned(FACTS)
    assert days(plan, "oak") == [
        (3, Phase.REMOVAL, 3),
        (3, Phase.LAYOUT, 1),
        (3, Phase.DIG, 4),
        (4, Phase.SET, 6),
        (8, Phase.HANG, 8),
        (9, Phase.GATES, 3),
        (9, Phase.CLEAN_UP, 2),
    ]
    assert plan.figures.span_days == 8
    assert all(one.is_proven for one in plan.stages)
    assert plan.waits == {}
    assert find_violations(plan.blocks, FACTS) == ()


def test_what_stands_fixed_stays_and_the_rest_goes_around_it() -> None:
    fixed = (block("elm", Phase.DIG, "a", 8, 5), block("elm", Phase.SET, "a", 8, 3))
    hours = {crew: {Phase.HANG: 6.0} for crew in FACTS.crews}
    hang = Wanted(job="elm", hours=hours, first_day=june(1), last_day=june(24))
    ask = asked(FACTS, "oak", fixed=fixed)
    plan = make_plan(replace(ask, jobs=(*ask.jobs, hang)), Limits(seconds=20), clock=time.monotonic)
    # Set on Mon 8 by 15:00, fabric after 24 h: from Tue 9 15:00, when the crew's day is over.
    assert days(plan, "elm") == [(10, Phase.HANG, 6)]
    assert {one.crew for one in plan.blocks if one.job == "elm"} == {"a"}
    assert find_violations([*fixed, *plan.blocks], FACTS) == ()


def test_promise_goes_before_everything_else() -> None:
    """One crew, two jobs of a day each: the promised one is first though the other is due first."""
    one_crew = {"a": FACTS.crews["a"]}
    ash = replace(FACTS.jobs["ash"], promised_on=june(1))
    yew = replace(FACTS.jobs["ash"], name="Yew", wanted_by=june(1))
    facts = replace(FACTS, crews=one_crew, jobs={"ash": ash, "yew": yew})
    hours = {"a": {Phase.EXTRA: 8.0}}
    jobs = tuple(
        Wanted(job=key, hours=hours, first_day=june(1), last_day=june(5)) for key in ("yew", "ash")
    )
    ask = Asked(jobs=jobs, fixed=(), facts=facts, first_day=june(1), last_day=june(5))
    plan = make_plan(ask, Limits(seconds=10), clock=time.monotonic)
    assert [(one.date.day, one.job) for one in plan.blocks] == [(1, "ash"), (2, "yew")]
    assert (plan.figures.broken, plan.figures.late_days) == (0, 1)


def test_two_small_jobs_near_each_other_share_a_day() -> None:
    """Ash lies at Oak's, 10.4 min from the yard: its own day would cost two more such ways."""
    facts = on_the_map(FACTS, ash=OAK_PLACE)
    plan = planned(facts)
    ash = next(one for one in plan.blocks if one.job == "ash")
    beside = {(one.crew, one.date) for one in plan.blocks if one.job == "oak"}
    assert (ash.crew, ash.date) in beside
    # Oak on four days and Ash with it: 4 x 20.8; Elm on two: 2 x 62.4, in whole minutes 10 and 31.
    assert plan.figures.minutes == 4 * 20 + 2 * 62
    assert find_violations(plan.blocks, facts) == ()


def test_machine_is_rented_only_where_it_saves_a_late_day() -> None:
    """Two jobs to be dug on one day with one auger: the second is rented or a day late."""
    dig = {Phase.DIG: 8.0}
    pine = replace(
        OAK,
        name="Pine",
        phases=(Phase.DIG,),
        concrete=None,
        wanted_by=june(3),
        machines={Phase.DIG: "auger"},
    )
    fir = replace(pine, name="Fir")
    for is_rentable, late, rented in ((False, 1, 0), (True, 0, 100)):
        auger = Machine(
            name="Auger", is_rentable=is_rentable, day_rate=FACTS.machines["auger"].day_rate + 300
        )
        facts = replace(FACTS, jobs={"pine": pine, "fir": fir}, machines={"auger": auger})
        jobs = tuple(
            Wanted(job=key, hours={"a": dig, "b": dig}, first_day=june(1), last_day=june(9))
            for key in ("pine", "fir")
        )
        ask = Asked(jobs=jobs, fixed=(), facts=facts, first_day=june(1), last_day=june(9))
        plan = make_plan(ask, Limits(seconds=10), clock=time.monotonic)
        # 300.00 a day at 3.00 a minute on the road.
        assert (plan.figures.late_days, plan.figures.minutes) == (late, rented)
        assert find_violations(plan.blocks, facts) == ()


def test_shown_days_stay_unless_something_is_gained() -> None:
    shown = (block("ash", Phase.EXTRA, "b", 9, 2),)
    plan = planned(FACTS, "ash", shown=shown)
    assert [(one.date.day, one.crew) for one in plan.blocks] == [(9, "b")]
    urgent = replace(FACTS.jobs["ash"], promised_on=june(2))
    plan = planned(replace(FACTS, jobs={**FACTS.jobs, "ash": urgent}), "ash", shown=shown)
    assert plan.blocks[0].date <= june(2)


@pytest.mark.parametrize(
    ("job", "last", "reasons"),
    [
        (with_ticket(OAK, clear_on=june(20)), 12, ["Locate ticket"]),
        (with_permit(OAK, OAK.standing.papers[0].state), 4, ["Locate ticket"]),
    ],
)
def test_job_without_a_place_is_told_why(job: Any, last: int, reasons: Sequence[str]) -> None:
    plan = planned(replace(FACTS, jobs={**FACTS.jobs, "oak": job}), "oak", last=last)
    assert plan.blocks == ()
    assert len(plan.waits["oak"]) == len(reasons)
    for words, sentence in zip(reasons, plan.waits["oak"], strict=True):
        assert words in sentence


def test_reason_names_a_day_on_which_a_crew_works() -> None:
    """June 6 and 7 are a weekend on which nobody works anyway."""
    job = with_ticket(OAK, clear_on=june(20))
    facts = replace(FACTS, jobs={**FACTS.jobs, "oak": job})
    hours = dict.fromkeys(facts.crews, HOURS["oak"])
    wanted = Wanted(job="oak", hours=hours, first_day=june(6), last_day=june(12))
    asked = Asked(jobs=(wanted,), fixed=(), facts=facts, first_day=june(6), last_day=june(12))
    (said,) = make_plan(asked, Limits(seconds=10), clock=time.monotonic).waits["oak"]
    assert "on Mon Jun 8" in said


def test_two_reasons_are_both_told_when_each_alone_would_bar_nothing() -> None:
    """The ticket ends on Fri 5, the customer wants nobody there before Mon 8: both bar the dig."""
    job = with_ticket(OAK, clear_on=june(1), expires_on=june(5))
    oak = replace(job, not_before=june(8))
    plan = planned(replace(FACTS, jobs={**FACTS.jobs, "oak": oak}), "oak")
    assert len(plan.waits["oak"]) == 2
    told = " ".join(plan.waits["oak"])
    assert "customer" in told
    assert "Locate ticket" in told


def test_rival_is_named_where_there_is_room_for_one_only() -> None:
    one_crew = {"a": FACTS.crews["a"]}
    ash = replace(FACTS.jobs["ash"], promised_on=june(1))
    yew = replace(FACTS.jobs["ash"], name="Yew")
    facts = replace(FACTS, crews=one_crew, jobs={"ash": ash, "yew": yew})
    hours = {"a": {Phase.EXTRA: 8.0}}
    jobs = tuple(
        Wanted(job=key, hours=hours, first_day=june(1), last_day=june(1)) for key in ("yew", "ash")
    )
    ask = Asked(jobs=jobs, fixed=(), facts=facts, first_day=june(1), last_day=june(1))
    plan = make_plan(ask, Limits(seconds=10), clock=time.monotonic)
    assert [one.job for one in plan.blocks] == ["ash"]
    assert plan.waits == {"yew": ("Ash takes the days it could have.",)}


def toy(*jobs: tuple[int, int, int], due: int) -> Problem:
    """One crew sets for some days, waits for the concrete, hangs; all is over by a day or late."""
    horizon = 40
    line = Line(Stretch(begins=day, length=1, day=day) for day in range(horizon))

    def choice(length: int, wait: int | None = None) -> Choice:
        ready = {} if wait is None else {1: Hardening(lambda made: made + wait)}
        return Choice(crew="a", length=length, starts=((0, horizon - length),), ready=ready)

    orders = [
        Order(
            key=f"job {number}",
            visits=(Visit(choices=(choice(sets, wait),)), Visit(choices=(choice(hangs),))),
        )
        for number, (sets, wait, hangs) in enumerate(jobs)
    ]
    last = Choice(crew="end", length=1, starts=((0, horizon - 1),))
    after = tuple(one.key for one in orders)
    # The day after all else: on day `due` when everything is over in `due` days.
    orders.append(Order(key="end", visits=(Visit(choices=(last,)),), due_day=due, after=after))
    return Problem(lines={"a": line, "end": line}, orders=tuple(orders))


@pytest.mark.parametrize(
    ("jobs", "best"),
    [
        # By hand: 2 days of setting, 3 of waiting, 1 of hanging.
        ([(2, 3, 1)], 6),
        # Interleaved: set, set, wait, wait, hang, hang; one after the other it would be 10.
        ([(1, 3, 1), (1, 3, 1)], 6),
        ([(1, 0, 1), (1, 0, 1)], 4),
        # The waits hide behind other work: 2 + 1 + 3 days of setting, 1 + 1 + 2 of hanging.
        ([(2, 0, 1), (1, 0, 1), (3, 0, 2)], 10),
        ([(2, 2, 1), (1, 2, 1), (3, 2, 2)], 10),
        ([(2, 3, 1), (1, 3, 1), (3, 3, 2)], 10),
    ],
)
def test_waits_hide_behind_other_work(jobs: list[tuple[int, int, int]], best: int) -> None:
    for due, late in ((best, 0), (best - 1, 1)):
        limits = Limits(seconds=20, until="late_days")
        found = solve(toy(*jobs, due=due), limits, clock=time.monotonic)
        (stage,) = [one for one in found.stages if one.name == "late_days"]
        assert (stage.value, stage.bound) == (late, late)


def test_weekend_hardens_concrete_but_no_crew_works_on_it() -> None:
    """Set on Fri 5 by 12:00 in air of 45 F, fast mix: 72 h for fabric, so from Mon 8 12:00."""
    elm = FACTS.jobs["elm"]
    assert elm.concrete is not None
    elm = replace(with_ticket(elm, clear_on=june(5)), concrete=replace(elm.concrete, air_f=45.0))
    facts = replace(FACTS, jobs={**FACTS.jobs, "elm": elm}, crews={"a": FACTS.crews["a"]})
    hours = {"a": {Phase.DIG: 2.0, Phase.SET: 3.0, Phase.HANG: 3.0}}
    jobs = (Wanted(job="elm", hours=hours, first_day=june(1), last_day=june(9)),)
    ask = Asked(jobs=jobs, fixed=(), facts=facts, first_day=june(1), last_day=june(9))
    plan = make_plan(ask, Limits(seconds=10), clock=time.monotonic)
    hang = [one for one in plan.blocks if one.phase == Phase.HANG]
    assert [(one.date, one.start) for one in hang] == [(june(8), dt.time(12))]
    assert find_violations(plan.blocks, facts) == ()


def test_jobs_that_wait_for_one_another_are_refused() -> None:
    line = Line([Stretch(begins=0, length=4, day=0)])
    visit = Visit(choices=(Choice(crew="a", length=1, starts=((0, 3),)),))
    orders = (
        Order(key="one", visits=(visit,), after=("other",)),
        Order(key="other", visits=(visit,), after=("one",)),
    )
    with pytest.raises(EngineError, match="wait for one another"):
        Problem(lines={"a": line}, orders=orders)


def test_who_watches_may_end_it_and_keeps_the_plan_so_far() -> None:
    told: list[Progress] = []

    def stop(progress: Progress) -> bool:
        told.append(progress)
        return True

    plan = make_plan(asked(FACTS), Limits(seconds=20, told=stop), clock=time.monotonic)
    assert plan.was_stopped
    assert {one.job for one in plan.blocks} == {"oak", "elm", "ash"}
    assert told[0].aim == "unplaced"
    assert find_violations(plan.blocks, FACTS) == ()


def test_getting_ready_is_told_as_such_and_no_part_of_the_time(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Compiling takes 500 s by this clock, and the solve may look for 5 s after it."""
    late_s, told = [0.0], []
    begin = Improving.begin

    def compiled_slowly(improving: Improving) -> None:
        before = time.monotonic()
        begin(improving)
        late_s[0] = 500.0 - (time.monotonic() - before)

    def note(progress: Progress) -> bool:
        told.append(progress.began and progress.began - began)
        return False

    monkeypatch.setattr(Improving, "begin", compiled_slowly)
    began = time.monotonic()
    make_plan(
        asked(FACTS), Limits(seconds=5, told=note), clock=lambda: time.monotonic() + late_s[0]
    )
    assert told[0] == pytest.approx(0, abs=1)
    assert told.count(None) == 1
    assert told[-1] == pytest.approx(500, abs=3)


def test_no_jobs_make_an_empty_plan() -> None:
    ask = Asked(jobs=(), fixed=(), facts=FACTS, first_day=june(1), last_day=june(2))
    plan = make_plan(ask, Limits(seconds=1), clock=time.monotonic)
    assert (plan.blocks, plan.waits) == ((), {})


def test_day_behind_a_fixed_block_keeps_the_drive() -> None:
    """Elm stands fixed on Mon 8 from 7 to 12; Oak is 20.8 min away: its crew begins at 12:30."""
    facts = on_the_map(replace(FACTS, crews={"a": FACTS.crews["a"]}))
    fixed = (CrewDay(job="elm", phase=Phase.DIG, crew="a", date=june(8), hours=5),)
    oak = with_ticket(facts.jobs["oak"], clear_on=june(8), expires_on=june(8))
    facts = replace(facts, jobs={**facts.jobs, "oak": replace(oak, concrete=None)})
    hours = {"a": {Phase.REMOVAL: 2.0}}
    jobs = (Wanted(job="oak", hours=hours, first_day=june(8), last_day=june(9)),)
    ask = Asked(jobs=jobs, fixed=fixed, facts=facts, first_day=june(8), last_day=june(9))
    plan = make_plan(ask, Limits(seconds=5), clock=time.monotonic)
    assert [(one.date, one.start) for one in plan.blocks] == [(june(8), dt.time(12, 30))]


def test_line_of_a_short_handed_day_takes_longer_for_its_work() -> None:
    # Six units of real time hold four of the whole crew's; one takes 1.5, whole ones 2, 3, 5, 6.
    line = Line([Stretch(begins=10, length=4, lasts=6, day=0), Stretch(begins=20, length=2, day=1)])
    assert [line.begins(place) for place in range(6)] == [10, 12, 13, 15, 20, 21]
    assert [line.ends(place) for place in range(1, 7)] == [12, 13, 15, 16, 21, 22]
    assert [line.first_from(at) for at in (9, 10, 11, 12, 13, 14, 15, 16)] == [
        *(0, 0, 1, 1, 2, 3, 3, 4)
    ]
    assert [line.last_until(at) for at in (9, 10, 11, 12, 13, 14, 15, 16)] == [
        *(0, 0, 0, 1, 2, 2, 3, 4)
    ]
    assert [(one.begins, one.span) for one in line.pieces(1, 5)] == [(12, 4), (20, 2)]
    with pytest.raises(EngineError, match="more work than it is long"):
        Line([Stretch(begins=0, length=4, lasts=3, day=0)])


def test_plan_with_some_away_has_the_hours_of_those_there() -> None:
    """10 h of three from Mon 1 on, with one away on Monday."""
    ash = FACTS.jobs["ash"]
    crew = replace(FACTS.crews["a"], people=3, away={june(1): 1})
    wanted = Wanted(
        job="ash", hours={"a": {Phase.EXTRA: 10.0}}, first_day=june(1), last_day=june(3)
    )
    facts = replace(FACTS, jobs={"ash": ash}, crews={"a": crew})
    ask = Asked(jobs=(wanted,), fixed=(), facts=facts, first_day=june(1), last_day=june(3))
    plan = make_plan(ask, Limits(seconds=5), clock=time.monotonic)
    # Monday's 32 quarters x 2/3 hold 21 of 40; 19 are left. Without Monday it ends on Wednesday.
    assert [(one.date, one.hours) for one in plan.blocks] == [(june(1), 8.0), (june(2), 4.75)]
    three = replace(facts, jobs={"ash": replace(ash, people={Phase.EXTRA: 3})})
    plan = make_plan(replace(ask, facts=three), Limits(seconds=5), clock=time.monotonic)
    assert [(one.date, one.hours) for one in plan.blocks] == [(june(2), 8.0), (june(3), 2.0)]
    short = replace(wanted, hours={"a": {Phase.EXTRA: 3.0}})
    late = replace(ask, jobs=(short,), facts=three, last_day=june(1))
    assert make_plan(late, Limits(seconds=5), clock=time.monotonic).waits == {
        "ash": ("Other work asks for 3 people, and 2 of Crew A's 3 are there on Mon Jun 1, 2026.",)
    }
