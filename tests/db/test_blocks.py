"""Blocks put, moved and dropped by hand: checked at once, and refused with the reason."""

import datetime as dt
from decimal import Decimal
from typing import Any

import pytest

from firm.errors import Refusal
from firm.models import AuditEntry, Clearance
from scheduling.models import AirTemperature, Crew, CrewDay, FenceJob, JobDates
from scheduling.services.planning import add_block, drop_block, move_block, place_job
from tests.crew_cast import buy_auger, make_full_job, make_red_crew, may, put_on
from tests.factories import NOW

pytestmark = pytest.mark.django_db

# NOW is Monday, 4 May 2026, 11:00 in New York; the first day to place is Tuesday, 5 May.
MONDAY = dt.date(2026, 5, 4)


@pytest.fixture
def crew(db: None) -> Crew:
    return make_red_crew()


def add(job: FenceJob, kind: str, crew: Crew, day: int, **changes: Any) -> CrewDay:
    values: dict[str, Any] = {
        "job": job,
        "phase": job.phases.get(kind=kind),
        "crew": crew,
        "date": may(day),
        "hours": Decimal(2),
        "start": None,
        "air_f": None,
        "actor": None,
        "now": NOW,
    }
    return add_block(**(values | changes))


def move(block: CrewDay, **changes: Any) -> CrewDay:
    values: dict[str, Any] = {
        "block": block,
        "crew": block.crew,
        "date": block.date,
        "hours": block.hours,
        "start": block.start,
        "air_f": block.air_f,
        "actor": None,
        "now": NOW,
    }
    return move_block(**(values | changes))


def test_blocks_put_by_hand_follow_one_another_and_are_pinned(crew: Crew) -> None:
    job = make_full_job(1001, on=MONDAY)
    rows = [add(job, "layout", crew, 5), add(job, "dig", crew, 5, air_f=55.0)]
    assert [(row.position, row.is_pinned) for row in rows] == [(0, True), (1, True)]
    assert rows[1].air_f == 55.0


@pytest.mark.parametrize(
    ("changes", "words", "field"),
    [
        ({"date": dt.date(2026, 5, 9)}, "Red crew does not work on Sat May 9, 2026.", ""),
        ({"hours": Decimal(9)}, "9 h planned, 8 h there.", ""),
        ({"start": dt.time(6)}, "its day begins at 07:00.", ""),
        ({"date": dt.date(2026, 5, 1)}, "That day is over", "date"),
        ({"hours": Decimal(0)}, "up to 24 hours", "hours"),
        ({"hours": Decimal(25)}, "up to 24 hours", "hours"),
    ],
)
def test_block_that_breaks_something_is_refused_and_not_written(
    crew: Crew, changes: dict[str, Any], words: str, field: str
) -> None:
    job = make_full_job(1001, on=MONDAY)
    with pytest.raises(Refusal) as refused:
        add(job, "layout", crew, 5, **changes)
    assert words in refused.value.message
    assert refused.value.field == field
    assert not CrewDay.objects.exists()
    assert not AuditEntry.objects.filter(action="put a block on the calendar").exists()


def test_hanging_moved_before_its_concrete_is_hard_is_refused_with_the_reason(crew: Crew) -> None:
    job = make_full_job(1001, on=MONDAY)
    place_job(job=job, actor=None, now=NOW)
    hang = CrewDay.objects.get(phase__kind="hang")
    with pytest.raises(Refusal) as refused:
        move(hang, date=may(7), start=None)
    assert refused.value.message == (
        "Job 1001: hanging on Thu May 7 07:00 comes too early. "
        "As planned, posts are set Tue 13:30, standard mix. Panels from Saturday 11:45: 94.25 h "
        "at a mean of 40 F "
        "count as 30.5 h at 73 F; 25 % of strength needs 30.5 h (the firm's table 72 h, the label "
        "24 h)."
    )
    hang.refresh_from_db()
    assert (hang.date, hang.is_pinned) == (may(11), False)


