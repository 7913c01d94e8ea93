"""Drafting, issuing and voiding invoices of what was sold."""

import datetime as dt
from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.db.models import F
from django.utils import timezone

from estimating.mapping import to_plain
from estimating.models import Invoice, InvoiceLine, Proposal, ProposalPayment
from estimating.selectors.invoices import PRINT_JOB, Contract, contract_of, steps_of
from estimating.services.invoice_content import Line, balance_lines, build_content
from firm.errors import Refusal
from firm.measure.money import format_money
from firm.models import FirmProfile, User
from firm.selectors.profile import firm_profile
from firm.services import audit, jobs
from firm.services.saving import add_row, change_row

# Common practice, no source; a draft may name another day.
DAYS_TO_PAY = dt.timedelta(days=14)
NOT_SOLD = "Only what was accepted can be invoiced."
NO_DRAFT = "This invoice was issued already: it stays as it is."
BALANCE_ASKED = "The balance is invoiced already: nothing is left to ask for beside it."


def held_contract(proposal_id: int, *, now: dt.datetime) -> Contract:
    """Return a contract with its money, held against others' changes of it until the commit.

    Raises:
        Refusal: the proposal is not accepted.
    """
    Proposal.objects.select_for_update().filter(pk=proposal_id).first()
    contract = contract_of(proposal_id, today=timezone.localdate(now))
    if contract is None:
        raise Refusal(NOT_SOLD)
    return contract


@transaction.atomic
def draft_balance_invoice(
    *, proposal_id: int, actor: User | None, now: dt.datetime
) -> Invoice | None:
    """Return the balance invoice of a contract: drafted now, worked out anew, or issued before.

    None where nothing is left to ask for.

    Raises:
        Refusal: the proposal is not accepted.
    """
    contract = held_contract(proposal_id, now=now)
    standing = contract.balance
    if standing is not None:
        if standing.state != Invoice.State.DRAFT:
            return standing
        return _work_out(standing, contract, actor=actor, now=now)
    if contract.money.balance <= 0:
        return None
    return _add_draft(
        Invoice(
            proposal=contract.proposal,
            kind=Invoice.Kind.BALANCE,
            amount=contract.money.balance,
            drafted_at=now,
            drafted_by=actor,
        ),
        balance_lines(contract),
        actor=actor,
        now=now,
    )


@transaction.atomic
def refresh_draft(*, proposal_id: int, actor: User | None, now: dt.datetime) -> Invoice | None:
    """Work a drafted balance out anew, after a change or a payment; None where none is drafted.

    A draft with nothing left to ask for goes.
    """
    contract = held_contract(proposal_id, now=now)
    standing = contract.balance
    if standing is None or standing.state != Invoice.State.DRAFT:
        return None
    return _work_out(standing, contract, actor=actor, now=now)


def _work_out(
    draft: Invoice, contract: Contract, *, actor: User | None, now: dt.datetime
) -> Invoice | None:
    left, lines = contract.money.balance, balance_lines(contract)
    if left <= 0:
        _delete_draft(draft, action="dropped a balance with nothing left", actor=actor, now=now)
        return None
    kept = [(line.description, line.amount) for line in draft.lines.all()]
    if kept != [(line.description, line.amount) for line in lines]:
        draft.lines.all().delete()
        _add_lines(draft, lines)
    return change_row(
        draft,
        changes={"amount": left},
        actor=actor,
        action="worked a balance out anew",
        at=now,
    )


@transaction.atomic
def draft_step_invoice(*, step: ProposalPayment, actor: User | None, now: dt.datetime) -> Invoice:
    """Draft the invoice of one step of the accepted payment schedule; each step has one.

    Raises:
        Refusal: it has one already, or less is left to ask for than it says.
    """
    contract = held_contract(step.proposal_id, now=now)
    if any(each.step.pk == step.pk and each.invoice for each in steps_of(contract)):
        raise Refusal("This payment has its invoice already.")
    _refuse_more_than_is_left(contract, step.amount)
    is_first = step == contract.proposal.payments.first()
    is_deposit = is_first and contract.proposal.payments.count() > 1
    return _add_draft(
        Invoice(
            proposal=contract.proposal,
            kind=Invoice.Kind.DEPOSIT if is_deposit else Invoice.Kind.PROGRESS,
            amount=step.amount,
            content={"step": step.pk},
            drafted_at=now,
            drafted_by=actor,
        ),
        [Line(description=step.description, amount=step.amount)],
        actor=actor,
        now=now,
    )


def _refuse_more_than_is_left(contract: Contract, amount: Decimal) -> None:
    balance = contract.balance
    if balance is not None and balance.state == Invoice.State.ISSUED:
        raise Refusal(BALANCE_ASKED)
    left = contract.money.balance
    if amount > left:
        raise Refusal(
            f"This asks for {format_money(amount)}, but only {format_money(max(left, Decimal(0)))} "
            "of the contract is neither invoiced nor received."
        )


def _add_draft(
    draft: Invoice, lines: Sequence[Line], *, actor: User | None, now: dt.datetime
) -> Invoice:
    add_row(draft, actor=actor, action="drafted an invoice", at=now)
    _add_lines(draft, lines)
    return draft


def _add_lines(draft: Invoice, lines: Sequence[Line]) -> None:
    InvoiceLine.objects.bulk_create(
        InvoiceLine(
            invoice=draft, position=position, description=line.description, amount=line.amount
        )
        for position, line in enumerate(lines)
    )


