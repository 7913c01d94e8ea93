"""The record of changes, and the mails kept, as lists."""

from django.db.models import Count, Q, QuerySet

from firm.models import AuditEntry, OutgoingMail, User


def audit_entries(*, words: str = "", target: str = "") -> QuerySet[AuditEntry]:
    """Return entries that mention `words`, or that belong to the row named `type:id`."""
    entries = AuditEntry.objects.all()
    if words:
        entries = entries.filter(
            Q(actor_name__icontains=words)
            | Q(action__icontains=words)
            | Q(target_label__icontains=words)
        )
    kind, _, row_id = target.partition(":")
    if kind:
        entries = entries.filter(target_type=kind)
    if row_id:
        entries = entries.filter(target_id=row_id)
    return entries


def mails_for(person: User) -> QuerySet[OutgoingMail]:
    """Return the mails this person may read, with how many files each carries."""
    mails = OutgoingMail.objects.annotate(files=Count("attachments")).order_by("-created_at", "-pk")
    return mails if person.is_owner else mails.filter(owner_only=False)
