"""Drafting proposals from estimates, and changing drafts."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.db import transaction
from django.utils import timezone

from estimating.models import Estimate, Proposal, ProposalOption, ProposalPayment
from estimating.services.payment_schedule import PaymentStep, largest_deposit, schedule_payments
from estimating.services.proposal_building import (
    deposit_rule,
    facts_of,
    option_rows,
)
from estimating.services.proposal_texts import texts_for
from estimating.services.scope_words import scope_text
from firm.errors import Refusal
from firm.measure.money import format_money
from firm.models import FirmProfile, User
from firm.selectors.profile import firm_profile
from firm.services import audit

TEXT_FIELDS = ("detail", "introduction", "scope_text", "exclusions_text", "valid_until")
DRAFT_FIELDS = (*TEXT_FIELDS, "deposit", "beside")


@dataclass(frozen=True, kw_only=True, slots=True)
class DraftText:
    """What the office may write in a draft."""

    detail: str
    introduction: str
    scope_text: str
    exclusions_text: str
    valid_until: dt.date
    payments: Sequence[PaymentStep]
    beside: Sequence[str] = ()


@transaction.atomic
def create_draft(*, estimate: Estimate, actor: User | None, now: dt.datetime) -> Proposal:
    """Return the estimate's draft, made from its layout and the firm's texts if there is none."""
    # Held, so that two who draft at once get the same draft.
    estimate = (
        Estimate.objects.select_for_update(of=("self",))
        .select_related("customer", "site")
        .get(pk=estimate.pk)
    )
    refuse_unready(estimate)
    standing = estimate.proposals.filter(state=Proposal.State.DRAFT).first()
    if standing is not None:
        return standing
    firm = firm_profile()
    facts = facts_of(estimate)
    payments = schedule_payments(estimate.price, deposit_rule(firm))
    proposal = Proposal.objects.create(
        estimate=estimate,
        introduction=_introduction(estimate, firm),
        scope_text=scope_text(facts, firm.units) or estimate.notes,
        exclusions_text="\n".join(texts_for(firm).exclusions),
        valid_until=timezone.localdate(now) + dt.timedelta(days=firm.valid_days),
        price=estimate.price,
        sales_tax=estimate.sales_tax,
        deposit=payments[0].amount if len(payments) > 1 else Decimal(0),
        created_by=actor,
        created_at=now,
    )
    _write_options(proposal, option_rows(facts))
    _write_payments(proposal, payments)
    audit.record(
        actor=actor,
        action="proposal drafted",
        target=proposal,
        after=audit.snapshot(proposal, (*DRAFT_FIELDS, "price")),
        at=now,
    )
    return proposal


def refuse_unready(estimate: Estimate) -> None:
    if estimate.state == Estimate.State.REPLACED:
        raise Refusal(f"Estimate {estimate.label} was replaced by a revision. Use that one.")
    if estimate.stop_findings:
        raise Refusal(
            f"Estimate {estimate.label} has {estimate.stop_findings} finding(s) that stop it. "
            "Settle them first: what they say can't be built as measured."
        )
    if estimate.price <= 0:
        raise Refusal(f"Estimate {estimate.label} has no price yet. Price it first.")
    if estimate.proposals.filter(state=Proposal.State.ACCEPTED).exists():
        raise Refusal(
            f"Estimate {estimate.label} was accepted. Price a change as an estimate of its own."
        )


def _introduction(estimate: Estimate, firm: FirmProfile) -> str:
    return (
        f"Dear {estimate.customer.name},\n\nThank you for asking {firm.name or 'us'}. "
        "This is what we propose to build, what it costs, and how we work."
    )


def _write_options(proposal: Proposal, rows: Sequence[tuple[str, str, Decimal]]) -> None:
    proposal.options.all().delete()
    ProposalOption.objects.bulk_create(
        ProposalOption(
            proposal=proposal, position=place, key=key, description=words[:200], amount=amount
        )
        for place, (key, words, amount) in enumerate(rows)
    )


def _write_payments(proposal: Proposal, steps: Sequence[PaymentStep]) -> None:
    proposal.payments.all().delete()
    ProposalPayment.objects.bulk_create(
        ProposalPayment(
            proposal=proposal, position=place, description=step.description, amount=step.amount
        )
        for place, step in enumerate(steps)
    )


def deposit_cap(proposal: Proposal) -> Decimal:
    """Return the most the first of several payments may be."""
    return largest_deposit(proposal.price, deposit_rule(firm_profile()))


def refuse_payments(proposal: Proposal, steps: Sequence[PaymentStep]) -> None:
    """Refuse steps that miss the price, or a first one above what the state allows.

    Raises:
        Refusal: with the sum or the cap in its sentence.
    """
    total = sum((step.amount for step in steps), Decimal(0))
    if total != proposal.price:
        raise Refusal(
            f"The payments add up to {format_money(total)}, "
            f"but the price is {format_money(proposal.price)}."
        )
    most = deposit_cap(proposal)
    if len(steps) > 1 and steps[0].amount > most:
        raise Refusal(
            f"The first payment is {format_money(steps[0].amount)}, "
            f"but your state's cap allows {format_money(most)}."
        )


@transaction.atomic
def update_draft(
    *, proposal: Proposal, text: DraftText, actor: User | None, now: dt.datetime
) -> Proposal:
    """Change a draft's text, date and payments, and take over its estimate's price.

    Raises:
        Refusal: it was sent already, the date has passed, or the payments do not fit.
    """
    proposal = open_draft(proposal)
    if text.valid_until < timezone.localdate(now):
        raise Refusal("Choose a day that has not passed.", field="valid_until")
    refuse_payments(proposal, text.payments)
    before = audit.snapshot(proposal, DRAFT_FIELDS)
    for name in TEXT_FIELDS:
        setattr(proposal, name, getattr(text, name))
    proposal.beside = list(text.beside)
    proposal.deposit = text.payments[0].amount if len(text.payments) > 1 else Decimal(0)
    proposal.save()
    _write_payments(proposal, text.payments)
    old, new = audit.differences(before, audit.snapshot(proposal, DRAFT_FIELDS))
    audit.record(
        actor=actor, action="proposal changed", target=proposal, before=old, after=new, at=now
    )
    return proposal


def open_draft(proposal: Proposal) -> Proposal:
    """Return the row as it is now, locked, if it is a draft that nobody is sending."""
    row = (
        Proposal.objects.select_for_update(of=("self",))
        .select_related("estimate__customer", "estimate__site", "send_job")
        .get(pk=proposal.pk)
    )
    if row.state != Proposal.State.DRAFT:
        raise Refusal("This proposal was sent and can't be changed. Revise the estimate instead.")
    if row.send_job is not None and not row.send_job.is_over:
        raise Refusal("This proposal is being sent right now.")
    return row


@transaction.atomic
def refresh_draft(*, proposal: Proposal, actor: User | None, now: dt.datetime) -> Proposal:
    """Take the estimate's price, options, payments and words into a draft anew."""
    row = open_draft(proposal)
    refuse_unready(row.estimate)
    facts, firm = facts_of(row.estimate), firm_profile()
    payments = schedule_payments(row.estimate.price, deposit_rule(firm))
    before = audit.snapshot(row, (*DRAFT_FIELDS, "price"))
    row.price, row.sales_tax = row.estimate.price, row.estimate.sales_tax
    row.deposit = payments[0].amount if len(payments) > 1 else Decimal(0)
    row.scope_text = scope_text(facts, firm.units) or row.scope_text
    row.save()
    _write_options(row, option_rows(facts))
    _write_payments(row, payments)
    old, new = audit.differences(before, audit.snapshot(row, (*DRAFT_FIELDS, "price")))
    audit.record(
        actor=actor, action="proposal drawn anew", target=row, before=old, after=new, at=now
    )
    return row
