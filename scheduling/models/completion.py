"""The end of a job: what is still to be put right, and the customer's word that it is done."""

from django.db import models

from firm.models import User
from scheduling.models.jobs import FenceJob


class PunchItem(models.Model):
    """One thing to be put right before the job is done."""

    job = models.ForeignKey(FenceJob, on_delete=models.PROTECT, related_name="punch_items")
    text = models.CharField(max_length=200)
    post_number = models.PositiveSmallIntegerField(null=True, blank=True)
    added_by = models.ForeignKey(
        User, on_delete=models.SET_NULL, null=True, related_name="punch_items_added"
    )
    added_at = models.DateTimeField()
    done_by = models.ForeignKey(
        User, on_delete=models.SET_NULL, null=True, blank=True, related_name="punch_items_done"
    )
    done_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = (
            "added_at",
            "pk",
        )

    def __str__(self) -> str:
        return self.text


class Completion(models.Model):
    """The walk-through with the customer's signature, kept for ever.

    `strokes` is the signature as drawn: a list of strokes, each a list of [x, y] from 0 to 1000.
    """

    job = models.OneToOneField(FenceJob, on_delete=models.PROTECT, related_name="completion")
    statement = models.TextField()
    remarks = models.TextField(blank=True)
    signed_name = models.CharField(max_length=120)
    strokes = models.JSONField()
    signed_at = models.DateTimeField()
    sha256 = models.CharField(max_length=64)
    taken_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True)

    class Meta:
        constraints = (
            models.CheckConstraint(
                condition=~models.Q(signed_name=""), name="completion_has_a_name"
            ),
        )

    def __str__(self) -> str:
        return f"{self.job} finished, signed by {self.signed_name}"
