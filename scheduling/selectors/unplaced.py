"""Jobs that have work without a day, and what each of them waits for."""

import datetime as dt
from dataclasses import dataclass

from django.db.models import Exists, OuterRef

from scheduling.engine.standing import Condition
from scheduling.models import CrewDay, FenceJob, JobPhase
from scheduling.selectors.jobs import job_rows, jobs_in_state

MOST = 30


@dataclass(frozen=True, kw_only=True, slots=True)
class UnplacedJob:
    """A job with phases that stand on no day; `block` is what bars its dig today, if anything."""

    job: FenceJob
    phases: list[JobPhase]
    block: Condition | None
    has_days: bool


def unplaced_jobs(*, now: dt.datetime, most: int = MOST) -> list[UnplacedJob]:
    """Return the jobs to do with phases that are neither finished nor on a day, oldest first."""
    days = CrewDay.objects.filter(phase=OuterRef("pk"))
    open_phases = JobPhase.objects.filter(job=OuterRef("pk"), finished_on=None).exclude(
        Exists(days)
    )
    jobs = (
        jobs_in_state(FenceJob.State.TO_DO)
        .filter(Exists(open_phases))
        .prefetch_related("phases", "phases__crew_days")
        .order_by("signed_at", "pk")[:most]
    )
    return [_unplaced(row.job, row.block) for row in job_rows(jobs, now=now)]


def _unplaced(job: FenceJob, block: Condition | None) -> UnplacedJob:
    phases = list(job.phases.all())
    return UnplacedJob(
        job=job,
        phases=[
            phase
            for phase in phases
            if phase.finished_on is None and not list(phase.crew_days.all())
        ],
        block=block,
        has_days=any(list(phase.crew_days.all()) for phase in phases),
    )
