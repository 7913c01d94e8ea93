"""What lies in the yard: a count by item, and every move that made it so."""

from decimal import Decimal

from django.db import models

from firm.models import User
from scheduling.models.jobs import FenceJob
from scheduling.models.orders import Receipt


class YardStock(models.Model):
    """How many whole purchase units of an item lie in the yard, and what they came in for.

    Both are the sums of its moves.
    """

    item = models.SlugField(max_length=60, unique=True)
    name = models.CharField(max_length=120)
    unit = models.CharField(max_length=20, default="each")
    count = models.IntegerField(default=0)
    worth = models.DecimalField(max_digits=12, decimal_places=2, default=Decimal(0))

    class Meta:
        ordering = (
            "name",
            "item",
        )
        constraints = (
            models.CheckConstraint(condition=models.Q(count__gte=0), name="stock_never_negative"),
            models.CheckConstraint(
                condition=models.Q(worth__gte=0), name="stock_worth_not_below_0"
            ),
        )

    def __str__(self) -> str:
        return f"{self.count} {self.unit}: {self.name}"


class StockMove(models.Model):
    """One change of the yard's stock, kept for ever; `change` is below zero for what went out.

    A receipt or leftovers at a site change no stock and are no moves of it. `worth` is what the
    move brings in or takes out in money, of the same sign.
    """

    class Kind(models.TextChoices):
        RECEIVED = "received", "Received"
        LOADED = "loaded", "Loaded for a job"
        RETURNED = "returned", "Left over from a job"
        CORRECTED = "corrected", "Counted anew"
        TAKEN_BACK = "undone", "Receipt taken back"

    stock = models.ForeignKey(YardStock, on_delete=models.PROTECT, related_name="moves")
    kind = models.CharField(max_length=9, choices=Kind)
    change = models.IntegerField()
    worth = models.DecimalField(max_digits=12, decimal_places=2, default=Decimal(0))
    job = models.ForeignKey(
        FenceJob, on_delete=models.PROTECT, null=True, blank=True, related_name="stock_moves"
    )
    receipt = models.OneToOneField(
        Receipt, on_delete=models.PROTECT, null=True, blank=True, related_name="stock_move"
    )
    moved_on = models.DateField()
    reason = models.CharField(max_length=200, blank=True)
    moved_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True)
    written_at = models.DateTimeField()

    class Meta:
        ordering = (
            "-written_at",
            "-pk",
        )
        indexes = (models.Index(fields=["job", "kind"]),)
        constraints = (
            models.CheckConstraint(
                condition=models.Q(kind="received", change__gt=0, receipt__isnull=False)
                | models.Q(kind="loaded", change__lt=0, job__isnull=False)
                | models.Q(kind="returned", change__gt=0, job__isnull=False)
                | models.Q(kind="undone", change__lt=0, receipt__isnull=False)
                & ~models.Q(reason="")
                | models.Q(kind="corrected") & ~models.Q(change=0) & ~models.Q(reason=""),
                name="stock_move_as_its_kind",
            ),
        )

    def __str__(self) -> str:
        return f"{self.get_kind_display()}: {self.change:+} {self.stock.name}"
