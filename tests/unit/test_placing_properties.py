"""No plan the placer returns breaks a rule, as judged by the rules said by hand."""

from collections import Counter

from hypothesis import assume, event, given, settings

from scheduling.engine.placing import Placing, Wanted, place
from scheduling.engine.plan import CrewDay, Facts, Phase
from tests.plan_cases import FACTS, PLAN, breaches_by_hand, june, whole_crew_hours
from tests.plan_worlds import jobs_to_place

World = tuple[str, dict[Phase, float], Facts, tuple[CrewDay, ...]]


def outcome(world: World, standing: tuple[CrewDay, ...], *, last: int = 24) -> Placing:
    job, hours, facts, _ = world
    wanted = Wanted(job=job, hours={"a": hours, "b": hours}, first_day=june(1), last_day=june(last))
    return place(wanted, standing, facts)


def named(blocks: tuple[CrewDay, ...]) -> tuple[CrewDay, ...]:
    """Give every block a key of its own, for the statement by hand."""
    return tuple(
        CrewDay(
            job=one.job,
            phase=one.phase,
            crew=one.crew,
            date=one.date,
            hours=one.hours,
            start=one.start,
            machine=one.machine,
            key=f"new {number}",
        )
        for number, one in enumerate(blocks)
    )


@settings(max_examples=400)
@given(world=jobs_to_place())
def test_no_plan_digs_outside_a_ticket_hangs_too_early_or_books_twice(world: World) -> None:
    _, _, facts, standing = world
    found = outcome(world, standing)
    event("waits" if found.waits_for else "placed")
    assert bool(found.waits_for) != bool(found.blocks)
    before = breaches_by_hand(standing, facts)
    assert breaches_by_hand((*standing, *named(found.blocks)), facts) <= before


@settings(max_examples=200)
@given(world=jobs_to_place())
def test_what_is_placed_has_its_hours_once_and_by_one_crew(world: World) -> None:
    job, hours, facts, standing = world
    found = outcome(world, standing)
    assume(found.blocks)
    placed = Counter[Phase]()
    for one in found.blocks:
        assert one.job == job
        placed[one.phase] += whole_crew_hours(one, facts)  # type: ignore[assignment]
    assert placed.keys() == hours.keys()
    # Some away make a quarter hour out of less.
    assert all(0 <= placed[phase] - each + 1e-6 < 0.25 for phase, each in hours.items())
    if not any(facts.crews[one.crew].away for one in found.blocks):
        assert dict(placed) == hours
    assert len({one.crew for one in found.blocks}) == 1
    places = [(one.phase, one.date) for one in found.blocks]
    assert len(places) == len(set(places))


def test_worlds_hold_both_jobs_that_can_be_placed_and_jobs_that_wait() -> None:
    hours = {Phase.DIG: 5.0, Phase.SET: 3.0, Phase.HANG: 6.0}
    standing = tuple(one for one in PLAN if one.job != "elm")
    assert outcome(("elm", hours, FACTS, standing), standing).blocks
    assert outcome(("elm", hours, FACTS, standing), standing, last=3).waits_for
