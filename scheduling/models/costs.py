"""What a job really cost beside its hours: receipts, hired machines, fees."""

from decimal import Decimal

from django.db import models

from firm.models import User
from scheduling.models.jobs import FenceJob


class JobCost(models.Model):
    """One cost of a job from a receipt or an invoice; a credit for returned goods is negative."""

    class Kind(models.TextChoices):
        MATERIAL = "material", "Material"
        EQUIPMENT = "equipment", "Machines"
        TRAVEL = "travel", "Travel"
        FEE = "fee", "Permits and fees"
        SUBCONTRACT = "subcontract", "Work by others"
        OTHER = "other", "Other"

    job = models.ForeignKey(FenceJob, on_delete=models.PROTECT, related_name="costs")
    kind = models.CharField(max_length=11, choices=Kind, default=Kind.MATERIAL)
    description = models.CharField(max_length=200)
    supplier = models.CharField(max_length=120, blank=True)
    amount = models.DecimalField(max_digits=12, decimal_places=2)
    spent_on = models.DateField()
    recorded_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True)
    recorded_at = models.DateTimeField()

    class Meta:
        ordering = (
            "spent_on",
            "pk",
        )
        constraints = (
            models.CheckConstraint(
                condition=~models.Q(amount=Decimal(0)), name="job_cost_is_an_amount"
            ),
        )

    def __str__(self) -> str:
        return f"{self.description}: {self.amount}"