def test_warm_air_lets_panels_hang_sooner(crew: Crew) -> None:
    job = make_full_job(1001, on=MONDAY)
    place_job(job=job, actor=None, now=NOW)
    move(CrewDay.objects.get(phase__kind="set"), air_f=72.0)
    # 32 h after Tuesday 13:30: Wednesday 21:30.
    moved = move(CrewDay.objects.get(phase__kind="hang"), date=may(7), start=None)
    assert (moved.date, moved.is_pinned) == (may(7), True)


def test_move_that_pushes_another_job_s_block_too_early_is_refused(crew: Crew) -> None:
    # Hanging follows the other job's layout and begins at 13:30; without that it would at 7:00.
    first, other = make_full_job(1001, on=MONDAY), make_full_job(1002, on=MONDAY)
    # 60 F: the table's 48 h, a quarter of an hour more than strength: Thursday 13:30.
    place_job(job=first, actor=None, now=NOW)
    CrewDay.objects.filter(phase__kind="set").update(air_f=60.0)
    layout = put_on(other, "layout", crew, may(7), hours="6.5", position=0, is_pinned=True)
    hang = CrewDay.objects.get(phase__kind="hang")
    CrewDay.objects.filter(pk=hang.pk).update(date=may(7), position=1, start=None)
    with pytest.raises(Refusal, match="hanging on Thu May 7 07:00 comes too early"):
        drop_block(block=layout, actor=None, now=NOW)
    assert CrewDay.objects.filter(pk=layout.pk).exists()


def test_crew_and_machine_are_not_booked_twice_by_hand(crew: Crew) -> None:
    white = Crew.objects.create(name="White crew")
    first, other = make_full_job(1001, on=MONDAY), make_full_job(1002, on=MONDAY)
    buy_auger(first)
    for job, who in ((first, crew), (other, white)):
        add(job, "layout", who, 5)
    add(first, "dig", crew, 5)
    with pytest.raises(Refusal, match="Small auger on Tue May 5, 2026: wanted by"):
        add(other, "dig", white, 5)
    with pytest.raises(Refusal, match="Red crew is in two places"):
        add(other, "dig", crew, 5, start=dt.time(8))
    assert add(other, "dig", white, 6).machine is not None


def test_what_was_wrong_before_bars_no_other_change(crew: Crew) -> None:
    job = make_full_job(1001, on=MONDAY)
    rows = [add(job, "layout", crew, 5), add(job, "dig", crew, 5)]
    Clearance.objects.filter(site=job.site, kind="locate").update(state="asked")
    assert move(rows[0], hours=Decimal(1)).hours == 1


def test_wait_that_is_broken_already_bars_no_move_of_the_job_waited_for(crew: Crew) -> None:
    first, other = make_full_job(1, on=MONDAY), make_full_job(2, on=MONDAY)
    for job in (first, other):
        job.phases.exclude(kind="dig").update(finished_on=dt.date(2026, 5, 1))
    block = put_on(first, "dig", crew, may(6))
    put_on(other, "dig", crew, may(5))
    put_on(other, "dig", crew, may(7))
    JobDates.objects.create(job=other, after_job=first)
    assert move(block, hours=Decimal(5)).hours == 5
    with pytest.raises(Refusal, match="Job 2: digging on Thu May 7 07:00 comes too early") as told:
        move(block, date=may(7), start=dt.time(11))
    # Tuesday's was too early before; only Thursday's is so by the move.
    assert "Tue May 5" not in str(told.value)


def test_same_phase_of_a_crew_stands_once_on_a_day(crew: Crew) -> None:
    job = make_full_job(1001, on=MONDAY)
    add(job, "layout", crew, 5)
    other_day = add(job, "layout", crew, 6)
    with pytest.raises(Refusal, match="already") as refused:
        add(job, "layout", crew, 5)
    assert refused.value.field == "date"
    with pytest.raises(Refusal, match="already") as refused:
        move(other_day, date=may(5))
    assert refused.value.field == "date"


