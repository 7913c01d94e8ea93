"""Background jobs: done once, tried again, given up, cancelled, never lost."""

import datetime as dt
from collections.abc import Iterator, Mapping
from typing import Any

import pytest
from django.db import IntegrityError, transaction
from kombu.exceptions import OperationalError
from pytest_django import DjangoCaptureOnCommitCallbacks, Settings

from firm import tasks
from firm.celery import app
from firm.errors import Refusal
from firm.models.jobs import Job, JobState
from firm.services import jobs

pytestmark = pytest.mark.django_db

NOON = dt.datetime(2025, 5, 6, 12, 0, tzinfo=dt.UTC)
MINUTE = dt.timedelta(minutes=1)

calls: list[int] = []


@jobs.job_handler("tests.count")
def count(run: jobs.JobRun) -> Mapping[str, Any]:
    calls.append(run.job_id)
    return {"sum": sum(run.arguments["numbers"])}


@jobs.job_handler("tests.break")
def break_down(run: jobs.JobRun) -> None:
    calls.append(run.job_id)
    raise ZeroDivisionError("nothing to divide by")


@jobs.job_handler("tests.refuse")
def refuse(run: jobs.JobRun) -> None:
    raise Refusal("Estimate 7 has no lines.")


@jobs.job_handler("tests.cancelled_half_way")
def be_cancelled(run: jobs.JobRun) -> None:
    run.report(50)
    jobs.cancel_job(job=Job.objects.get(pk=run.job_id), now=run.now)
    run.report(60)
    raise AssertionError("A cancelled job went on.")


@jobs.job_handler("tests.taken_over")
def be_taken_over(run: jobs.JobRun) -> Mapping[str, Any]:
    # What another worker does once this one's lease has run out.
    Job.objects.filter(pk=run.job_id).update(attempts=run.attempt + 1)
    return {"from": "the slow worker"}


@pytest.fixture(autouse=True)
def _no_calls_yet() -> Iterator[None]:
    calls.clear()
    yield
    calls.clear()


def queue(kind: str = "tests.count", **changes: Any) -> Job:
    given: dict[str, Any] = {"arguments": {"numbers": [1, 2]}, "now": NOON} | changes
    return jobs.enqueue(kind=kind, **given)


def test_job_runs_after_the_transaction_that_queued_it(
    django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks,
) -> None:
    with django_capture_on_commit_callbacks(execute=True):
        job = queue()
        assert calls == []

    job.refresh_from_db()
    assert calls == [job.pk]
    assert (job.state, job.progress_pct, job.result) == (JobState.DONE, 100, {"sum": 3})


def test_transaction_that_fails_queues_nothing(
    django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks,
) -> None:
    def queue_and_fail() -> None:
        with transaction.atomic():
            queue()
            raise ZeroDivisionError

    with django_capture_on_commit_callbacks(execute=True), pytest.raises(ZeroDivisionError):
        queue_and_fail()

    assert not Job.objects.exists()
    assert calls == []


def test_job_runs_once_however_often_it_is_sent() -> None:
    job = queue()

    assert jobs.run_job(job_id=job.pk, now=NOON)
    assert not jobs.run_job(job_id=job.pk, now=NOON)
    assert calls == [job.pk]


def test_same_dedup_key_queues_once() -> None:
    first = queue(dedup_key="proposal 7 sent")
    second = queue(dedup_key="proposal 7 sent")

    assert second.pk == first.pk
    assert Job.objects.count() == 1


def test_unknown_kind_is_refused_when_queued() -> None:
    with pytest.raises(RuntimeError, match="No handler"):
        queue("tests.unheard_of")


def test_second_handler_for_a_kind_is_refused() -> None:
    with pytest.raises(RuntimeError, match="Two handlers"):
        jobs.job_handler("tests.count")(break_down)


def test_job_waits_until_it_is_due() -> None:
    job = queue(due_at=NOON + MINUTE)

    assert jobs.run_due_jobs(now=NOON) == 0
    assert jobs.run_due_jobs(now=NOON + MINUTE) == 1
    assert calls == [job.pk]


def test_broken_job_is_tried_five_times_with_growing_pauses_then_given_up() -> None:
    job = queue("tests.break")
    now = NOON
    # Pauses of 15, 30, 60 and 120 s; a second more each, for what the run itself took.
    for tried, pause_s in enumerate([15, 30, 60, 120], start=1):
        assert jobs.run_due_jobs(now=now) == 1
        job.refresh_from_db()
        assert (job.state, job.attempts) == (JobState.QUEUED, tried)
        assert jobs.run_due_jobs(now=now + dt.timedelta(seconds=pause_s - 1)) == 0
        now += dt.timedelta(seconds=pause_s + 1)

    assert jobs.run_due_jobs(now=now) == 1
    job.refresh_from_db()
    assert job.state == JobState.FAILED
    assert job.error == "ZeroDivisionError: nothing to divide by"
    assert len(calls) == 5


