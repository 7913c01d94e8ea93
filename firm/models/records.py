"""Who did what, and which mails went out: rows that are only ever added."""

from typing import Any

from django.db import models

from firm.models.users import User


class RecordIsFinalError(Exception):
    """Code tried to delete what the record of changes says."""


class AuditQuerySet(models.QuerySet["AuditEntry"]):
    """Entries, which are only ever added; the database refuses to alter them."""

    def delete(self) -> tuple[int, dict[str, int]]:
        raise RecordIsFinalError


class AuditEntry(models.Model):
    """One change: who, what, before and after."""

    actor = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, blank=True)
    actor_name = models.CharField(max_length=150, blank=True)
    action = models.CharField(max_length=80)
    target_type = models.CharField(max_length=80)
    target_id = models.CharField(max_length=40)
    target_label = models.CharField(max_length=200, blank=True)
    before = models.JSONField(default=dict, blank=True)
    after = models.JSONField(default=dict, blank=True)
    at = models.DateTimeField(db_index=True)

    objects = AuditQuerySet.as_manager()

    class Meta:
        ordering = (
            "-at",
            "-pk",
        )
        verbose_name_plural = "audit entries"
        indexes = (models.Index(fields=["target_type", "target_id"]),)

    def __str__(self) -> str:
        return f"{self.action} {self.target_label}"

    def delete(self, *_args: Any, **_kwargs: Any) -> tuple[int, dict[str, int]]:
        """Refuse."""
        raise RecordIsFinalError


class OutgoingMail(models.Model):
    """A mail as it was written, kept whether or not a mail server took it."""

    class State(models.TextChoices):
        KEPT = "kept", "Kept here, no mail server set"
        QUEUED = "queued", "Waiting to be sent"
        SENT = "sent", "Sent"
        FAILED = "failed", "Could not be sent"

    class Kind(models.TextChoices):
        PASSWORD = "password", "Link to a password"
        PROPOSAL = "proposal", "A proposal for its customer"
        INVOICE = "invoice", "An invoice for its customer"
        ORDER = "order", "A purchase order for its supplier"
        OTHER = "other", "Other"

    to = models.EmailField()
    # What it is for, whichever words and language it says that in.
    kind = models.CharField(max_length=8, choices=Kind, default=Kind.OTHER)
    # The key of the proposal, invoice or order it brings.
    about = models.PositiveBigIntegerField(null=True, blank=True)
    subject = models.CharField(max_length=200)
    body = models.TextField()
    state = models.CharField(max_length=8, choices=State, default=State.QUEUED)
    error = models.TextField(blank=True)
    # Mails with a link to a new password: whoever reads one can become its addressee.
    owner_only = models.BooleanField(default=False)
    created_at = models.DateTimeField(db_index=True)
    sent_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = (
            "-created_at",
            "-pk",
        )
        constraints = (
            models.CheckConstraint(
                condition=models.Q(kind="proposal", about__isnull=False)
                | models.Q(kind="invoice", about__isnull=False)
                | models.Q(kind="order", about__isnull=False)
                | models.Q(kind__in=["password", "other"], about__isnull=True),
                name="mail_kind_known",
            ),
        )
        indexes = (models.Index(fields=["kind", "about"]),)

    def __str__(self) -> str:
        return f"{self.subject} to {self.to}"


class MailAttachment(models.Model):
    """A file that goes with a mail."""

    mail = models.ForeignKey(OutgoingMail, on_delete=models.CASCADE, related_name="attachments")
    name = models.CharField(max_length=200)
    content_type = models.CharField(max_length=100)
    file = models.FileField(upload_to="mail/%Y/%m/")

    def __str__(self) -> str:
        return self.name
