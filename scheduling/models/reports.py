"""What crews report back from a day: posts set, hours worked, rock, remarks and photos."""

import datetime as dt
from decimal import Decimal

from django.core.validators import MinValueValidator
from django.db import models

from firm.models import User
from scheduling.models.crews import Crew, CrewMember
from scheduling.models.jobs import FenceJob, JobPhase

SECONDS_PER_MINUTE = 60
ANY_DAY = dt.date(2000, 1, 1)


class DayReport(models.Model):
    """What one crew reported of one day at one job.

    `poured_at` is when the last post was set in concrete that day: waiting begins then.
    """

    job = models.ForeignKey(FenceJob, on_delete=models.PROTECT, related_name="reports")
    crew = models.ForeignKey(Crew, on_delete=models.PROTECT, related_name="reports")
    date = models.DateField()
    bags_used = models.DecimalField(
        max_digits=6,
        decimal_places=1,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal(0))],
    )
    poured_at = models.DateTimeField(null=True, blank=True)
    air_f = models.FloatField(null=True, blank=True)
    mix = models.CharField(max_length=40, blank=True)
    remarks = models.TextField(blank=True)
    extra_work = models.TextField(blank=True)
    needed_next = models.TextField(blank=True)
    reported_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True)
    reported_at = models.DateTimeField()

    class Meta:
        ordering = (
            "-date",
            "-pk",
        )
        constraints = (
            models.UniqueConstraint(
                fields=["job", "crew", "date"], name="one_report_per_job_crew_and_day"
            ),
            models.CheckConstraint(
                condition=models.Q(bags_used__isnull=True) | models.Q(bags_used__gte=0),
                name="report_bags_not_negative",
            ),
            models.CheckConstraint(
                condition=models.Q(poured_at__isnull=True) | ~models.Q(mix=""),
                name="report_pour_names_its_mix",
            ),
        )

    def __str__(self) -> str:
        return f"{self.job}, {self.date}, {self.crew}"


class HoursWorked(models.Model):
    """One person's time on one day at one job; without a phase it is spread over the day's plan.

    `hourly_cost` is kept as it was when the hours were written down.
    """

    report = models.ForeignKey(DayReport, on_delete=models.CASCADE, related_name="hours")
    member = models.ForeignKey(CrewMember, on_delete=models.PROTECT, related_name="hours")
    phase = models.ForeignKey(
        JobPhase, on_delete=models.PROTECT, null=True, blank=True, related_name="worked"
    )
    started = models.TimeField()
    ended = models.TimeField()
    break_min = models.PositiveSmallIntegerField(default=0)
    hourly_cost = models.DecimalField(max_digits=7, decimal_places=2)

    class Meta:
        ordering = (
            "report",
            "started",
            "pk",
        )
        constraints = (
            models.CheckConstraint(
                condition=models.Q(ended__gt=models.F("started")),
                name="hours_end_after_they_begin",
            ),
            models.CheckConstraint(
                condition=models.Q(hourly_cost__gte=0), name="hours_cost_not_negative"
            ),
        )

    def __str__(self) -> str:
        return f"{self.member}, {self.started:%H:%M} to {self.ended:%H:%M}"

    @property
    def worked_min(self) -> int:
        """Minutes worked, the break taken off."""
        ended, started = (dt.datetime.combine(ANY_DAY, at) for at in (self.ended, self.started))
        return int((ended - started).total_seconds()) // SECONDS_PER_MINUTE - self.break_min


class PostRecord(models.Model):
    """What happened at one post: when it was set, and the rock that was met."""

    job = models.ForeignKey(FenceJob, on_delete=models.PROTECT, related_name="post_records")
    number = models.PositiveSmallIntegerField()
    report = models.ForeignKey(DayReport, on_delete=models.PROTECT, related_name="post_records")
    set_at = models.DateTimeField(null=True, blank=True)
    met_rock = models.BooleanField(default=False)
    rock_depth_in = models.FloatField(null=True, blank=True)
    rock_min = models.PositiveSmallIntegerField(null=True, blank=True)
    note = models.CharField(max_length=200, blank=True)
    recorded_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True)
    recorded_at = models.DateTimeField()

    class Meta:
        ordering = (
            "job",
            "number",
        )
        constraints = (
            models.UniqueConstraint(fields=["job", "number"], name="post_recorded_once_per_job"),
        )

    def __str__(self) -> str:
        return f"{self.job}, post {self.number}"


class JobPhoto(models.Model):
    """A photo from a job; capture time, position and the original's hash outlive re-encoding."""

    class Subject(models.TextChoices):
        MARKS = "marks", "Utility marks before digging"
        STRING = "string", "String and stakes"
        HOLES = "holes", "Open holes"
        ROCK = "rock", "Rock"
        FINISHED = "finished", "Finished fence"
        OTHER = "other", "Something else"

    job = models.ForeignKey(FenceJob, on_delete=models.PROTECT, related_name="photos")
    report = models.ForeignKey(
        DayReport, on_delete=models.PROTECT, null=True, blank=True, related_name="photos"
    )
    subject = models.CharField(max_length=8, choices=Subject, default=Subject.OTHER)
    post_number = models.PositiveSmallIntegerField(null=True, blank=True)
    file = models.ImageField(upload_to="jobs/%Y/%m/")
    original_name = models.CharField(max_length=200)
    original_sha256 = models.CharField(max_length=64)
    original_bytes = models.PositiveBigIntegerField()
    captured_at = models.DateTimeField(null=True, blank=True)
    latitude = models.FloatField(null=True, blank=True)
    longitude = models.FloatField(null=True, blank=True)
    note = models.CharField(max_length=200, blank=True)
    added_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True)
    added_at = models.DateTimeField()

    class Meta:
        ordering = (
            "-added_at",
            "-pk",
        )
        constraints = (
            models.UniqueConstraint(fields=["job", "original_sha256"], name="photo_once_per_job"),
        )

    def __str__(self) -> str:
        return self.original_name
