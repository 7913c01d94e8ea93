"""Invoices of what was sold, and the payments received."""

from decimal import Decimal
from typing import Any

from django.db import models

from estimating.models.proposals import Proposal
from firm.models import User

# What an issued invoice says never changes; its PDF comes a moment later, and then stays too.
FROZEN_COLUMNS = (
    "proposal_id",
    "number",
    "kind",
    "amount",
    "note",
    "drafted_at",
    "issued_on",
    "due_on",
    "content",
)
FILLED_ONCE_COLUMNS = ("pdf", "pdf_sha256", "voided_reason")


class InvoiceIsFinalError(Exception):
    """Code tried to change or delete an invoice that was issued, or a line of one."""


class InvoiceQuerySet(models.QuerySet["Invoice"]):
    """Invoices; those that were issued keep what they say."""

    def update(self, **changes: Any) -> int:
        settled = self.exclude(state="draft")
        filled = [name for name in FILLED_ONCE_COLUMNS if name in changes]
        is_frozen = any(name.removesuffix("_id") in changes for name in FROZEN_COLUMNS)
        goes_back = changes.get("state") == "draft"
        if (is_frozen or goes_back) and settled.exists():
            raise InvoiceIsFinalError
        if any(settled.exclude(**{name: ""}).exists() for name in filled):
            raise InvoiceIsFinalError
        return super().update(**changes)

    def delete(self) -> tuple[int, dict[str, int]]:
        if self.exclude(state="draft").exists():
            raise InvoiceIsFinalError
        return super().delete()


class Invoice(models.Model):
    """A demand for money; once issued its content and its PDF never change, it can only be voided.

    `content` is everything printed, frozen when it is issued; its number is claimed then too.
    """

    class Kind(models.TextChoices):
        DEPOSIT = "deposit", "Deposit"
        PROGRESS = "progress", "Progress"
        BALANCE = "balance", "Balance"

    class State(models.TextChoices):
        DRAFT = "draft", "Draft"
        ISSUED = "issued", "Issued"
        VOID = "void", "Void"

    proposal = models.ForeignKey(Proposal, on_delete=models.PROTECT, related_name="invoices")
    number = models.PositiveIntegerField(unique=True, null=True, blank=True)
    kind = models.CharField(max_length=8, choices=Kind, default=Kind.PROGRESS)
    state = models.CharField(max_length=6, choices=State, default=State.DRAFT)
    amount = models.DecimalField(max_digits=12, decimal_places=2)
    note = models.TextField(blank=True)
    drafted_at = models.DateTimeField()
    drafted_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, blank=True)
    issued_on = models.DateField(null=True, blank=True)
    due_on = models.DateField(null=True, blank=True)
    content = models.JSONField(default=dict)
    pdf = models.FileField(upload_to="invoices/%Y/%m/", blank=True)
    pdf_sha256 = models.CharField(max_length=64, blank=True)
    sent_to = models.EmailField(blank=True)
    voided_at = models.DateTimeField(null=True, blank=True)
    voided_reason = models.CharField(max_length=300, blank=True)

    objects = InvoiceQuerySet.as_manager()

    class Meta:
        ordering = (
            "-drafted_at",
            "-pk",
        )
        constraints = (
            models.UniqueConstraint(
                fields=["proposal"],
                condition=models.Q(kind="balance") & ~models.Q(state="void"),
                name="one_balance_invoice_per_proposal",
            ),
            models.CheckConstraint(
                condition=models.Q(state="draft")
                | models.Q(state="void")
                | models.Q(number__isnull=False, issued_on__isnull=False),
                name="issued_invoice_has_number_and_day",
            ),
            models.CheckConstraint(
                condition=~models.Q(state="void") | ~models.Q(voided_reason=""),
                name="void_invoice_has_a_reason",
            ),
        )

    def __str__(self) -> str:
        return f"Invoice {self.number}" if self.number else f"Draft of a {self.kind} invoice"

    def save(self, *args: Any, **kwargs: Any) -> None:
        """Save a draft; what was issued is changed by the services' own updates only."""
        if not self._state.adding:
            _refuse_settled(self.pk)
        super().save(*args, **kwargs)

    def delete(self, *args: Any, **kwargs: Any) -> tuple[int, dict[str, int]]:
        """Delete a draft."""
        _refuse_settled(self.pk)
        return super().delete(*args, **kwargs)


def _refuse_settled(invoice_id: int) -> None:
    if Invoice.objects.filter(pk=invoice_id).exclude(state=Invoice.State.DRAFT).exists():
        raise InvoiceIsFinalError


class InvoiceLine(models.Model):
    """One line of an invoice; the lines add up to its amount."""

    invoice = models.ForeignKey(Invoice, on_delete=models.CASCADE, related_name="lines")
    position = models.PositiveSmallIntegerField(default=0)
    description = models.CharField(max_length=200)
    amount = models.DecimalField(max_digits=12, decimal_places=2)

    class Meta:
        ordering = (
            "position",
            "pk",
        )

    def __str__(self) -> str:
        return f"{self.description}: {self.amount}"

    def save(self, *args: Any, **kwargs: Any) -> None:
        """Save a line of a draft."""
        _refuse_settled(self.invoice_id)
        super().save(*args, **kwargs)

    def delete(self, *args: Any, **kwargs: Any) -> tuple[int, dict[str, int]]:
        """Delete a line of a draft."""
        _refuse_settled(self.invoice_id)
        return super().delete(*args, **kwargs)


class Payment(models.Model):
    """Money received for what was sold, with or without an invoice."""

    class Way(models.TextChoices):
        CHECK = "check", "Check"
        CARD = "card", "Card"
        TRANSFER = "transfer", "Bank transfer"
        CASH = "cash", "Cash"
        OTHER = "other", "Other"

    proposal = models.ForeignKey(Proposal, on_delete=models.PROTECT, related_name="receipts")
    invoice = models.ForeignKey(
        Invoice, on_delete=models.PROTECT, null=True, blank=True, related_name="payments"
    )
    amount = models.DecimalField(max_digits=12, decimal_places=2)
    received_on = models.DateField()
    way = models.CharField(max_length=8, choices=Way, default=Way.CHECK)
    reference = models.CharField(max_length=80, blank=True)
    recorded_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True)
    recorded_at = models.DateTimeField()
    voided_at = models.DateTimeField(null=True, blank=True)
    voided_reason = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = (
            "received_on",
            "pk",
        )
        constraints = (
            models.CheckConstraint(
                condition=models.Q(amount__gt=Decimal(0)), name="payment_is_positive"
            ),
            models.CheckConstraint(
                condition=models.Q(voided_at__isnull=True) | ~models.Q(voided_reason=""),
                name="void_payment_has_a_reason",
            ),
        )

    def __str__(self) -> str:
        return f"{self.amount} received on {self.received_on}"
