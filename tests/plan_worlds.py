"""The plan of `plan_cases` with something changed: by hand, or drawn at random."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from hypothesis import strategies as st

from scheduling.engine.driving import Place
from scheduling.engine.plan import Crew, CrewDay, Facts, JobFacts, Machine, Phase
from scheduling.engine.standing import Answer, Kind, Material, Paper, State, UtilityAnswer
from tests.plan_cases import (
    ASH,
    CHICAGO,
    ELM,
    ELM_PLACE,
    FACTS,
    OAK,
    OAK_PLACE,
    PLAN,
    YARD,
    june,
)


def changed(key: str, plan: Sequence[CrewDay] = PLAN, **changes: Any) -> tuple[CrewDay, ...]:
    """Return the plan with one block changed."""
    assert any(one.key == key for one in plan)
    return tuple(replace(one, **changes) if one.key == key else one for one in plan)


def facts_with(**jobs: JobFacts) -> Facts:
    return replace(FACTS, jobs={**FACTS.jobs, **jobs})


def with_ticket(job: JobFacts, **changes: Any) -> JobFacts:
    (ticket,) = job.standing.tickets
    return replace(job, standing=replace(job.standing, tickets=(replace(ticket, **changes),)))


def with_permit(job: JobFacts, state: State) -> JobFacts:
    papers = tuple(
        Paper(kind=one.kind, state=state) if one.kind == Kind.PERMIT else one
        for one in job.standing.papers
    )
    return replace(job, standing=replace(job.standing, papers=papers))


def with_air(job: JobFacts, air_f: float) -> JobFacts:
    assert job.concrete is not None
    return replace(job, concrete=replace(job.concrete, air_f=air_f))


def with_inspection(job: JobFacts, *, booked: int = 0, passed: int = 0) -> JobFacts:
    standing = replace(
        job.standing,
        inspection_before_pour=True,
        inspection_booked_on=june(booked) if booked else None,
        inspection_passed_on=june(passed) if passed else None,
    )
    return replace(job, standing=standing)


def with_material(job: JobFacts, phase: Phase, **days: int) -> JobFacts:
    material = Material(**{f"{name}_on": june(day) for name, day in days.items()})
    return replace(job, materials={**job.materials, phase: material})


SELDOM = st.sampled_from([False, False, False, True])
HALVES = st.integers(1, 20).map(lambda halves: halves / 2)
STARTS = st.none() | st.builds(dt.time, st.integers(5, 16), st.sampled_from([0, 30]))
CHANGES: st.SearchStrategy[dict[str, Any]] = st.one_of(
    st.fixed_dictionaries({"date": st.integers(1, 14).map(june)}),
    st.fixed_dictionaries({"hours": HALVES}),
    st.fixed_dictionaries({"start": STARTS}),
    st.fixed_dictionaries({"crew": st.sampled_from(["a", "b"])}),
    st.fixed_dictionaries({"machine": st.sampled_from(["", "auger", "mixer"])}),
)


@st.composite
def further_work(draw: st.DrawFn, *, key: str) -> CrewDay:
    """Draw some more work on Ash on the day of another block, perhaps right behind it."""
    beside = draw(st.sampled_from(PLAN[:-1]))
    hours = draw(st.sampled_from([0.25, 1.0, 2.5]))
    start = draw(st.none() | st.builds(dt.time, st.integers(7, 14)))
    return CrewDay(
        job="ash",
        phase=Phase.EXTRA,
        crew=beside.crew,
        date=beside.date,
        hours=hours,
        start=start,
        key=key,
    )


@st.composite
def plans(draw: st.DrawFn) -> tuple[CrewDay, ...]:
    """Draw the good plan with up to three blocks changed, some more, left out or moved."""
    plan: tuple[CrewDay, ...] = PLAN
    for _ in range(draw(st.sampled_from([0, 1, 1, 2, 3]))):
        plan = changed(draw(st.sampled_from(PLAN)).key, plan, **draw(CHANGES))
    for count in range(draw(st.integers(0, 2))):
        plan = (*plan, draw(further_work(key=f"ash more {count}")))
    if draw(SELDOM):
        left_out = draw(st.sampled_from(PLAN)).key
        plan = tuple(one for one in plan if one.key != left_out)
    return tuple(draw(st.permutations(plan))) if draw(SELDOM) else plan


def on_the_map(facts: Facts, *, ash: Place | None = None) -> Facts:
    """Return the firm with its yard and the places of Oak and Elm; Ash's may be unknown."""
    places = {"oak": OAK_PLACE, "elm": ELM_PLACE, "ash": ash}
    jobs = {key: replace(job, place=places[key]) for key, job in facts.jobs.items()}
    return replace(facts, jobs=jobs, yard=YARD)


