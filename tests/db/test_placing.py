"""Placing jobs on the calendar: as early as all that they wait for allows."""

import datetime as dt
from decimal import Decimal

import pytest

from firm.errors import Refusal
from firm.models import AuditEntry, Clearance, JobSite, Role
from scheduling.models import Crew, CrewDay, DayReport, FenceJob
from scheduling.services.calendar_rows import clear_future_blocks
from scheduling.services.jobs import call_off_job, make_job
from scheduling.services.planning import add_block, place_all, place_job
from tests.cast import make_person
from tests.crew_cast import buy_auger, days_of, make_full_job, make_red_crew, may, put_on
from tests.factories import NOW, make_firm
from tests.job_cast import DAY, make_accepted_proposal, settle

pytestmark = pytest.mark.django_db

# NOW is Monday, 4 May 2026, 11:00 in New York; the first day to place is Tuesday, 5 May.
MONDAY = dt.date(2026, 5, 4)


@pytest.fixture
def crew(db: None) -> Crew:
    return make_red_crew()


# Labour of `make_full_job` over two people, up to the quarter hour: layout 1.4 = 0.75;
# dig 6.3 = 3.25; set 4.54 = 2.50; hang 2.95 = 1.50; gates 1.25 = 0.75; clean-up 4.736 = 2.50.
# Tuesday from 7:00: layout till 7:45, dig till 11:00, set till 13:30. No air temperature is
# written down, so 40 F is counted, where an hour counts as exp(-5000 x (1/277.594 - 1/296.15)) =
# .3235. Panels need 30.476 h at 73 F, so 94.21, up to 94.25: Saturday 11:45, so Monday 11. Gates
# need 69.960 h, so 216.27, up to 216.50: Thursday 14 May 14:00, till 14:45, which leaves 0.25 h:
# too little for 2.50 h of clean-up, so Friday.
EXPECTED = [
    "5 layout 0.75",
    "5 dig 3.25",
    "5 set 2.50",
    "11 hang 1.50",
    "14 gates 14:00 0.75",
    "15 clean_up 2.50",
]


def test_job_is_placed_in_order_as_early_as_its_concrete_allows(crew: Crew) -> None:
    job = make_full_job(1001, on=MONDAY)
    person = make_person(Role.OFFICE)
    rows = place_job(job=job, actor=person, now=NOW)
    assert days_of(job) == EXPECTED
    assert [row.pk for row in rows] == [row.pk for row in CrewDay.objects.all()]
    assert [row.position for row in rows] == [0, 1, 2, 0, 0, 0]
    assert {(row.is_pinned, row.placed_by, row.placed_at) for row in rows} == {(False, person, NOW)}
    entries = AuditEntry.objects.filter(action="placed a job on the calendar")
    assert entries.count() == len(EXPECTED)
    assert {entry.actor for entry in entries} == {person}


def test_placing_again_changes_nothing(crew: Crew) -> None:
    job = make_full_job(1001, on=MONDAY)
    first = place_job(job=job, actor=None, now=NOW)
    entries = AuditEntry.objects.count()
    again = place_job(job=job, actor=None, now=NOW)
    assert [row.pk for row in again] == [row.pk for row in first]
    assert AuditEntry.objects.count() == entries


def test_placing_again_follows_what_has_changed(crew: Crew) -> None:
    job = make_full_job(1001, on=MONDAY)
    place_job(job=job, actor=None, now=NOW)
    Clearance.objects.filter(site=job.site, kind="locate").update(clear_on=may(6))
    place_job(job=job, actor=None, now=NOW)
    # Layout needs no ticket. Set on Wednesday till 12:45: panels from Sunday 11:00, so Monday 11;
    # gates on Friday 15 from 13:15 till 14:00, and 1.00 h is left of that day.
    assert days_of(job) == [
        "5 layout 0.75",
        "6 dig 3.25",
        "6 set 2.50",
        "11 hang 1.50",
        "15 gates 13:15 0.75",
        "15 clean_up 1.00",
        "18 clean_up 1.50",
    ]
    # Hanging stands on Monday 11 either way.
    assert AuditEntry.objects.filter(action="took a block off the calendar").count() == 3


def test_empty_crew_counts_as_the_firm_s_usual_number_of_people() -> None:
    make_firm(crew_size=3)
    Crew.objects.create(name="Blue crew")
    job = make_full_job(1001, on=MONDAY)
    place_job(job=job, actor=None, now=NOW)
    # 6.3 / 3 = 2.1, up to 2.25.
    assert "5 dig 2.25" in days_of(job)


