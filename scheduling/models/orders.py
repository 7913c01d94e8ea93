"""Purchase orders: what is bought of one supplier, when it is promised, and what came of it."""

from decimal import Decimal
from typing import Any

from django.core.validators import MinValueValidator
from django.db import models

from firm.models import User
from firm.models.money import FineCostField
from scheduling.models.jobs import FenceJob, JobPhase

# What a sent order says never changes; its PDF comes a moment later, and then stays too.
FROZEN_COLUMNS = (
    "supplier_id",
    "number",
    "job_id",
    "needed_by",
    "note",
    "created_at",
    "sent_at",
    "sent_on",
    "content",
)


class OrderIsFinalError(Exception):
    """Code tried to change or delete an order that was sent, or a line of one."""


class PurchaseOrderQuerySet(models.QuerySet["PurchaseOrder"]):
    """Purchase orders; those that were sent keep what they say."""

    def update(self, **changes: Any) -> int:
        settled = self.exclude(state="draft")
        is_frozen = any(
            {name, name.removesuffix("_id")} & changes.keys() for name in FROZEN_COLUMNS
        )
        if (is_frozen or changes.get("state") == "draft") and settled.exists():
            raise OrderIsFinalError
        return super().update(**changes)

    def delete(self) -> tuple[int, dict[str, int]]:
        if self.exclude(state="draft").exists():
            raise OrderIsFinalError
        return super().delete()


class PurchaseOrder(models.Model):
    """What is ordered of one supplier; once sent it never changes, it can only be cancelled.

    `job` is the job to whose site it goes; without one it goes to the yard. `content` is
    everything printed, frozen when it is sent; its number is claimed then too.
    """

    class State(models.TextChoices):
        DRAFT = "draft", "Draft"
        SENT = "sent", "Sent"
        CANCELLED = "cancelled", "Cancelled"

    supplier = models.ForeignKey(
        "estimating.Supplier", on_delete=models.PROTECT, related_name="orders"
    )
    number = models.PositiveIntegerField(unique=True, null=True, blank=True)
    state = models.CharField(max_length=9, choices=State, default=State.DRAFT)
    job = models.ForeignKey(
        FenceJob, on_delete=models.PROTECT, null=True, blank=True, related_name="orders"
    )
    needed_by = models.DateField(null=True, blank=True)
    note = models.TextField(blank=True)
    created_by = models.ForeignKey(
        User, on_delete=models.SET_NULL, null=True, blank=True, related_name="orders_drafted"
    )
    created_at = models.DateTimeField()
    sent_by = models.ForeignKey(
        User, on_delete=models.SET_NULL, null=True, blank=True, related_name="orders_sent"
    )
    sent_at = models.DateTimeField(null=True, blank=True)
    sent_on = models.DateField(null=True, blank=True)
    sent_to = models.EmailField(blank=True)
    content = models.JSONField(default=dict)
    pdf = models.FileField(upload_to="orders/%Y/%m/", blank=True)
    pdf_sha256 = models.CharField(max_length=64, blank=True)
    cancelled_at = models.DateTimeField(null=True, blank=True)
    cancelled_reason = models.CharField(max_length=300, blank=True)

    objects = PurchaseOrderQuerySet.as_manager()

    class Meta:
        ordering = (
            "-created_at",
            "-pk",
        )
        constraints = (
            models.UniqueConstraint(
                fields=["supplier"],
                condition=models.Q(state="draft"),
                name="one_draft_order_per_supplier",
            ),
            models.CheckConstraint(
                condition=models.Q(state__in=["draft", "sent", "cancelled"]),
                name="order_state_known",
            ),
            models.CheckConstraint(
                condition=models.Q(state="draft", number__isnull=True, sent_at__isnull=True)
                | ~models.Q(state="draft")
                & models.Q(number__isnull=False, sent_at__isnull=False, sent_on__isnull=False),
                name="sent_order_has_number_and_day",
            ),
            models.CheckConstraint(
                condition=~models.Q(state="cancelled") | ~models.Q(cancelled_reason=""),
                name="cancelled_order_has_a_reason",
            ),
        )

    def __str__(self) -> str:
        return f"Purchase order {self.number}" if self.number else "Draft of a purchase order"

    def save(self, *args: Any, **kwargs: Any) -> None:
        """Save a draft; what was sent is changed by the services' own updates only."""
        if not self._state.adding:
            _refuse_sent(self.pk)
        super().save(*args, **kwargs)

    def delete(self, *args: Any, **kwargs: Any) -> tuple[int, dict[str, int]]:
        """Delete a draft."""
        _refuse_sent(self.pk)
        return super().delete(*args, **kwargs)


