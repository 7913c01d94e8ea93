"""Writing down money received, and voiding what was written down wrongly."""

import datetime as dt
from collections.abc import Mapping
from typing import Any

from django.db import transaction
from django.utils import timezone

from estimating.models import Invoice, Payment
from estimating.services.invoices import held_contract, refresh_draft
from firm.errors import Refusal
from firm.models import User
from firm.services.saving import add_row, change_row, locked, refuse_repeated

SAME = ("proposal_id", "amount", "received_on", "way", "reference", "invoice", "voided_at")
REPEATED = (
    "This very payment was written down a moment ago. If it is a second one, tell them apart by "
    "the reference."
)


@transaction.atomic
def add_payment(
    *, proposal_id: int, values: Mapping[str, Any], actor: User | None, now: dt.datetime
) -> Payment:
    """Write down a payment for an invoice, or for the contract as a whole.

    `values` are amount, received_on, way, reference and invoice, which may be None.

    Raises:
        Refusal: the amount is not above zero, the day lies in the future, the invoice is not an
            issued one of this contract, the proposal is not accepted, or the same was written down
            a moment ago.
    """
    held_contract(proposal_id, now=now)
    payment = Payment(**values, proposal_id=proposal_id, recorded_by=actor, recorded_at=now)
    if payment.amount <= 0:
        raise Refusal("The amount must be above zero.", field="amount")
    if payment.received_on > timezone.localdate(now):
        raise Refusal("This day lies in the future.", field="received_on")
    invoice = payment.invoice
    if invoice is not None:
        found = Invoice.objects.filter(pk=invoice.pk, proposal=proposal_id)
        if not found.filter(state=Invoice.State.ISSUED).exists():
            raise Refusal("Choose an issued invoice of this contract.", field="invoice")
    refuse_repeated(payment, same=SAME, written_at="recorded_at", words=REPEATED, now=now)
    add_row(payment, actor=actor, action="wrote a payment down", at=now)
    refresh_draft(proposal_id=proposal_id, actor=actor, now=now)
    return payment


@transaction.atomic
def void_payment(*, payment: Payment, reason: str, actor: User | None, now: dt.datetime) -> Payment:
    """Void a payment: it came back, or was written down wrongly. The row stays to be seen.

    Raises:
        Refusal: no reason is given, or it is void already.
    """
    if not reason.strip():
        raise Refusal("Write down why: somebody will ask.", field="reason")
    held_contract(payment.proposal_id, now=now)
    if locked(payment).voided_at is not None:
        raise Refusal("This payment is void already.")
    row = change_row(
        payment,
        changes={"voided_at": now, "voided_reason": reason.strip()},
        actor=actor,
        action="voided a payment",
        at=now,
    )
    refresh_draft(proposal_id=payment.proposal_id, actor=actor, now=now)
    return row