@transaction.atomic
def change_draft(
    *, invoice: Invoice, values: Mapping[str, Any], actor: User | None, now: dt.datetime
) -> Invoice:
    """Change a draft's note and the day it is due.

    Raises:
        Refusal: it was issued already, or is due before it is issued.
    """
    draft = open_draft(invoice)
    _refuse_past(values.get("due_on"), now=now)
    return change_row(
        draft, changes=values, actor=actor, action="changed a draft of an invoice", at=now
    )


def _refuse_past(due_on: dt.date | None, *, now: dt.datetime) -> None:
    if due_on is not None and due_on < timezone.localdate(now):
        raise Refusal("The day it is due has passed: choose another.", field="due_on")


def open_draft(invoice: Invoice) -> Invoice:
    """Return the draft as it now stands, held against others' changes.

    Raises:
        Refusal: it was issued, or dropped.
    """
    row = Invoice.objects.select_for_update().filter(pk=invoice.pk).first()
    if row is None:
        raise Refusal("This draft was dropped.")
    if row.state != Invoice.State.DRAFT:
        raise Refusal(NO_DRAFT)
    return row


@transaction.atomic
def drop_draft(*, invoice: Invoice, actor: User | None, now: dt.datetime) -> None:
    """Throw a draft away; it had no number, so none is missing.

    Raises:
        Refusal: it was issued already.
    """
    _delete_draft(open_draft(invoice), action="dropped a draft", actor=actor, now=now)


def _delete_draft(draft: Invoice, *, action: str, actor: User | None, now: dt.datetime) -> None:
    before = audit.snapshot(draft)
    audit.record(actor=actor, action=action, target=draft, before=before, at=now)
    draft.delete()


@transaction.atomic
def issue_invoice(*, invoice: Invoice, to: str, actor: User | None, now: dt.datetime) -> Invoice:
    """Number a draft and freeze it; a job prints it and, with an address, mails it.

    Raises:
        Refusal: it was issued already, its balance has changed since it was worked out, it asks
            for more than is left, or the day it is due has passed.
    """
    contract = held_contract(invoice.proposal_id, now=now)
    draft = open_draft(invoice)
    _refuse_past(draft.due_on, now=now)
    if draft.kind != Invoice.Kind.BALANCE:
        _refuse_more_than_is_left(contract, draft.amount)
    elif draft.amount != contract.money.balance:
        raise Refusal("The balance has changed since it was drafted. Work it out anew first.")
    number, today = _claim_number(), timezone.localdate(now)
    due_on = draft.due_on or today + DAYS_TO_PAY
    content = build_content(
        draft, contract, number=number, issued_on=today, due_on=due_on, firm=firm_profile()
    )
    spare = contract.money.spare if draft.kind == Invoice.Kind.BALANCE else Decimal(0)
    Invoice.objects.filter(pk=draft.pk, state=Invoice.State.DRAFT).update(
        state=Invoice.State.ISSUED,
        number=number,
        issued_on=today,
        due_on=due_on,
        sent_to=to,
        content={**draft.content, **to_plain(content), "credited": str(spare)},
    )
    issued = Invoice.objects.select_related("proposal__estimate__customer").get(pk=draft.pk)
    audit.record(
        actor=actor,
        action="issued an invoice",
        target=issued,
        after={"number": number, "amount": issued.amount, "due_on": due_on, "to": to},
        at=now,
    )
    print_invoice(invoice=issued, actor=actor, now=now)
    refresh_draft(proposal_id=issued.proposal_id, actor=actor, now=now)
    return issued


def _claim_number() -> int:
    """Return the next invoice number; two at once never get the same one."""
    profile = FirmProfile.objects.select_for_update().first()
    if profile is None:
        raise Refusal("Set the firm up first: invoices are numbered from its settings.")
    FirmProfile.objects.update(next_invoice_number=F("next_invoice_number") + 1)
    return profile.next_invoice_number


@transaction.atomic
def print_invoice(*, invoice: Invoice, actor: User | None, now: dt.datetime) -> None:
    """Queue the job that prints and mails an issued invoice; also when it failed before."""
    jobs.enqueue(
        kind=PRINT_JOB,
        arguments={"invoice_id": invoice.pk, "actor_id": actor.pk if actor else None},
        now=now,
    )


@transaction.atomic
def void_invoice(*, invoice: Invoice, reason: str, actor: User | None, now: dt.datetime) -> Invoice:
    """Void an issued invoice: it keeps its number, and what was paid for it stays received.

    Raises:
        Refusal: no reason is given, or it is not an issued one.
    """
    if not reason.strip():
        raise Refusal("Write down why: somebody will ask.", field="reason")
    held_contract(invoice.proposal_id, now=now)
    changed = Invoice.objects.filter(pk=invoice.pk, state=Invoice.State.ISSUED).update(
        state=Invoice.State.VOID, voided_at=now, voided_reason=reason.strip()
    )
    if not changed:
        raise Refusal("Only an issued invoice can be voided.")
    row = Invoice.objects.get(pk=invoice.pk)
    audit.record(
        actor=actor,
        action="voided an invoice",
        target=row,
        before={"state": Invoice.State.ISSUED},
        after={"state": row.state, "reason": row.voided_reason},
        at=now,
    )
    refresh_draft(proposal_id=row.proposal_id, actor=actor, now=now)
    return row