@st.composite
def worlds(draw: st.DrawFn) -> Facts:
    """Draw the firm with some facts changed, on the map or off it."""
    facts = draw(worlds_off_the_map())
    if draw(SELDOM):
        rain = st.dictionaries(st.integers(1, 14).map(june), st.sampled_from([0.2, 0.25, 1.0]))
        limits = {Phase.DIG: 0.5, Phase.SET: 0.25, Phase.HANG: 0.2}
        facts = replace(facts, wet_days=draw(rain), rain_limit_in=limits)
    if draw(SELDOM):
        welding = frozenset({"welding"})
        skilled = draw(st.sampled_from(["a", "b"]))
        gone = dict.fromkeys(draw(st.sets(st.integers(1, 12).map(june), max_size=3)), welding)
        able = replace(facts.crews[skilled], skills=welding, skills_away=gone)
        crews = {**facts.crews, skilled: able}
        phase = draw(st.sampled_from([Phase.SET, Phase.HANG]))
        oak = replace(facts.jobs["oak"], skills={phase: welding})
        facts = replace(facts, crews=crews, jobs={**facts.jobs, "oak": oak})
    if draw(SELDOM):
        facts = draw(with_people_away(facts))
    if draw(SELDOM):
        elm = replace(
            facts.jobs["elm"],
            closed_days=frozenset(draw(st.sets(st.integers(1, 10).map(june), max_size=3))),
            not_before=draw(st.none() | st.integers(1, 10).map(june)),
            after_job=draw(st.sampled_from(["", "oak", "ash"])),
        )
        facts = replace(facts, jobs={**facts.jobs, "elm": elm})
    if draw(SELDOM):
        return facts
    return on_the_map(facts, ash=draw(st.sampled_from([None, OAK_PLACE, ELM_PLACE])))


@st.composite
def with_people_away(draw: st.DrawFn, facts: Facts) -> Facts:
    """Draw crews of two or three with some away, and phases that ask for so many."""
    away = st.dictionaries(st.integers(1, 12).map(june), st.integers(0, 2), max_size=4)
    crews = {
        key: replace(crew, people=draw(st.sampled_from([2, 3])), away=draw(away))
        for key, crew in facts.crews.items()
    }
    phases = st.sampled_from([Phase.DIG, Phase.SET, Phase.HANG])
    oak = replace(facts.jobs["oak"], people=draw(st.dictionaries(phases, st.integers(2, 3))))
    return replace(facts, crews=crews, jobs={**facts.jobs, "oak": oak})


@st.composite
def worlds_off_the_map(draw: st.DrawFn) -> Facts:
    """Draw the firm with one or two facts changed."""
    jobs = {"oak": OAK, "elm": ELM, "ash": ASH}
    key = draw(st.sampled_from(["oak", "elm"]))
    job = jobs[key]
    match draw(st.integers(0, 7)):
        case 1:
            first = draw(st.integers(1, 10))
            last = draw(st.integers(first, 20))
            job = with_ticket(job, clear_on=june(first), expires_on=june(last))
        case 2:
            answer = UtilityAnswer(utility="Gas", answer=draw(st.sampled_from(list(Answer))))
            job = with_ticket(job, answers=draw(st.sampled_from([(), (answer,)])))
        case 3:
            job = with_permit(job, draw(st.sampled_from(list(State))))
        case 4:
            job = with_air(job, draw(st.integers(30, 80)))
        case 5:
            over = dt.datetime.combine(draw(st.integers(1, 8).map(june)), dt.time(), CHICAGO)
            job = replace(job, standing=replace(job.standing, cancellation_ends_at=over))
        case 6:
            days = st.dictionaries(st.sampled_from(["promised", "received"]), st.integers(0, 10))
            job = with_material(job, draw(st.sampled_from(job.phases)), **draw(days))
        case 7:
            days = st.dictionaries(st.sampled_from(["booked", "passed"]), st.integers(1, 8))
            job = with_inspection(job, **draw(days))
        case _:
            pass
    off = draw(st.sets(st.integers(3, 9).map(june), max_size=1)) if draw(SELDOM) else ()
    hours = draw(st.sampled_from([8, 8, 8, 10]))
    crews = {**FACTS.crews, "b": Crew(name="Crew B", hours=hours, days_off=frozenset(off))}
    augers = Machine(
        name="Auger", owned=draw(st.sampled_from([1, 1, 1, 2, 0])), is_rentable=draw(SELDOM)
    )
    return replace(
        FACTS,
        jobs={**jobs, key: job},
        crews=crews,
        machines={**FACTS.machines, "auger": augers},
    )


@st.composite
def jobs_to_place(draw: st.DrawFn) -> tuple[str, dict[Phase, float], Facts, tuple[CrewDay, ...]]:
    """Draw a job, the hours of its phases, a firm, and what stands on its calendar.

    Of the job itself one phase may stand there, as if placed by hand; it then has no hours.
    """
    facts = draw(worlds())
    key = draw(st.sampled_from(["oak", "elm"]))
    machine = draw(st.sampled_from(["", "auger", "mixer"]))
    job = replace(facts.jobs[key], machines={Phase.DIG: machine} if machine else {})
    by_hand = draw(st.sampled_from(job.phases)) if draw(SELDOM) else None
    hours = {phase: draw(HALVES) for phase in job.phases if phase != by_hand}
    standing = tuple(one for one in draw(plans()) if one.job != key or one.phase == by_hand)
    if not any(one.phase == by_hand for one in standing if one.job == key):
        hours = {phase: hours.get(phase, 2.0) for phase in job.phases}
    return key, hours, replace(facts, jobs={**facts.jobs, key: job}), standing
