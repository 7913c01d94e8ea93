"""Customers' days, jobs that wait for others, rain, rented machines: how the plan takes them."""

import datetime as dt
from decimal import Decimal
from typing import Any

import pytest
from django.db import IntegrityError, transaction

from firm.errors import Refusal
from firm.models import AuditEntry, Role, User
from scheduling.models import Crew, FenceJob, JobDates, Machine, RainDay
from scheduling.selectors.planning import job_waits, standing_plan
from scheduling.services.job_details import set_dates
from scheduling.services.placing import place_job
from scheduling.services.weather import write_down_rain
from tests.crew_cast import buy_auger, days_of, make_full_job, make_red_crew, may, put_on
from tests.factories import NOW

pytestmark = pytest.mark.django_db


@pytest.fixture
def office() -> User:
    return User.objects.create_user("office", role=Role.OFFICE)


@pytest.fixture
def crew() -> Crew:
    return make_red_crew()


@pytest.fixture
def job() -> FenceJob:
    return make_full_job(1001, on=may(4))


def write(job: FenceJob, office: User, **changes: Any) -> JobDates:
    values: dict[str, Any] = {
        "promised_on": None,
        "wanted_by": None,
        "not_before": None,
        "closed_days": [],
        "after_job": None,
    }
    return set_dates(job=job, values=values | changes, actor=office, now=NOW)


def test_days_are_written_down_once_and_changed(job: FenceJob, office: User) -> None:
    write(job, office)
    assert not JobDates.objects.exists()
    write(job, office, promised_on=may(20))
    write(job, office, promised_on=may(21), closed_days=["2026-05-08"])
    row = JobDates.objects.get()
    assert (row.promised_on, row.closed_days) == (may(21), ["2026-05-08"])
    assert list(AuditEntry.objects.values_list("action", flat=True).order_by("pk")) == [
        "wrote down a job's days",
        "changed a job's days",
    ]


def test_placing_keeps_clear_of_the_customer_s_days(
    job: FenceJob, crew: Crew, office: User
) -> None:
    # Two people: layout 0.75 h and digging 3.25 h on one day.
    write(job, office, not_before=may(6), closed_days=["2026-05-07", "2026-05-06"])
    place_job(job=job, actor=None, now=NOW)
    assert days_of(job)[:2] == ["8 layout 0.75", "8 dig 3.25"]


def test_job_page_says_whether_the_plan_keeps_the_promise(
    job: FenceJob, crew: Crew, office: User
) -> None:
    assert job_waits(job, NOW).promise == ""
    write(job, office, promised_on=may(20))
    open_words = "Promised for Wed May 20, 2026: not all of the work is on the calendar yet."
    assert job_waits(job, NOW).promise == open_words
    place_job(job=job, actor=None, now=NOW)
    last = job.crew_days.order_by("-date")[0].date
    kept = job_waits(job, NOW).promise
    assert kept == f"Promised for Wed May 20, 2026: the plan ends on {last:%a %b} {last.day}, " + (
        f"{last.year} and keeps it."
    )
    write(job, office, promised_on=may(20), wanted_by=last - dt.timedelta(days=2))
    assert job_waits(job, NOW).promise.endswith("2026, 2 days too late.")


def test_job_that_waits_for_another_is_placed_behind_it(
    job: FenceJob, crew: Crew, office: User
) -> None:
    first = make_full_job(1002, on=may(4))
    write(job, office, after_job=first)
    with pytest.raises(Refusal, match="comes first, and its layout is not on the calendar"):
        place_job(job=job, actor=None, now=NOW)
    place_job(job=first, actor=None, now=NOW)
    place_job(job=job, actor=None, now=NOW)
    ends = first.crew_days.order_by("-date")[0].date
    begins = job.crew_days.order_by("date")[0].date
    assert begins >= ends
    assert not standing_plan(today=may(4)).facts.jobs[str(first.pk)].after_job
    # What is called off is waited for no more.
    FenceJob.objects.filter(pk=first.pk).update(
        state="called_off", called_off_at=NOW, called_off_reason="Moved away"
    )
    assert standing_plan(today=may(4)).facts.jobs[str(job.pk)].after_job == ""


def test_circle_of_waiting_jobs_is_refused_at_the_field(job: FenceJob, office: User) -> None:
    second, third = make_full_job(1002, on=may(4)), make_full_job(1003, on=may(4))
    write(second, office, after_job=job)
    write(third, office, after_job=second)
    circles = {
        job: "A job can't wait for itself.",
        second: "Job 1001 would wait for itself: it waits for Job 1002, which waits for Job 1001.",
        third: "Job 1001 would wait for itself: it waits for Job 1003, which waits for Job 1002, "
        "which waits for Job 1001.",
    }
    for first, words in circles.items():
        with pytest.raises(Refusal) as refused:
            write(job, office, after_job=first)
        assert str(refused.value) == words
        assert refused.value.field == "after_job"
    # Turning the middle one round is no circle.
    write(second, office, after_job=None)
    write(job, office, after_job=second)


def test_database_refuses_what_no_form_would_send(job: FenceJob) -> None:
    refused: list[dict[str, Any]] = [
        {"after_job": job},
        {"promised_on": may(6), "not_before": may(7)},
    ]
    for values in refused:
        with pytest.raises(IntegrityError), transaction.atomic():
            JobDates.objects.create(job=job, **values)
    for rain_in in (-0.1, 20.1):
        with pytest.raises(IntegrityError), transaction.atomic():
            RainDay.objects.create(date=may(5), rain_in=rain_in, source="entered", entered_at=NOW)
    with pytest.raises(IntegrityError), transaction.atomic():
        Machine.objects.create(name="Auger", day_rate=Decimal(-1))


def test_rain_moves_the_digging_and_not_the_layout(job: FenceJob, crew: Crew, office: User) -> None:
    # Digging goes on in up to half an inch, setting in a quarter: common practice, no source.
    write_down_rain(rain={may(5): 0.6, may(6): 0.3}, actor=office, now=NOW)
    place_job(job=job, actor=None, now=NOW)
    assert days_of(job)[:3] == ["5 layout 0.75", "6 dig 3.25", "7 set 2.50"]
    write_down_rain(rain={may(5): None}, actor=office, now=NOW)
    place_job(job=job, actor=None, now=NOW)
    assert days_of(job)[:2] == ["5 layout 0.75", "5 dig 3.25"]


def test_rain_no_day_has_is_refused(office: User) -> None:
    with pytest.raises(Refusal, match="from 0 to 20 in") as refused:
        write_down_rain(rain={may(5): 21.0}, actor=office, now=NOW)
    assert refused.value.field == "2026-05-05-rain_in"


def test_auger_that_can_be_rented_is_not_waited_for(job: FenceJob, crew: Crew) -> None:
    auger = buy_auger(job)
    # Out on Tuesdays alone: no other crew is done with the job sooner.
    blue = Crew.objects.create(name="Blue crew", weekdays="1")
    put_on(make_full_job(1002, on=may(4)), "dig", blue, may(5), hours="8", machine=auger)
    place_job(job=job, actor=None, now=NOW)
    assert "6 dig 3.25" in days_of(job)
    Machine.objects.update(is_rentable=True, day_rate=185)
    place_job(job=job, actor=None, now=NOW)
    assert "5 dig 3.25" in days_of(job)
