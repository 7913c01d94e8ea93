"""A contract with its money that tests of invoices and payments begin with.

Sold for 5,100.00, tax included. Its schedule: deposit 2,040.00 (40 % of 5,100.00), the rest of
3,060.00 in two halves of 1,530.00 each.
"""

import datetime as dt
from decimal import Decimal
from typing import Any

from estimating.models import ChangeOrder, Invoice, Payment, Proposal, ProposalPayment
from estimating.services.change_orders import ChangeText, add_change_order
from estimating.services.invoices import draft_balance_invoice, draft_step_invoice, issue_invoice
from estimating.services.payments import add_payment
from tests.factories import NOW, make_firm
from tests.job_cast import make_fence_job

TODAY = NOW.date()
STEPS = (
    ("Deposit, when you accept", "2040.00"),
    ("When the posts are set", "1530.00"),
    ("When the work is complete", "1530.00"),
)


def make_contract(**changes: Any) -> Proposal:
    """Return an accepted proposal with its job and its payment schedule."""
    make_firm()
    proposal: Proposal = make_fence_job(**changes).proposal
    add_schedule(proposal)
    return proposal


def add_schedule(proposal: Proposal) -> None:
    """Add the payment schedule to a proposal."""
    for position, (description, amount) in enumerate(STEPS):
        ProposalPayment.objects.create(
            proposal=proposal, position=position, description=description, amount=Decimal(amount)
        )


def issue(invoice: Invoice, *, to: str = "", now: dt.datetime = NOW) -> Invoice:
    """Return the invoice, issued."""
    return issue_invoice(invoice=invoice, to=to, actor=None, now=now)


def draft_step(proposal: Proposal, position: int = 0) -> Invoice:
    """Return the drafted invoice of one step of the schedule, the deposit unless told."""
    step = proposal.payments.get(position=position)
    return draft_step_invoice(step=step, actor=None, now=NOW)


def draft_balance(proposal: Proposal) -> Invoice | None:
    """Return the drafted balance."""
    return draft_balance_invoice(proposal_id=proposal.pk, actor=None, now=NOW)


def sure_balance(proposal: Proposal) -> Invoice:
    """Return the drafted balance, which must be there."""
    found = draft_balance(proposal)
    assert found is not None
    return found


def pay(proposal: Proposal, amount: str, invoice: Invoice | None = None, **values: Any) -> Payment:
    """Return a payment, written down; its reference tells it from the others."""
    given: dict[str, Any] = {
        "amount": Decimal(amount),
        "received_on": TODAY,
        "way": "check",
        "reference": f"{proposal.receipts.count() + 1}",
        "invoice": invoice,
    }
    return add_payment(proposal_id=proposal.pk, values=given | values, actor=None, now=NOW)


def draft_change(proposal: Proposal, price: str = "120.00") -> ChangeOrder:
    """Return a change order that nobody has signed yet."""
    text = ChangeText(
        title="A lock on the gate",
        description="Keyed alike.",
        price_before_tax=Decimal(price),
        extra_days=0,
    )
    return add_change_order(proposal_id=proposal.pk, text=text, actor=None, now=NOW)


def sign_change(proposal: Proposal, price: str, tax: str = "0.00") -> ChangeOrder:
    """Return a change order that the customer signed."""
    return ChangeOrder.objects.create(
        proposal=proposal,
        number=ChangeOrder.objects.filter(proposal=proposal).count() + 1,
        state=ChangeOrder.State.SIGNED,
        title="Rock in hole 7",
        price_before_tax=Decimal(price),
        sales_tax=Decimal(tax),
        signed_name="Wren Halloway",
        way=ChangeOrder.Way.PHONE,
        decided_at=NOW,
        created_at=NOW,
    )
