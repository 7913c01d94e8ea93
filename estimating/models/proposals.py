"""Proposals: what the customer was offered, and what the customer said."""

import secrets
from typing import Any

from django.db import models
from django.utils import timezone

from estimating.models.estimates import Estimate
from firm.models import User


def new_token() -> str:
    """Return an unguessable token for a customer's link (256 bits)."""
    return secrets.token_urlsafe(32)


class Proposal(models.Model):
    """An offer made from an estimate. Once sent, its content and its PDF never change."""

    class State(models.TextChoices):
        DRAFT = "draft", "Draft"
        SENT = "sent", "Sent"
        ACCEPTED = "accepted", "Accepted"
        DECLINED = "declined", "Declined"
        EXPIRED = "expired", "Expired"
        WITHDRAWN = "withdrawn", "Replaced by a newer one"

    class Detail(models.TextChoices):
        TOTAL = "total", "One price"
        LINES = "lines", "A price for each part"
        QUANTITIES = "quantities", "Parts with main quantities"

    estimate = models.ForeignKey(Estimate, on_delete=models.PROTECT, related_name="proposals")
    state = models.CharField(max_length=9, choices=State, default=State.DRAFT)
    detail = models.CharField(max_length=10, choices=Detail, default=Detail.LINES)
    token = models.CharField(max_length=64, unique=True, default=new_token, editable=False)
    introduction = models.TextField(blank=True)
    scope_text = models.TextField(blank=True)
    exclusions_text = models.TextField(blank=True)
    valid_until = models.DateField()
    price = models.DecimalField(max_digits=12, decimal_places=2)
    sales_tax = models.DecimalField(max_digits=12, decimal_places=2, default=0)
    deposit = models.DecimalField(max_digits=12, decimal_places=2, default=0)
    beside = models.JSONField(default=list)  # keys of the scopes and alternates shown beside it
    content = models.JSONField(default=dict)  # everything printed, frozen when sent
    # The job that makes the PDF and mails it; while it runs the draft can't be changed.
    send_job = models.ForeignKey(
        "firm.Job", on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    pdf = models.FileField(upload_to="proposals/%Y/%m/", blank=True)
    pdf_sha256 = models.CharField(max_length=64, blank=True)
    sent_to = models.EmailField(blank=True)
    sent_at = models.DateTimeField(null=True, blank=True)
    first_read_at = models.DateTimeField(null=True, blank=True)
    declined_at = models.DateTimeField(null=True, blank=True)
    declined_reason = models.CharField(max_length=300, blank=True)
    call_after = models.DateField(null=True, blank=True)
    call_note = models.CharField(max_length=300, blank=True)
    created_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True)
    created_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = (
            "-created_at",
            "-pk",
        )
        indexes = (models.Index(fields=["state", "valid_until"]),)
        constraints = (
            models.CheckConstraint(
                condition=models.Q(state="draft")
                | models.Q(state="withdrawn")
                | ~models.Q(pdf_sha256=""),
                name="sent_proposal_has_its_pdf",
            ),
            models.CheckConstraint(
                condition=~models.Q(state="declined") | ~models.Q(declined_reason=""),
                name="declined_proposal_has_a_reason",
            ),
            models.UniqueConstraint(
                fields=["estimate"],
                condition=models.Q(state="draft"),
                name="one_draft_per_estimate",
            ),
        )

    def __str__(self) -> str:
        return f"Proposal {self.estimate.label}"


class ProposalOption(models.Model):
    """An extra the customer may tick when accepting."""

    proposal = models.ForeignKey(Proposal, on_delete=models.CASCADE, related_name="options")
    position = models.PositiveSmallIntegerField(default=0)
    key = models.CharField(max_length=60)
    description = models.CharField(max_length=200)
    amount = models.DecimalField(max_digits=12, decimal_places=2)  # with its tax

    class Meta:
        ordering = (
            "position",
            "pk",
        )
        constraints = (
            models.UniqueConstraint(fields=["proposal", "key"], name="option_once_per_proposal"),
        )

    def __str__(self) -> str:
        return self.description


class ProposalPayment(models.Model):
    """One step of the payment schedule; the steps add up to the proposal's price."""

    proposal = models.ForeignKey(Proposal, on_delete=models.CASCADE, related_name="payments")
    position = models.PositiveSmallIntegerField(default=0)
    description = models.CharField(max_length=120)
    amount = models.DecimalField(max_digits=12, decimal_places=2)

    class Meta:
        ordering = (
            "position",
            "pk",
        )

    def __str__(self) -> str:
        return f"{self.description}: {self.amount}"


class AcceptanceIsFinalError(Exception):
    """Code tried to change or delete an acceptance."""


class AcceptanceQuerySet(models.QuerySet["Acceptance"]):
    """Acceptances, which are only ever added."""

    def update(self, **_kwargs: Any) -> int:
        raise AcceptanceIsFinalError

    def delete(self) -> tuple[int, dict[str, int]]:
        raise AcceptanceIsFinalError


class Acceptance(models.Model):
    """The customer's yes, kept for ever with the very PDF it was said to."""

    class Way(models.TextChoices):
        LINK = "link", "At the link"
        PAPER = "paper", "On paper"

    proposal = models.OneToOneField(Proposal, on_delete=models.PROTECT, related_name="acceptance")
    way = models.CharField(max_length=5, choices=Way)
    signed_name = models.CharField(max_length=120)
    consent_text = models.TextField()
    accepted_at = models.DateTimeField()
    ip_address = models.GenericIPAddressField(null=True, blank=True)
    user_agent = models.CharField(max_length=300, blank=True)
    pdf_sha256 = models.CharField(max_length=64)
    options = models.JSONField(default=list)  # [{key, description, amount}]
    total = models.DecimalField(max_digits=12, decimal_places=2)
    cancellation_ends_at = models.DateTimeField()
    scan = models.FileField(upload_to="acceptances/%Y/%m/", blank=True)
    recorded_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, blank=True)

    objects = AcceptanceQuerySet.as_manager()

    class Meta:
        constraints = (
            models.CheckConstraint(
                condition=~models.Q(signed_name=""), name="acceptance_has_a_name"
            ),
            models.CheckConstraint(
                condition=~models.Q(pdf_sha256=""), name="acceptance_names_its_pdf"
            ),
        )

    def __str__(self) -> str:
        return f"{self.proposal} accepted by {self.signed_name}"

    def save(self, *args: Any, **kwargs: Any) -> None:
        """Add the row; a row that stands stays as it is."""
        if not self._state.adding:
            raise AcceptanceIsFinalError
        super().save(*args, **kwargs)

    def delete(self, *_args: Any, **_kwargs: Any) -> tuple[int, dict[str, int]]:
        """Refuse."""
        raise AcceptanceIsFinalError
