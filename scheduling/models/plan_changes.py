"""What moved without the office moving it, and why: kept until somebody has seen it."""

from django.db import models

from firm.models import User
from scheduling.models.jobs import FenceJob

CAUSES = ["pour", "report", "air", "rain_out", "plan", "rain", "time_off", "holiday", "prepare"]


class PlanChange(models.Model):
    """What one event moved of one job.

    `moves` lists it: when a work may hang ({"work", "before", "after"}, moments as ISO 8601 writes
    them, or null, with the pour it waits from before and after and the rule's sentence), or the
    days of a phase ({"phase", "before", "after"}, lists of days), which `why` belongs to, or a
    block that stands no longer or again ({"what", "block", "phase", "day", "before", "after"}, the
    sentences of the rule that it breaks, or null).
    """

    class Cause(models.TextChoices):
        POUR = "pour", "pour recorded"
        REPORT = "report", "day reported"
        AIR = "air", "air written down"
        RAIN_OUT = "rain_out", "rain-out"
        PLAN = "plan", "plan taken"
        RAIN = "rain", "rain written down"
        TIME_OFF = "time_off", "days off written down"
        HOLIDAY = "holiday", "holidays changed"
        PREPARE = "prepare", "changed under Prepare"

    job = models.ForeignKey(FenceJob, on_delete=models.CASCADE, related_name="plan_changes")
    cause = models.CharField(max_length=8, choices=Cause)
    moves = models.JSONField()
    why = models.CharField(max_length=300, blank=True)
    made_by = models.ForeignKey(
        User, on_delete=models.SET_NULL, null=True, related_name="plan_changes_made"
    )
    made_at = models.DateTimeField()
    seen_by = models.ForeignKey(
        User, on_delete=models.SET_NULL, null=True, blank=True, related_name="plan_changes_seen"
    )
    seen_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ("-made_at", "-pk")
        indexes = (models.Index(fields=["seen_at", "made_at"]),)
        constraints = (
            models.CheckConstraint(
                condition=models.Q(cause__in=CAUSES),
                name="plan_change_cause_known",
            ),
            models.UniqueConstraint(
                fields=["job", "cause"],
                condition=models.Q(seen_at__isnull=True),
                name="one_unseen_change_per_job_and_cause",
            ),
        )

    def __str__(self) -> str:
        return f"{self.job}: {self.get_cause_display()}"
