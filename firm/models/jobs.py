"""Background jobs: work to be done once, kept as rows until it is."""

import datetime as dt

from django.db import models


class JobState(models.TextChoices):
    QUEUED = "queued", "Waiting"
    RUNNING = "running", "Running"
    DONE = "done", "Done"
    FAILED = "failed", "Failed"
    CANCELLED = "cancelled", "Cancelled"


class JobQuerySet(models.QuerySet["Job"]):
    """Questions asked of jobs."""

    def claimable(self, now: dt.datetime) -> "JobQuerySet":
        """Return what is due, and what a worker began but let its lease run out on."""
        return self.filter(
            models.Q(state=JobState.QUEUED, due_at__lte=now)
            | models.Q(state=JobState.RUNNING, lease_until__lt=now)
        )


class Job(models.Model):
    """One piece of background work; the queue's message only says to look at this row."""

    kind = models.CharField(max_length=80)
    arguments = models.JSONField(default=dict, blank=True)
    # Null, not empty, where there is none: any number of nulls pass a unique column.
    dedup_key = models.CharField(max_length=200, unique=True, null=True, blank=True)
    state = models.CharField(
        max_length=10, choices=JobState.choices, default=JobState.QUEUED, db_index=True
    )
    progress_pct = models.PositiveSmallIntegerField(default=0)
    cancel_requested = models.BooleanField(default=False)
    attempts = models.PositiveSmallIntegerField(default=0)
    lease_until = models.DateTimeField(null=True, blank=True)
    result = models.JSONField(null=True, blank=True)
    error = models.TextField(blank=True)
    created_at = models.DateTimeField()
    due_at = models.DateTimeField()
    finished_at = models.DateTimeField(null=True, blank=True)

    objects = JobQuerySet.as_manager()

    class Meta:
        ordering = ("-created_at", "-id")
        indexes = (models.Index(fields=["state", "due_at"], name="firm_job_state_due"),)
        constraints = (
            models.CheckConstraint(
                condition=models.Q(state__in=JobState.values), name="firm_job_state_known"
            ),
            models.CheckConstraint(
                condition=models.Q(progress_pct__lte=100), name="firm_job_progress_to_100"
            ),
            models.CheckConstraint(
                condition=~models.Q(state="running") | models.Q(lease_until__isnull=False),
                name="firm_job_running_has_lease",
            ),
            models.CheckConstraint(
                condition=models.Q(state__in=["queued", "running"])
                | models.Q(finished_at__isnull=False),
                name="firm_job_ended_has_time",
            ),
        )

    def __str__(self) -> str:
        return f"{self.kind} #{self.pk}"

    @property
    def is_over(self) -> bool:
        """Say whether nothing more will happen to this job."""
        return self.state in {JobState.DONE, JobState.FAILED, JobState.CANCELLED}