def test_refusal_fails_at_once_with_its_sentence() -> None:
    job = queue("tests.refuse")
    jobs.run_due_jobs(now=NOON)

    job.refresh_from_db()
    assert (job.state, job.attempts) == (JobState.FAILED, 1)
    assert job.error == "Estimate 7 has no lines."


def test_job_of_a_dead_worker_is_done_by_the_next_after_its_lease() -> None:
    job = queue()
    Job.objects.filter(pk=job.pk).update(
        state=JobState.RUNNING, attempts=1, lease_until=NOON + 10 * MINUTE
    )

    assert jobs.run_due_jobs(now=NOON + 9 * MINUTE) == 0
    assert jobs.run_due_jobs(now=NOON + 11 * MINUTE) == 1
    job.refresh_from_db()
    assert (job.state, job.attempts) == (JobState.DONE, 2)


def test_job_that_kills_every_worker_is_given_up() -> None:
    job = queue()
    Job.objects.filter(pk=job.pk).update(
        state=JobState.RUNNING, attempts=5, lease_until=NOON - MINUTE
    )

    jobs.run_due_jobs(now=NOON)

    job.refresh_from_db()
    assert job.state == JobState.FAILED
    assert calls == []


def test_worker_that_lost_its_lease_does_not_overwrite_the_next_ones_row() -> None:
    job = queue("tests.taken_over")
    jobs.run_due_jobs(now=NOON)

    job.refresh_from_db()
    assert (job.state, job.result) == (JobState.RUNNING, None)


def test_waiting_job_is_cancelled_at_once() -> None:
    job = queue()

    assert jobs.cancel_job(job=job, now=NOON)
    assert jobs.run_due_jobs(now=NOON) == 0
    assert job.state == JobState.CANCELLED
    assert job.is_over
    assert not jobs.cancel_job(job=job, now=NOON)


def test_running_job_stops_at_its_next_report_after_a_cancel() -> None:
    job = queue("tests.cancelled_half_way")
    jobs.run_due_jobs(now=NOON)

    job.refresh_from_db()
    assert (job.state, job.progress_pct) == (JobState.CANCELLED, 50)


def test_sweep_sends_what_is_due_and_nothing_else() -> None:
    due = queue()
    queue(due_at=NOON + MINUTE)

    assert jobs.sweep(now=NOON) == 1
    assert calls == [due.pk]


def test_job_survives_a_broker_that_is_away(
    settings: Settings,
    monkeypatch: pytest.MonkeyPatch,
    django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks,
) -> None:
    def refuse_connection(*args: object, **kwargs: object) -> None:
        raise OperationalError("connection refused")

    settings.FF_JOBS_INLINE = False
    monkeypatch.setattr(app, "send_task", refuse_connection)
    with django_capture_on_commit_callbacks(execute=True):
        job = queue()

    assert jobs.run_due_jobs(now=NOON) == 1
    assert calls == [job.pk]


def test_message_names_the_row_and_the_task_reads_it(
    settings: Settings,
    monkeypatch: pytest.MonkeyPatch,
    django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks,
) -> None:
    sent: list[tuple[str, list[int]]] = []

    def keep(name: str, *, args: list[int]) -> None:
        sent.append((name, args))

    settings.FF_JOBS_INLINE = False
    monkeypatch.setattr(app, "send_task", keep)
    with django_capture_on_commit_callbacks(execute=True):
        job = queue()
    assert sent == [(tasks.run_job.name, [job.pk])]

    tasks.run_job(job.pk)
    tasks.sweep_jobs()

    assert calls == [job.pk]


@pytest.mark.parametrize(
    ("changes", "rule"),
    [
        ({"state": "lost", "finished_at": NOON}, "firm_job_state_known"),
        ({"progress_pct": 101}, "firm_job_progress_to_100"),
        ({"state": "running"}, "firm_job_running_has_lease"),
        ({"state": "done"}, "firm_job_ended_has_time"),
    ],
)
def test_database_refuses_an_impossible_row(changes: dict[str, Any], rule: str) -> None:
    job = queue()

    with pytest.raises(IntegrityError, match=rule), transaction.atomic():
        Job.objects.filter(pk=job.pk).update(**changes)
