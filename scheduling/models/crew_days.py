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
    `override_breaches` is what the owner placed it against, as the engine's `Known`, with who,
    when and why beside it; it is pinned then. `air_f` is the day's air temperature as entered;
    without one the coldest band is waited for.
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
    override_note = models.CharField(max_length=300, blank=True)
    override_breaches = models.JSONField(default=list, blank=True)
    override_by = models.ForeignKey(
        User, on_delete=models.SET_NULL, null=True, blank=True, related_name="overrides"
    )
    # As it was then, so that a sheet need not ask for the person.
    override_name = models.CharField(max_length=150, blank=True)
    override_at = models.DateTimeField(null=True, blank=True)

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
            models.CheckConstraint(
                condition=models.Q(override_note="", override_at__isnull=True)
                | models.Q(override_at__isnull=False, is_pinned=True) & ~models.Q(override_note=""),
                name="crew_day_overridden_with_a_note_and_fixed",
            ),
        )

    def __str__(self) -> str:
        return f"{self.crew}, {self.date}: {self.phase}"

    @property
    def is_done_already(self) -> bool:
        """Say whether its phase was finished before its day came."""
        return self.phase.finished_on is not None and self.phase.finished_on < self.date

    @property
    def override_sentences(self) -> list[str]:
        """What it breaks, in words, each once."""
        return list(dict.fromkeys(one["sentence"] for one in self.override_breaches))
