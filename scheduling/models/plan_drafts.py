"""Plans the solver works on in the background, kept until a person takes or drops them."""

from django.db import models

from firm.models import Job, User


class PlanDraft(models.Model):
    """One plan of all open jobs: how far it is, what came out, what became of it.

    `blocks` are crew days as they would be written, those of which one `stays` as they stand;
    `stages` say aim by aim what the plan comes to and what no plan can be under; `waits` holds by
    job why it has no place. `calendar` is a mark of all it was made from: where that changed, the
    plan is not taken.
    """

    class State(models.TextChoices):
        WORKING = "working", "Being worked out"
        READY = "ready", "Ready to look at"
        TAKEN = "taken", "Taken"
        DROPPED = "dropped", "Dropped"
        FAILED = "failed", "Not worked out"

    state = models.CharField(max_length=7, choices=State, default=State.WORKING)
    asked_by = models.ForeignKey(
        User, on_delete=models.SET_NULL, null=True, related_name="plans_asked"
    )
    asked_at = models.DateTimeField()
    seconds = models.PositiveSmallIntegerField()
    job = models.OneToOneField(Job, on_delete=models.SET_NULL, null=True, blank=True)
    stop_asked = models.BooleanField(default=False)
    aim = models.CharField(max_length=20, blank=True)
    aim_value = models.IntegerField(default=0)
    aim_bound = models.IntegerField(default=0)
    blocks = models.JSONField(default=list, blank=True)
    stages = models.JSONField(default=list, blank=True)
    waits = models.JSONField(default=dict, blank=True)
    calendar = models.CharField(max_length=64, blank=True)
    why = models.CharField(max_length=500, blank=True)
    ended_by = models.ForeignKey(
        User, on_delete=models.SET_NULL, null=True, blank=True, related_name="plans_ended"
    )
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ("-asked_at", "-pk")
        constraints = (
            models.CheckConstraint(
                condition=models.Q(state__in=["working", "ready", "taken", "dropped", "failed"]),
                name="plan_draft_state_known",
            ),
            models.UniqueConstraint(
                fields=["state"],
                condition=models.Q(state__in=["working", "ready"]),
                name="one_plan_of_a_kind_open",
            ),
        )

    def __str__(self) -> str:
        return f"Plan of {self.asked_at:%Y-%m-%d %H:%M}"

    @property
    def is_lost(self) -> bool:
        """Say whether nobody works on it any more though it never came to an end."""
        is_over = self.job is None or self.job.is_over
        return self.state == PlanDraft.State.WORKING and is_over