def _refuse_sent(order_id: int) -> None:
    if PurchaseOrder.objects.filter(pk=order_id).exclude(state="draft").exists():
        raise OrderIsFinalError


class OrderLine(models.Model):
    """One item of an order in whole purchase units; `item` is its short name in the price book."""

    order = models.ForeignKey(PurchaseOrder, on_delete=models.CASCADE, related_name="lines")
    position = models.PositiveSmallIntegerField(default=0)
    item = models.SlugField(max_length=60)
    name = models.CharField(max_length=120)
    unit = models.CharField(max_length=20, default="each")
    part_number = models.CharField(max_length=80, blank=True)
    count = models.PositiveIntegerField(validators=[MinValueValidator(1)])
    unit_cost = FineCostField(validators=[MinValueValidator(Decimal(0))])

    class Meta:
        ordering = (
            "order",
            "position",
            "pk",
        )
        constraints = (
            models.UniqueConstraint(fields=["order", "item"], name="item_once_per_order"),
            models.CheckConstraint(
                condition=models.Q(count__gte=1, unit_cost__gte=0), name="order_line_counts"
            ),
        )

    def __str__(self) -> str:
        return f"{self.count} {self.unit}: {self.name}"

    def save(self, *args: Any, **kwargs: Any) -> None:
        """Save a line of a draft."""
        _refuse_sent(self.order_id)
        super().save(*args, **kwargs)

    def delete(self, *args: Any, **kwargs: Any) -> tuple[int, dict[str, int]]:
        """Delete a line of a draft."""
        _refuse_sent(self.order_id)
        return super().delete(*args, **kwargs)


class LinePromise(models.Model):
    """The day a supplier promised a line for, as last heard; the record keeps the earlier ones."""

    line = models.OneToOneField(OrderLine, on_delete=models.CASCADE, related_name="promise")
    promised_on = models.DateField()
    heard_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.line}, {self.promised_on}"


class Receipt(models.Model):
    """What came of a line on a day, kept for ever: `count` good ones, and those sent back.

    One that was written down wrongly is `taken back` by a row of its own with counts below zero
    and the reason as its note, once at most. `cost` is what it wrote to its job's costs.
    `extra` is its share of the delivery's freight and tax.
    """

    line = models.ForeignKey(OrderLine, on_delete=models.PROTECT, related_name="receipts")
    received_on = models.DateField()
    count = models.IntegerField(default=0)
    damaged = models.IntegerField(default=0)
    extra = models.DecimalField(max_digits=12, decimal_places=2, default=Decimal(0))
    takes_back = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="taken_back_by"
    )
    cost = models.ForeignKey(
        "scheduling.JobCost",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="receipts",
    )
    note = models.CharField(max_length=200, blank=True)
    received_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True)
    written_at = models.DateTimeField()

    class Meta:
        ordering = (
            "received_on",
            "pk",
        )
        constraints = (
            models.CheckConstraint(
                condition=models.Q(takes_back__isnull=True, count__gte=0, damaged__gte=0)
                & (models.Q(count__gt=0) | models.Q(damaged__gt=0))
                | models.Q(takes_back__isnull=False, count__lte=0, damaged__lte=0)
                & (models.Q(count__lt=0) | models.Q(damaged__lt=0))
                & ~models.Q(note=""),
                name="receipt_comes_or_is_taken_back",
            ),
        )

    def __str__(self) -> str:
        return f"{self.count} of {self.line}"


class MaterialDates(models.Model):
    """What orders and the yard last said of a phase's material.

    A day of the phase that differs was written down by a person, and stays.
    """

    phase = models.OneToOneField(JobPhase, on_delete=models.CASCADE, related_name="order_dates")
    promised_on = models.DateField(null=True, blank=True)
    received_on = models.DateField(null=True, blank=True)

    def __str__(self) -> str:
        return f"{self.phase}: {self.received_on or self.promised_on}"
