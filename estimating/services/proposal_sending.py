"""Sending proposals, mailing them again, withdrawing them and marking them expired."""

import datetime as dt
import hashlib
from collections.abc import Mapping
from typing import Any

from django.core.files.base import ContentFile
from django.db import transaction
from django.utils import timezone

from estimating.mapping import from_plain, to_plain
from estimating.models import Estimate, Proposal
from estimating.selectors.beside import chosen_beside
from estimating.services.payment_schedule import PaymentStep
from estimating.services.proposal_building import build_content
from estimating.services.proposal_content import ProposalContent
from estimating.services.proposal_mail import mail_proposal
from estimating.services.proposal_pdf import logo_address, render_proposal_pdf
from estimating.services.proposals import open_draft, refuse_payments, refuse_unready
from firm.errors import Refusal
from firm.models import OutgoingMail, User
from firm.selectors.profile import firm_profile
from firm.services import audit, jobs

SEND_JOB = "proposal.send"


@transaction.atomic
def send_proposal(*, proposal: Proposal, to: str, actor: User | None, now: dt.datetime) -> Proposal:
    """Freeze a draft and its estimate, and queue the job that prints and mails it.

    With no address it is printed and not mailed: the office hands it over.

    Raises:
        Refusal: it is no draft any more, does not match its estimate, or its date has passed.
    """
    row = open_draft(proposal)
    # Held, so that no line is typed between this look at its price and the freeze.
    row.estimate = (
        Estimate.objects.select_for_update(of=("self",))
        .select_related("customer", "site")
        .get(pk=row.estimate_id)
    )
    _refuse_unsendable(row, today=timezone.localdate(now))
    row.sent_to = to
    row.content = to_plain(build_content(row, today=timezone.localdate(now)))
    row.send_job = jobs.enqueue(
        kind=SEND_JOB,
        arguments={"proposal_id": row.pk, "actor_id": actor.pk if actor else None},
        now=now,
    )
    row.save(update_fields=["sent_to", "content", "send_job"])
    Estimate.objects.filter(pk=row.estimate_id, state=Estimate.State.OPEN).update(
        state=Estimate.State.FROZEN
    )
    audit.record(
        actor=actor,
        action="proposal set off",
        target=row,
        after={"to": to, "price": row.price, "valid_until": row.valid_until},
        at=now,
    )
    return row


def _refuse_unsendable(proposal: Proposal, *, today: dt.date) -> None:
    refuse_unready(proposal.estimate)
    if proposal.price != proposal.estimate.price:
        raise Refusal("The estimate's price has changed since this draft. Draw the draft anew.")
    if proposal.valid_until < today:
        raise Refusal("The day it is good until has passed. Choose another.", field="valid_until")
    steps = [
        PaymentStep(description=row.description, amount=row.amount)
        for row in proposal.payments.all()
    ]
    refuse_payments(proposal, steps)
    if len(chosen_beside(proposal.estimate, proposal.beside)) < len(set(proposal.beside)):
        raise Refusal(
            "One of the other ways to show can't be built as measured any more. Save the draft "
            "again without it.",
            field="beside",
        )


def carry_out_sending(run: jobs.JobRun) -> Mapping[str, Any] | None:
    """Print a frozen draft once, mark it sent and queue its mail; a second run does nothing."""
    proposal = Proposal.objects.select_related("estimate__customer").get(
        pk=run.arguments["proposal_id"]
    )
    if proposal.state != Proposal.State.DRAFT:
        return None
    content = from_plain(ProposalContent, proposal.content)
    run.report(10)
    pdf = render_proposal_pdf(content, logo=logo_address(firm_profile()))
    run.report(80)
    _mark_sent(proposal, pdf=pdf, actor_id=run.arguments["actor_id"], now=run.later())
    return {"sha256": hashlib.sha256(pdf).hexdigest()}


@transaction.atomic
def _mark_sent(proposal: Proposal, *, pdf: bytes, actor_id: int | None, now: dt.datetime) -> None:
    kept = proposal.pdf.storage.save(
        proposal.pdf.field.generate_filename(proposal, f"proposal-{proposal.estimate.label}.pdf"),
        ContentFile(pdf),
    )
    claimed = Proposal.objects.filter(pk=proposal.pk, state=Proposal.State.DRAFT).update(
        state=Proposal.State.SENT,
        pdf=kept,
        pdf_sha256=hashlib.sha256(pdf).hexdigest(),
        sent_at=now,
    )
    if not claimed:
        proposal.pdf.storage.delete(kept)
        return
    actor = User.objects.filter(pk=actor_id).first() if actor_id else None
    proposal.refresh_from_db()
    _withdraw_older(proposal, actor=actor, now=now)
    if proposal.sent_to:
        mail_proposal(proposal, pdf=pdf, now=now)
    audit.record(
        actor=actor,
        action="proposal sent",
        target=proposal,
        after={"to": proposal.sent_to, "pdf_sha256": proposal.pdf_sha256},
        at=now,
    )


def _withdraw_older(proposal: Proposal, *, actor: User | None, now: dt.datetime) -> None:
    """A newer proposal replaces those still out for the same job, of this or another revision."""
    older = Proposal.objects.filter(
        estimate__number=proposal.estimate.number, state=Proposal.State.SENT
    ).exclude(pk=proposal.pk)
    for one in older.select_related("estimate"):
        _withdraw(one, actor=actor, now=now, why=f"replaced by proposal {proposal.estimate.label}")


def _withdraw(proposal: Proposal, *, actor: User | None, now: dt.datetime, why: str) -> bool:
    claimed = Proposal.objects.filter(pk=proposal.pk, state=Proposal.State.SENT).update(
        state=Proposal.State.WITHDRAWN
    )
    if claimed:
        audit.record(
            actor=actor,
            action="proposal withdrawn",
            target=proposal,
            before={"state": Proposal.State.SENT},
            after={"state": Proposal.State.WITHDRAWN, "why": why},
            at=now,
        )
    return bool(claimed)


@transaction.atomic
def withdraw_proposal(*, proposal: Proposal, actor: User | None, now: dt.datetime) -> None:
    """Take back a proposal that was sent and not answered."""
    if not _withdraw(proposal, actor=actor, now=now, why="taken back by the office"):
        raise Refusal("Only a proposal that was sent and not answered can be withdrawn.")


@transaction.atomic
def mail_again(
    *, proposal: Proposal, to: str, actor: User | None, now: dt.datetime
) -> OutgoingMail:
    """Mail a proposal that is out once more: the very same PDF."""
    if proposal.state != Proposal.State.SENT:
        raise Refusal("Only a proposal that is out and not answered can be mailed again.")
    with proposal.pdf.open("rb") as file:
        pdf = file.read()
    Proposal.objects.filter(pk=proposal.pk).update(sent_to=to)
    proposal.refresh_from_db()
    mail = mail_proposal(proposal, pdf=pdf, now=now)
    audit.record(
        actor=actor, action="proposal mailed again", target=proposal, after={"to": to}, at=now
    )
    return mail


@transaction.atomic
def mark_expired(*, now: dt.datetime) -> int:
    """Mark what is out past its last day; return how many. Nothing depends on its having run."""
    past = Proposal.objects.filter(
        state=Proposal.State.SENT, valid_until__lt=timezone.localdate(now)
    )
    rows = list(past.select_related("estimate"))
    for row in rows:
        audit.record(actor=None, action="proposal expired", target=row, at=now)
    return past.filter(pk__in=[row.pk for row in rows]).update(state=Proposal.State.EXPIRED)
