"""Questions about the end of a job: what is open, and what was signed."""

from dataclasses import dataclass

from scheduling.models import Completion, FenceJob, JobPhase, PunchItem


@dataclass(frozen=True, kw_only=True, slots=True)
class JobEnd:
    """What stands between a job and its end, or the signature that ended it."""

    completion: Completion | None
    items: list[PunchItem]
    phases: list[JobPhase]

    @property
    def open_items(self) -> list[PunchItem]:
        """What is still to be put right."""
        return [item for item in self.items if item.done_at is None]


def job_end(job: FenceJob) -> JobEnd:
    """Return how far a job is from its end; three queries."""
    return JobEnd(
        completion=Completion.objects.filter(job=job).select_related("taken_by").first(),
        items=list(PunchItem.objects.filter(job=job).select_related("done_by")),
        phases=open_phases(job),
    )


def open_items(job: FenceJob) -> list[PunchItem]:
    """Return what is still to be put right, in the order it was written down."""
    return list(PunchItem.objects.filter(job=job, done_at=None))


def open_phases(job: FenceJob) -> list[JobPhase]:
    """Return the phases nobody has marked finished."""
    return list(JobPhase.objects.filter(job=job, finished_on=None))
