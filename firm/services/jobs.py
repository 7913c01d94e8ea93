"""Queueing, running, repeating and cancelling background jobs."""

import datetime as dt
import logging
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from django.conf import settings
from django.db import models, transaction
from kombu.exceptions import OperationalError

from firm.celery import app
from firm.errors import Refusal
from firm.models.jobs import Job, JobState

logger = logging.getLogger(__name__)

LEASE = dt.timedelta(minutes=10)
MAX_ATTEMPTS = 5
FIRST_PAUSE = dt.timedelta(seconds=15)
RUN_TASK = "firm.tasks.run_job"


class JobCancelledError(Exception):
    """Someone cancelled the job while it ran."""


@dataclass(frozen=True, kw_only=True, slots=True)
class JobRun:
    """What a handler is told about the one try it carries out."""

    job_id: int
    attempt: int
    arguments: Mapping[str, Any]
    now: dt.datetime
    started_s: float

    def report(self, progress_pct: int) -> None:
        """Show how far the job is, renew its lease, and stop here if it was cancelled.

        Raises:
            JobCancelledError: let it pass; what was committed before it stays.
        """
        mine = Job.objects.filter(pk=self.job_id, state=JobState.RUNNING, attempts=self.attempt)
        kept = mine.filter(cancel_requested=False).update(
            progress_pct=progress_pct, lease_until=self.later() + LEASE
        )
        if not kept:
            raise JobCancelledError

    def later(self) -> dt.datetime:
        """Return the time now: the time of the start and what the run took since."""
        return self.now + dt.timedelta(seconds=time.monotonic() - self.started_s)


Handler = Callable[[JobRun], Mapping[str, Any] | None]
_handlers: dict[str, Handler] = {}


def job_handler(kind: str) -> Callable[[Handler], Handler]:
    """Register a function, in an app's `tasks` module, as what carries out jobs of `kind`.

    A handler may run twice (a worker can die after its last write), so it looks first whether
    its work is done. It runs outside any transaction and opens short ones of its own.
    """

    def register(handler: Handler) -> Handler:
        if _handlers.setdefault(kind, handler) is not handler:
            raise RuntimeError(f"Two handlers are registered for jobs of kind {kind!r}.")
        return handler

    return register


def enqueue(
    *,
    kind: str,
    arguments: Mapping[str, Any],
    now: dt.datetime,
    dedup_key: str | None = None,
    due_at: dt.datetime | None = None,
) -> Job:
    """Queue a job with the transaction it is called in; return its row.

    With a `dedup_key` that an earlier job has, that job is returned and nothing is queued.
    """
    if kind not in _handlers:
        raise RuntimeError(f"No handler is registered for jobs of kind {kind!r}.")
    values = {
        "kind": kind,
        "arguments": dict(arguments),
        "created_at": now,
        "due_at": due_at or now,
    }
    with transaction.atomic():
        if dedup_key is None:
            job, is_new = Job.objects.create(**values), True
        else:
            job, is_new = Job.objects.get_or_create(dedup_key=dedup_key, defaults=values)
        if is_new and job.due_at <= now:
            transaction.on_commit(lambda: _send(job_id=job.pk, now=now))
    return job


def is_open(*, kind: str) -> bool:
    """Return whether a job of this kind waits or runs."""
    open_states = (JobState.QUEUED, JobState.RUNNING)
    return Job.objects.filter(kind=kind, state__in=open_states).exists()


def _send(*, job_id: int, now: dt.datetime) -> None:
    """Tell a worker to look at the row; a broker that is away is left to the sweep."""
    if settings.FF_JOBS_INLINE:
        run_job(job_id=job_id, now=now)
        return
    try:
        app.send_task(RUN_TASK, args=[job_id])
    except (OperationalError, OSError):
        logger.warning("Job %s waits for the next sweep: the broker did not answer.", job_id)


def run_job(*, job_id: int, now: dt.datetime) -> bool:
    """Carry out one job if it is still to be done; return whether this call claimed it."""
    claimed = (
        Job.objects.claimable(now)
        .filter(pk=job_id)
        .update(
            state=JobState.RUNNING,
            attempts=models.F("attempts") + 1,
            lease_until=now + LEASE,
            error="",
        )
    )
    if not claimed:
        return False
    job = Job.objects.get(pk=job_id)
    run = JobRun(
        job_id=job.pk,
        attempt=job.attempts,
        arguments=job.arguments,
        now=now,
        started_s=time.monotonic(),
    )
    if job.cancel_requested:
        _close(run=run, state=JobState.CANCELLED)
    elif job.attempts > MAX_ATTEMPTS:
        _close(run=run, state=JobState.FAILED, error="The worker stopped at every try.")
    else:
        _carry_out(job=job, run=run)
    return True


def _carry_out(*, job: Job, run: JobRun) -> None:
    try:
        result = _handlers[job.kind](run)
    except JobCancelledError:
        _close(run=run, state=JobState.CANCELLED)
    except Refusal as refusal:
        # Trying again would not help; the sentence is for the user.
        _close(run=run, state=JobState.FAILED, error=str(refusal))
    except Exception as error:  # Whatever a handler meets, its row must tell, and the worker go on.
        logger.exception("Job %s failed at try %s.", job, run.attempt)
        _try_later_or_give_up(run=run, error=f"{type(error).__name__}: {error}")
    else:
        _close(run=run, state=JobState.DONE, result=result)


def _close(
    *, run: JobRun, state: JobState, result: Mapping[str, Any] | None = None, error: str = ""
) -> None:
    """Write how the try ended, unless another worker took the job over in the meantime."""
    _running(run).update(
        state=state,
        result=None if result is None else dict(result),
        error=error,
        finished_at=run.later(),
        lease_until=None,
        **({"progress_pct": 100} if state == JobState.DONE else {}),
    )


def _try_later_or_give_up(*, run: JobRun, error: str) -> None:
    if run.attempt >= MAX_ATTEMPTS:
        _close(run=run, state=JobState.FAILED, error=error)
        return
    # 15 s, 30 s, 1 min, 2 min.
    pause = FIRST_PAUSE * 2 ** (run.attempt - 1)
    _running(run).update(
        state=JobState.QUEUED, due_at=run.later() + pause, error=error, lease_until=None
    )


def _running(run: JobRun) -> models.QuerySet[Job]:
    return Job.objects.filter(pk=run.job_id, state=JobState.RUNNING, attempts=run.attempt)


def cancel_job(*, job: Job, now: dt.datetime) -> bool:
    """Cancel a waiting job at once, or ask a running one to stop; return whether it was open."""
    waiting = Job.objects.filter(pk=job.pk, state=JobState.QUEUED).update(
        state=JobState.CANCELLED, cancel_requested=True, finished_at=now
    )
    asked = Job.objects.filter(pk=job.pk, state=JobState.RUNNING).update(cancel_requested=True)
    job.refresh_from_db()
    return bool(waiting or asked)


def sweep(*, now: dt.datetime) -> int:
    """Send again what is due or whose worker died; return how many were sent."""
    waiting = list(Job.objects.claimable(now).order_by("due_at").values_list("pk", flat=True))
    for job_id in waiting:
        _send(job_id=job_id, now=now)
    return len(waiting)


def run_due_jobs(*, now: dt.datetime) -> int:
    """Carry out, in this process, everything that is due; return how many were."""
    due = list(Job.objects.claimable(now).order_by("due_at").values_list("pk", flat=True))
    return sum(run_job(job_id=job_id, now=now) for job_id in due)
