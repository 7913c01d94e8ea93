"""Questions about proposals: where they stand, whom to call, what may be ordered."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.db import models
from django.utils import timezone

from estimating.models import Acceptance, Proposal
from firm.models import JobState, OutgoingMail
from firm.selectors.kept_mails import kept_mail_about

QUIET_DAYS = 3
EXPIRING_DAYS = 5

ANSWERS_IN_WORDS = {
    Proposal.State.DRAFT: "This proposal has not been sent yet.",
    Proposal.State.ACCEPTED: "This proposal was accepted already.",
    Proposal.State.DECLINED: "This proposal was declined. Call us if you have thought again.",
    Proposal.State.WITHDRAWN: "This proposal was withdrawn or replaced by a newer one. "
    "Please use the newer one, or call us.",
}
EXPIRED_WORDS = "This proposal was good until {day}. Call us for a new one."


@dataclass(frozen=True, kw_only=True, slots=True)
class CallDue:
    """A customer to call, and why today."""

    proposal: Proposal
    reason: str


def standing(proposal: Proposal, today: dt.date) -> Proposal.State:
    """Return the state as it is today: what is out past its last day has expired."""
    state = Proposal.State(proposal.state)
    if state == Proposal.State.SENT and proposal.valid_until < today:
        return Proposal.State.EXPIRED
    return state


def why_not_acceptable(proposal: Proposal, today: dt.date) -> str:
    """Return why the proposal can't be accepted on that day, or nothing if it can."""
    state = standing(proposal, today)
    if state == Proposal.State.EXPIRED:
        day = proposal.valid_until
        return EXPIRED_WORDS.format(day=f"{day:%B} {day.day}, {day.year}")
    return ANSWERS_IN_WORDS.get(state, "")


def may_order(proposal: Proposal, now: dt.datetime) -> bool:
    """Return whether material may be ordered and holes dug: accepted, cancellation time over."""
    acceptance = Acceptance.objects.filter(proposal=proposal).first()
    return acceptance is not None and now > acceptance.cancellation_ends_at


def is_sending(proposal: Proposal) -> bool:
    """Return whether the job that prints and mails the proposal is under way."""
    return (
        proposal.state == Proposal.State.DRAFT
        and proposal.send_job is not None
        and not proposal.send_job.is_over
    )


def sending_failed(proposal: Proposal) -> str:
    """Return why the last try to send failed, or nothing."""
    job = proposal.send_job
    if proposal.state != Proposal.State.DRAFT or job is None or job.state != JobState.FAILED:
        return ""
    return job.error or "No reason was given."


def proposal_rows() -> models.QuerySet[Proposal]:
    """Return proposals with what a list of them shows."""
    return Proposal.objects.select_related("estimate__customer", "estimate__site", "send_job")


def in_state(state: str, today: dt.date) -> models.QuerySet[Proposal]:
    """Return the proposals that stand in `state` today, all of them for no state."""
    rows = proposal_rows()
    if state == Proposal.State.SENT:
        return rows.filter(state=state, valid_until__gte=today)
    if state == Proposal.State.EXPIRED:
        return rows.filter(
            models.Q(state=state) | models.Q(state=Proposal.State.SENT, valid_until__lt=today)
        )
    return rows.filter(state=state) if state else rows


def by_token(token: str) -> Proposal | None:
    """Return the proposal of a customer's link; drafts have none, not even once withdrawn."""
    sent = proposal_rows().exclude(state=Proposal.State.DRAFT).exclude(pdf_sha256="")
    return sent.filter(token=token).first()


def kept_mail(proposal: Proposal) -> OutgoingMail | None:
    """Return the mail that would have carried the proposal, had a mail server been set."""
    kind = OutgoingMail.Kind.PROPOSAL
    return kept_mail_about(kind=kind, about=proposal.pk, to=proposal.sent_to)


def calls_due(today: dt.date) -> list[CallDue]:
    """Return whom to call today about proposals that are out, the most pressing first."""
    quiet_since = timezone.make_aware(
        dt.datetime.combine(today - dt.timedelta(days=QUIET_DAYS), dt.time.max)
    )
    soon = today + dt.timedelta(days=EXPIRING_DAYS)
    due = (
        proposal_rows()
        .filter(state=Proposal.State.SENT, valid_until__gte=today)
        .filter(
            models.Q(call_after__lte=today)
            | models.Q(call_after__isnull=True, sent_at__lte=quiet_since)
            | models.Q(call_after__isnull=True, valid_until__lte=soon)
        )
        .order_by("valid_until", "sent_at")
    )
    return [CallDue(proposal=row, reason=_why_call(row, today)) for row in due]


def _why_call(proposal: Proposal, today: dt.date) -> str:
    days_left = (proposal.valid_until - today).days
    if proposal.call_after is not None and proposal.call_after <= today:
        return "You meant to call"
    if days_left <= EXPIRING_DAYS:
        return "Good until today" if not days_left else f"Good for {days_left} more days"
    return "No answer yet"


def total_with(proposal: Proposal, keys: Sequence[str]) -> Decimal:
    """Return the price with the options of those keys."""
    chosen = [row.amount for row in proposal.options.all() if row.key in set(keys)]
    return proposal.price + sum(chosen, Decimal(0))