def test_blocks_of_a_day_change_places(crew: Crew) -> None:
    first, other = make_full_job(1001, on=MONDAY), make_full_job(1002, on=MONDAY)
    add(first, "layout", crew, 5)
    second = add(other, "layout", crew, 5)
    third = add(other, "dig", crew, 5)
    move(second, position=0)
    rows = CrewDay.objects.filter(crew=crew, date=may(5))
    assert rows[0].pk == second.pk
    assert [row.position for row in rows] == [0, 1, 2]
    with pytest.raises(Refusal, match="comes too early"):
        move(third, position=0)
    assert rows.all()[0].pk == second.pk


def test_block_moved_to_another_crew_s_day_goes_to_its_end(crew: Crew) -> None:
    white = Crew.objects.create(name="White crew")
    first, other = make_full_job(1001, on=MONDAY), make_full_job(1002, on=MONDAY)
    add(first, "layout", white, 6)
    moved = move(add(other, "layout", crew, 5), crew=white, date=may(6))
    assert (moved.crew, moved.position) == (white, 1)


def test_phases_are_dropped_from_the_last_on(crew: Crew) -> None:
    job = make_full_job(1001, on=MONDAY)
    layout, dig = add(job, "layout", crew, 5), add(job, "dig", crew, 5)
    with pytest.raises(Refusal, match="layout is not on the calendar"):
        drop_block(block=layout, actor=None, now=NOW)
    drop_block(block=dig, actor=None, now=NOW)
    drop_block(block=layout, actor=None, now=NOW)
    assert not CrewDay.objects.exists()
    entries = AuditEntry.objects.filter(action="took a block off the calendar")
    assert [entry.before["hours"] for entry in entries] == ["2.00", "2.00"]


def test_nothing_is_placed_for_a_job_that_is_over_by_a_crew_that_left_or_of_another_job(
    crew: Crew,
) -> None:
    job, other = make_full_job(1001, on=MONDAY), make_full_job(1002, on=MONDAY)
    with pytest.raises(Refusal, match="another job"):
        add(job, "layout", crew, 5, phase=other.phases.get(kind="layout"))
    gone = Crew.objects.create(name="Old crew", is_active=False)
    with pytest.raises(Refusal, match="no more"):
        add(job, "layout", gone, 5)
    FenceJob.objects.filter(pk=job.pk).update(state="finished", finished_at=NOW)
    job.refresh_from_db()
    with pytest.raises(Refusal, match="Job 1001 is finished"):
        add(job, "layout", crew, 5)
    with pytest.raises(Refusal, match="Job 1001 is finished"):
        place_job(job=job, actor=None, now=NOW)


def test_moved_block_takes_the_air_of_its_new_day(crew: Crew) -> None:
    AirTemperature.objects.create(
        date=may(7), low_f=50.0, high_f=64.0, source="forecast", entered_at=NOW
    )
    job = make_full_job(1001, on=MONDAY)
    job.phases.filter(kind__in=["layout", "dig"]).update(finished_on=may(4))
    block = put_on(job, "set", crew, may(5), air_f=72.0)
    # Of Wednesday nothing is known: what was typed stays; Thursday has its own.
    block = move(block, date=may(6))
    assert block.air_f == 72.0
    block = move(block, date=may(7))
    assert block.air_f is None
    # Typed for the day it goes to, it stays.
    block = move(block, date=may(6), air_f=55.0)
    assert move(block, date=may(7), air_f=58.0).air_f == 58.0


def test_block_of_a_day_that_is_over_stays_where_it_is(crew: Crew) -> None:
    job = make_full_job(1, on=may(4))
    past = put_on(job, "dig", crew, may(1))
    for asked in ({"date": may(8)}, {"hours": Decimal(3)}):
        with pytest.raises(Refusal, match="what was done on it stays") as refused:
            move(past, **asked)
        assert refused.value.field == "date"
    past.refresh_from_db()
    assert past.date == may(1)
