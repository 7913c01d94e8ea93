"""No cent is lost, whatever is invoiced, paid, changed and voided, in whatever order."""

import datetime as dt
from decimal import Decimal
from typing import Any, TypeVar

import pytest
from django.db import transaction
from django.db.models import QuerySet
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from estimating.models import Invoice, Payment, Proposal
from estimating.selectors.invoices import Contract, contract_of
from estimating.services.invoices import refresh_draft, void_invoice
from estimating.services.payments import void_payment
from firm.errors import Refusal
from tests.factories import NOW
from tests.money_cast import (
    TODAY,
    draft_balance,
    draft_step,
    issue,
    make_contract,
    pay,
    sign_change,
)

pytestmark = pytest.mark.django_db
Row = TypeVar("Row", Invoice, Payment)
NOTHING = Decimal(0)
CENTS = st.decimals(min_value="0.01", max_value=4000, places=2)
SIGNED_CENTS = st.decimals(min_value=-900, max_value=900, places=2)
DEEDS = st.one_of(
    st.tuples(st.just("step"), st.integers(0, 2)),
    st.tuples(st.just("balance"), st.none()),
    st.tuples(st.just("issue"), st.integers(0, 5)),
    st.tuples(st.just("void"), st.integers(0, 5)),
    st.tuples(st.just("pay"), CENTS),
    st.tuples(st.just("pay invoice"), st.tuples(st.integers(0, 5), CENTS)),
    st.tuples(st.just("void payment"), st.integers(0, 5)),
    st.tuples(st.just("change"), SIGNED_CENTS),
)


def do(proposal: Proposal, deed: str, with_what: Any) -> None:
    """Do one thing; what the services refuse is left undone."""
    if deed == "step":
        draft_step(proposal, with_what)
    elif deed == "balance":
        draft_balance(proposal)
    elif deed == "pay":
        pay(proposal, str(with_what))
    elif deed == "change":
        sign_change(proposal, str(with_what))
        refresh_draft(proposal_id=proposal.pk, actor=None, now=NOW)
    elif deed == "void payment":
        if payment := one_of(Payment.objects.filter(voided_at=None).order_by("pk"), with_what):
            void_payment(payment=payment, reason="Came back", actor=None, now=NOW)
    else:
        do_to_an_invoice(proposal, deed, with_what)


def do_to_an_invoice(proposal: Proposal, deed: str, with_what: Any) -> None:
    at, amount = with_what if isinstance(with_what, tuple) else (with_what, None)
    state = "draft" if deed == "issue" else "issued"
    invoice = one_of(Invoice.objects.filter(state=state).order_by("pk"), at)
    if invoice is None:
        return
    if deed == "issue":
        issue(invoice)
    elif deed == "void":
        void_invoice(invoice=invoice, reason="A slip", actor=None, now=NOW)
    else:
        pay(proposal, str(amount), invoice)


def one_of(rows: "QuerySet[Row]", at: int) -> Row | None:
    found = list(rows)
    return found[at % len(found)] if found else None


def look(proposal: Proposal) -> Contract:
    found = contract_of(proposal.pk, today=TODAY + dt.timedelta(days=1))
    assert found is not None
    return found


def check(contract: Contract, changes: Decimal) -> None:
    money = contract.money
    payments = Payment.objects.filter(proposal=contract.proposal, voided_at=None)
    received = sum((row.amount for row in payments), NOTHING)
    still_open = sum((row.open for row in contract.invoices), NOTHING)
    assert money.total == Decimal("5100.00") + changes
    assert money.received == received
    assert received + money.open == money.total
    assert still_open + money.uninvoiced - money.spare == money.open
    for row in contract.invoices:
        lines = sum((line.amount for line in row.invoice.lines.all()), NOTHING)
        assert lines == row.invoice.amount > 0
        assert 0 <= row.open <= row.invoice.amount
        if row.invoice.kind == "balance" and row.invoice.state == "draft":
            assert row.invoice.amount == money.balance


# Fewer examples: each is a whole life of a contract in the database.
@settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(deeds=st.lists(DEEDS, max_size=14))
def test_received_and_open_are_the_contract_after_every_deed(
    db: None, deeds: list[tuple[str, Any]]
) -> None:
    with transaction.atomic():
        proposal = make_contract()
        changes = NOTHING
        for deed, with_what in deeds:
            try:
                with transaction.atomic():
                    do(proposal, deed, with_what)
            except Refusal:
                continue
            changes += with_what if deed == "change" else NOTHING
            check(look(proposal), changes)
        if (balance := draft_balance(proposal)) is not None and balance.state == "draft":
            issue(balance)
            money = look(proposal).money
            # Everything is on invoices now: what they leave open is what the customer owes.
            assert money.balance == money.uninvoiced == NOTHING
            assert sum(money.open_by_invoice.values(), NOTHING) == money.open
        numbers = Invoice.objects.exclude(number=None).order_by("number")
        found = list(numbers.values_list("number", flat=True))
        assert found == list(range(1001, 1001 + len(found)))
        transaction.set_rollback(True)
