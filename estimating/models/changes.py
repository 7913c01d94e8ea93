"""What changed after the customer signed: the ground as it was found, and changes of the price."""

from decimal import Decimal
from typing import Any

from django.db import models

from estimating.models.proposals import Proposal
from firm.models import User


class GroundChange(models.Model):
    """A sold site as its crew found and marked it; version 1 follows the site as it was sold.

    `document` and `result` are those of the site with everything entered up to here, worked out
    with the catalog that was sold; `entries` is what the crew lead entered this time.
    """

    proposal = models.ForeignKey(Proposal, on_delete=models.PROTECT, related_name="ground_changes")
    version = models.PositiveSmallIntegerField()
    document = models.JSONField()
    result = models.JSONField()
    entries = models.JSONField(default=dict)
    note = models.CharField(max_length=300, blank=True)
    made_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True)
    made_at = models.DateTimeField()

    class Meta:
        ordering = (
            "proposal",
            "-version",
        )
        constraints = (
            models.UniqueConstraint(
                fields=["proposal", "version"], name="ground_version_once_per_proposal"
            ),
            models.CheckConstraint(
                condition=models.Q(version__gte=1), name="ground_version_from_1"
            ),
        )

    def __str__(self) -> str:
        return f"{self.proposal}, ground version {self.version}"


class ChangeOrderIsFinalError(Exception):
    """Code tried to change or delete a change order that the customer signed."""


class ChangeOrderQuerySet(models.QuerySet["ChangeOrder"]):
    """Change orders; signed ones stay as they were signed."""

    def update(self, **changes: Any) -> int:
        if self.filter(state="signed").exists():
            raise ChangeOrderIsFinalError
        return super().update(**changes)

    def delete(self) -> tuple[int, dict[str, int]]:
        if self.filter(state="signed").exists():
            raise ChangeOrderIsFinalError
        return super().delete()


class ChangeOrder(models.Model):
    """A change of what was sold, with its price; an amount below zero is given back.

    Once signed it never changes and is part of the contract's price.
    """

    class State(models.TextChoices):
        DRAFT = "draft", "Draft"
        SIGNED = "signed", "Signed"
        DECLINED = "declined", "Declined"
        DROPPED = "dropped", "Dropped"

    class Way(models.TextChoices):
        PHONE = "phone", "On the phone at the site"
        PAPER = "paper", "On paper"

    proposal = models.ForeignKey(Proposal, on_delete=models.PROTECT, related_name="change_orders")
    number = models.PositiveSmallIntegerField()
    ground_change = models.OneToOneField(
        GroundChange,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="change_order",
    )
    state = models.CharField(max_length=8, choices=State, default=State.DRAFT)
    title = models.CharField(max_length=120)
    description = models.TextField(blank=True)
    price_before_tax = models.DecimalField(max_digits=12, decimal_places=2, default=0)
    sales_tax = models.DecimalField(max_digits=12, decimal_places=2, default=0)
    direct_cost = models.DecimalField(max_digits=12, decimal_places=2, default=0)
    labor_hours = models.DecimalField(max_digits=9, decimal_places=2, default=0)
    extra_days = models.SmallIntegerField(default=0)
    way = models.CharField(max_length=5, choices=Way, blank=True)
    signed_name = models.CharField(max_length=120, blank=True)
    strokes = models.JSONField(default=list, blank=True)
    decided_at = models.DateTimeField(null=True, blank=True)
    decided_note = models.CharField(max_length=300, blank=True)
    decided_by = models.ForeignKey(
        User, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    created_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, related_name="+")
    created_at = models.DateTimeField()

    objects = ChangeOrderQuerySet.as_manager()

    class Meta:
        ordering = (
            "proposal",
            "number",
        )
        constraints = (
            models.UniqueConstraint(
                fields=["proposal", "number"], name="change_order_number_once_per_proposal"
            ),
            models.CheckConstraint(
                condition=~models.Q(state="signed")
                | ~models.Q(signed_name="") & models.Q(decided_at__isnull=False),
                name="signed_change_order_has_name_and_time",
            ),
        )

    def __str__(self) -> str:
        return f"Change order {self.number} to {self.proposal.estimate.label}"

    def save(self, *args: Any, **kwargs: Any) -> None:
        """Save an order that is not signed yet; the signing itself is the last time."""
        if not self._state.adding:
            self._refuse_signed()
        super().save(*args, **kwargs)

    def delete(self, *args: Any, **kwargs: Any) -> tuple[int, dict[str, int]]:
        """Delete an order that is not signed."""
        self._refuse_signed()
        return super().delete(*args, **kwargs)

    def _refuse_signed(self) -> None:
        if ChangeOrder.objects.filter(pk=self.pk, state=ChangeOrder.State.SIGNED).exists():
            raise ChangeOrderIsFinalError

    @property
    def price(self) -> Decimal:
        """What the customer pays more, tax included; below zero it is given back."""
        return self.price_before_tax + self.sales_tax
