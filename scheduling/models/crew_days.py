"""The calendar: which crew does which phase of which job on which day."""

from decimal import Decimal

from django.db import models

from firm.models import User
from scheduling.models.crews import DAY_HOURS, Crew, Machine
from scheduling.models.jobs import FenceJob, JobPhase


class CrewDay(models.Model):
    """One crew at one phase of one job for some hours of one day.

    `hours` are hours of the day, not of people. Blocks of a crew's day follow one another by
    `position` unless `start` says when. `is_pinned`: a person placed it, the placer lets it stand.
    `air_f` is the day's air temperature as entered; without one the coldest band is waited for.
    """

    job = models.ForeignKey(FenceJob, on_delete=models.CASCADE, related_name="crew_days")
    phase = models.ForeignKey(JobPhase, on_delete=models.CASCADE, related_name="crew_days")
    crew = models.ForeignKey(Crew, on_delete=models.PROTECT, related_name="crew_days")
    date = models.DateField()
    position = models.PositiveSmallIntegerField(default=0)
    hours = models.DecimalField(
        max_digits=4, decimal_places=2, default=Decimal(8), validators=DAY_HOURS
    )
    start = models.TimeField(null=True, blank=True)
    machine = models.ForeignKey(Machine, on_delete=models.PROTECT, null=True, blank=True)
    air_f = models.FloatField(null=True, blank=True)
    is_pinned = models.BooleanField(default=False)
    note = models.CharField(max_length=200, blank=True)
    placed_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, blank=True)
    placed_at = models.DateTimeField()

    class Meta:
        ordering = (
            "date",
            "crew",
            "position",
            "pk",
        )
        indexes = (models.Index(fields=["crew", "date"]), models.Index(fields=["date"]))
        constraints = (
            models.UniqueConstraint(
                fields=["phase", "crew", "date"], name="phase_once_per_crew_and_day"
            ),
            models.CheckConstraint(
                condition=models.Q(hours__gt=0, hours__lte=24),
                name="crew_day_hours_up_to_24",
            ),
        )

    def __str__(self) -> str:
        return f"{self.crew}, {self.date}: {self.phase}"
