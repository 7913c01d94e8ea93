"""What a job really cost beside its hours: receipts, hired machines, fees."""

from decimal import Decimal

from django.db import models

from firm.models import User
from scheduling.models.jobs import FenceJob


class JobCost(models.Model):
    """One cost of a job from a receipt or an invoice; a credit for returned goods is negative.

    With an `order` it was written by what came of that order to the job's site, at the order's
    prices, and nobody types it. It counts until `invoice`, a cost that a person typed, covers it.
    With a `stock_move` it is what was loaded from the yard, or came back to it, at the price it
    came in for: nobody types that either.
    """

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
    order = models.ForeignKey(
        "scheduling.PurchaseOrder",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="costs",
    )
    stock_move = models.OneToOneField(
        "scheduling.StockMove", on_delete=models.PROTECT, null=True, blank=True, related_name="cost"
    )
    invoice = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="covers"
    )
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
            models.CheckConstraint(
                condition=models.Q(order__isnull=True) | models.Q(kind="material"),
                name="what_came_of_an_order_is_material",
            ),
            models.CheckConstraint(
                condition=models.Q(invoice__isnull=True) | models.Q(order__isnull=False),
                name="an_invoice_covers_what_came",
            ),
            models.CheckConstraint(
                condition=models.Q(stock_move__isnull=True)
                | models.Q(kind="material", order__isnull=True),
                name="what_the_yard_gave_is_material",
            ),
        )

    def __str__(self) -> str:
        return f"{self.description}: {self.amount}"

    @property
    def is_typed(self) -> bool:
        """Say whether a person wrote it down, and may correct it."""
        return self.order_id is None and self.stock_move_id is None

    @property
    def counts(self) -> bool:
        """Say whether it is a cost of the job: what an invoice covers stands in the invoice."""
        return self.invoice_id is None