def test_members_who_left_do_not_count(crew: Crew) -> None:
    crew.members.filter(name="Bo Tarn").update(is_active=False)
    job = make_full_job(1001, on=MONDAY)
    place_job(job=job, actor=None, now=NOW)
    assert "5 dig 6.50" in days_of(job)


def test_job_that_waits_is_refused_in_words_and_nothing_is_written(crew: Crew) -> None:
    job = make_full_job(1001, on=MONDAY)
    Clearance.objects.filter(site=job.site, kind="permit").update(state="asked")
    with pytest.raises(Refusal) as refused:
        place_job(job=job, actor=None, now=NOW)
    assert refused.value.message == (
        "Job 1001: digging finds no day until Fri Jul 3, 2026. Permit: asked for, not here yet."
    )
    assert not CrewDay.objects.exists()


def test_without_a_crew_nothing_is_placed() -> None:
    with pytest.raises(Refusal, match="No crew"):
        place_job(job=make_full_job(1001, on=MONDAY), actor=None, now=NOW)


def test_crew_that_goes_out_no_more_is_not_planned(crew: Crew) -> None:
    Crew.objects.update(is_active=False)
    with pytest.raises(Refusal, match="No crew"):
        place_job(job=make_full_job(1001, on=MONDAY), actor=None, now=NOW)


def test_machine_that_digs_on_the_site_is_booked_for_the_digging_only(crew: Crew) -> None:
    job = make_full_job(1001, on=MONDAY)
    auger = buy_auger(job)
    rows = place_job(job=job, actor=None, now=NOW)
    assert [row.phase.kind for row in rows if row.machine == auger] == ["dig"]


def test_two_jobs_share_no_crew_and_no_machine(crew: Crew) -> None:
    Crew.objects.create(name="White crew")
    jobs = [make_full_job(1001 + number, on=MONDAY) for number in range(3)]
    buy_auger(jobs[0])
    found = place_all(actor=None, now=NOW)
    assert [job.pk for job in found.placed] == [job.pk for job in jobs]
    assert found.waiting == ()
    digs = CrewDay.objects.filter(machine__isnull=False).values_list("date", "crew")
    assert len({day for day, _ in digs}) == len({*digs})
    for date, name in CrewDay.objects.values_list("date", "crew").distinct():
        mine = CrewDay.objects.filter(date=date, crew=name)
        assert sum(row.hours for row in mine) <= 8


def test_all_are_placed_in_order_of_signing_and_those_that_wait_are_told(crew: Crew) -> None:
    late = make_full_job(1001, on=MONDAY, signed_at=NOW - DAY, cancellation_ends_at=NOW)
    early = make_full_job(1002, on=MONDAY, signed_at=NOW - 2 * DAY, cancellation_ends_at=NOW - DAY)
    waits = make_full_job(1003, on=MONDAY)
    Clearance.objects.filter(site=waits.site, kind="deposit").update(state="not_asked")
    found = place_all(actor=None, now=NOW)
    assert [job.pk for job in found.placed] == [early.pk, late.pk]
    assert [(job.pk, words) for job, words in found.waiting] == [
        (
            waits.pk,
            "Job 1003: digging finds no day until Fri Jul 3, 2026. Deposit: not asked for yet.",
        )
    ]
    assert days_of(early) == EXPECTED
    # Early fills Tuesday till 13:30; 0.75 h of layout fit after it, digging needs Wednesday.
    assert days_of(late)[:3] == ["5 layout 0.75", "6 dig 3.25", "6 set 2.50"]


def test_what_a_person_placed_stays_and_the_rest_goes_around_it(crew: Crew) -> None:
    job = make_full_job(1001, on=MONDAY)
    pinned = add_block(
        job=job,
        phase=job.phases.get(kind="layout"),
        crew=crew,
        date=may(6),
        hours=Decimal(2),
        start=dt.time(10),
        air_f=None,
        actor=None,
        now=NOW,
    )
    place_job(job=job, actor=None, now=NOW)
    assert days_of(job)[:3] == ["6 layout 10:00 2.00", "6 dig 3.00", "7 dig 0.25"]
    pinned.refresh_from_db()
    assert (pinned.is_pinned, pinned.date) == (True, may(6))


def test_hours_placed_by_hand_count_by_the_people_of_their_crew(crew: Crew) -> None:
    job = make_full_job(1001, on=MONDAY)
    put_on(job, "layout", crew, may(5), hours="0.75", is_pinned=True)
    put_on(job, "dig", crew, may(5), hours="2", is_pinned=True)
    place_job(job=job, actor=None, now=NOW)
    # 6.3 labour hours less 2 h of two people are 2.3, which are 1.25 h more of the crew.
    assert "6 dig 1.25" in days_of(job)


