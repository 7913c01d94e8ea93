"""Days lost to rain: what was shifted, and which customers are to be told."""

from django.db import models

from firm.models import User
from scheduling.models.crews import Crew
from scheduling.models.jobs import FenceJob


class RainOut(models.Model):
    """One day that was rained out, for one crew or for all of them.

    `short` says in sentences whose material came too late by it.
    """

    class Work(models.TextChoices):
        BARRED = "barred", "What that much rain bars"
        ALL = "all", "All work of the day"

    class Others(models.TextChoices):
        STAY = "stay", "Other jobs stay; the work takes the next free days"
        LINE = "line", "Jobs behind it move back where their days are taken"

    date = models.DateField()
    crew = models.ForeignKey(Crew, on_delete=models.PROTECT, null=True, blank=True)
    work = models.CharField(max_length=6, choices=Work)
    others = models.CharField(max_length=4, choices=Others)
    with_fixed = models.BooleanField(default=False)
    rain_in = models.FloatField(null=True, blank=True)
    short = models.JSONField(default=list, blank=True)
    made_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True)
    made_at = models.DateTimeField()

    class Meta:
        ordering = ("-made_at", "-pk")
        constraints = (
            models.CheckConstraint(
                condition=models.Q(work__in=["barred", "all"]), name="rain_out_work_known"
            ),
            models.CheckConstraint(
                condition=models.Q(others__in=["stay", "line"]), name="rain_out_others_known"
            ),
        )

    def __str__(self) -> str:
        return f"Rain-out of {self.date}"


class RainOutJob(models.Model):
    """What a rain-out did to one job: the days somebody comes, before and after.

    Days are as ISO 8601 writes them. `why` says why a job found no day, `call` by when calling
    for a new locate ticket still saves its dig.
    """

    class Fate(models.TextChoices):
        MOVED = "moved", "Moved"
        OFF = "off", "Off the calendar"
        STUCK = "stuck", "Stands as it stood"

    rain_out = models.ForeignKey(RainOut, on_delete=models.CASCADE, related_name="jobs")
    job = models.ForeignKey(FenceJob, on_delete=models.CASCADE, related_name="rain_outs")
    fate = models.CharField(max_length=5, choices=Fate)
    days_before = models.JSONField(default=list)
    days_after = models.JSONField(default=list)
    why = models.TextField(blank=True)
    call = models.TextField(blank=True)
    told_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, blank=True)
    told_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ("rain_out", "pk")
        constraints = (
            models.UniqueConstraint(fields=["rain_out", "job"], name="job_once_per_rain_out"),
            models.CheckConstraint(
                condition=models.Q(fate__in=["moved", "off", "stuck"]), name="rain_out_fate_known"
            ),
        )

    def __str__(self) -> str:
        return f"{self.rain_out}: {self.job}"