def test_reported_days_count_as_worked_and_unreported_ones_do_not(crew: Crew) -> None:
    job = make_full_job(1001, on=MONDAY - 7 * DAY)
    put_on(job, "layout", crew, may(1), hours="0.75")
    put_on(job, "dig", crew, may(1), hours="2")
    job.phases.filter(kind="layout").update(finished_on=may(1))
    rained_off = place_job(job=job, actor=None, now=NOW)
    assert [str(row.hours) for row in rained_off if row.phase.kind == "dig"] == ["3.25"]
    DayReport.objects.create(job=job, crew=crew, date=may(1), reported_at=NOW)
    worked = place_job(job=job, actor=None, now=NOW)
    assert [str(row.hours) for row in worked if row.phase.kind == "dig"] == ["1.25"]


def test_phase_nobody_called_finished_keeps_an_hour(crew: Crew) -> None:
    job = make_full_job(1001, on=MONDAY - 7 * DAY)
    put_on(job, "layout", crew, may(1), hours="4")
    DayReport.objects.create(job=job, crew=crew, date=may(1), reported_at=NOW)
    place_job(job=job, actor=None, now=NOW)
    assert "5 layout 1.00" in days_of(job)


def test_finished_phases_are_not_placed_and_lose_their_days(crew: Crew) -> None:
    job = make_full_job(1001, on=MONDAY)
    place_job(job=job, actor=None, now=NOW)
    job.phases.filter(kind="layout").update(finished_on=MONDAY)
    place_job(job=job, actor=None, now=NOW)
    assert days_of(job)[0] == "5 dig 3.25"


def test_real_pour_and_its_air_decide_when_to_hang(crew: Crew) -> None:
    job = make_full_job(1001, on=MONDAY)
    job.phases.filter(kind__in=["layout", "dig", "set"]).update(finished_on=MONDAY)
    # Monday 10:20 in New York; 72 F, where an hour counts as .9565. Panels 30.476 / .9565 = 31.86,
    # up to 32 h: Tuesday 18:20, so Wednesday; gates 69.960 / .9565 = 73.14, up to 73.25 h:
    # Thursday 11:35, so 11:45.
    DayReport.objects.create(
        job=job,
        crew=crew,
        date=MONDAY,
        poured_at=NOW - dt.timedelta(minutes=40),
        air_f=72,
        mix="standard",
        reported_at=NOW,
    )
    place_job(job=job, actor=None, now=NOW)
    assert days_of(job) == ["6 hang 1.50", "7 gates 11:45 0.75", "7 clean_up 2.50"]


def test_job_that_is_called_off_leaves_the_calendar_but_for_reported_days(crew: Crew) -> None:
    job = make_full_job(1001, on=MONDAY - 7 * DAY)
    put_on(job, "layout", crew, may(1), hours="1")
    put_on(job, "layout", crew, MONDAY, hours="1")
    put_on(job, "dig", crew, MONDAY, hours="1")
    put_on(job, "set", crew, may(5), hours="1", is_pinned=True)
    white = Crew.objects.create(name="White crew")
    put_on(job, "layout", white, MONDAY, hours="1")
    DayReport.objects.create(job=job, crew=crew, date=MONDAY, reported_at=NOW)
    call_off_job(job=job, reason="Sold the house", actor=make_person(Role.OFFICE), now=NOW)
    assert days_of(job) == ["1 layout 1.00", "4 layout 1.00", "4 dig 1.00"]
    assert AuditEntry.objects.filter(action="took a block off the calendar").count() == 2
    clear_future_blocks(job=job, actor=None, now=NOW)


def test_new_job_waits_for_material_and_where_the_town_inspects_for_the_inspector() -> None:
    job = make_job(proposal_id=make_accepted_proposal().pk, now=NOW)
    assert set(job.phases.filter(needs_material=True).values_list("kind", flat=True)) == {
        "set",
        "hang",
        "gates",
    }
    assert not job.inspection_before_pour


def test_settled_site_settles_material_and_inspection_of_its_jobs(crew: Crew) -> None:
    job = make_full_job(1001, on=MONDAY)
    job.phases.filter(kind__in=["set", "hang", "gates"]).update(needs_material=True)
    FenceJob.objects.filter(pk=job.pk).update(inspection_before_pour=True)
    job.refresh_from_db()
    with pytest.raises(Refusal, match="Material: no date promised"):
        place_job(job=job, actor=None, now=NOW)
    assert isinstance(job.site, JobSite)
    settle(job.site, on=MONDAY)
    job.refresh_from_db()
    place_job(job=job, actor=None, now=NOW)
    assert days_of(job) == EXPECTED
