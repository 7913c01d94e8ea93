"""Invoices: drafted, issued once, never changed, voided; the balance that follows the money."""

import datetime as dt
import hashlib
from decimal import Decimal
from typing import Any

import pytest
from django.db import IntegrityError, connection, models, transaction
from pytest_django import DjangoCaptureOnCommitCallbacks

from estimating.models import Invoice, InvoiceLine, Payment, Proposal
from estimating.models.invoices import InvoiceIsFinalError
from estimating.selectors.invoices import Contract, contract_of, is_deposit_unrecorded
from estimating.services.invoice_pdf import carry_out_printing, mail_invoice_again
from estimating.services.invoices import (
    change_draft,
    draft_balance_invoice,
    drop_draft,
    issue_invoice,
    refresh_draft,
    void_invoice,
)
from estimating.services.payments import add_payment, void_payment
from firm.errors import Refusal
from firm.models import AuditEntry, Clearance, FirmProfile, Job, OutgoingMail
from firm.services.jobs import JobRun
from tests.factories import NOW, make_firm, make_sent_proposal, make_site
from tests.money_cast import (
    TODAY,
    draft_balance,
    draft_step,
    issue,
    make_contract,
    pay,
    sign_change,
    sure_balance,
)

pytestmark = pytest.mark.django_db
DAY = dt.timedelta(days=1)


@pytest.fixture
def proposal() -> Proposal:
    return make_contract()


def money_of(proposal: Proposal, today: dt.date = TODAY) -> Contract:
    found = contract_of(proposal.pk, today=today)
    assert found is not None
    return found


def lines_of(invoice: Invoice) -> list[tuple[str, str]]:
    return [(line.description, str(line.amount)) for line in invoice.lines.all()]


def refusal_of(act: Any, **arguments: Any) -> Refusal:
    with pytest.raises(Refusal) as refused, transaction.atomic():
        act(**arguments)
    return refused.value


def test_balance_is_what_was_sold_and_changed_less_what_was_asked_and_received(
    proposal: Proposal,
) -> None:
    deposit = issue(draft_step(proposal))
    pay(proposal, "2040.00", deposit)
    pay(proposal, "500.00", reference="No. 118")
    sign_change(proposal, "95.00", "1.90")
    sign_change(proposal, "-40.00")
    # 5,100.00 + 96.90 - 40.00 - 2,040.00 - 500.00 = 2,616.90.
    balance = sure_balance(proposal)
    assert str(balance.amount) == "2616.90"
    assert lines_of(balance) == [
        ("Price of proposal 1001 as accepted", "5100.00"),
        ("Change order 1: Rock in hole 7", "96.90"),
        ("Change order 2: Rock in hole 7", "-40.00"),
        ("Less invoice 1001 of May 4, 2026", "-2040.00"),
        ("Less received on May 4, 2026, check No. 118", "-500.00"),
    ]


def test_balance_is_drafted_once_and_worked_out_anew(proposal: Proposal) -> None:
    first = sure_balance(proposal)
    assert sure_balance(proposal).pk == first.pk
    assert AuditEntry.objects.filter(action="worked a balance out anew").count() == 0
    pay(proposal, "100.00")
    first.refresh_from_db()
    assert (str(first.amount), len(lines_of(first))) == ("5000.00", 2)
    sign_change(proposal, "10.00")
    refresh_draft(proposal_id=proposal.pk, actor=None, now=NOW)
    first.refresh_from_db()
    assert str(first.amount) == "5010.00"
    assert Invoice.objects.count() == 1


def test_paid_in_full_no_balance_is_drafted_and_a_draft_goes(proposal: Proposal) -> None:
    sure_balance(proposal)
    payment = pay(proposal, "5100.01")
    assert not Invoice.objects.exists()
    assert draft_balance(proposal) is None
    assert str(money_of(proposal).overpaid) == "0.01"
    void_payment(payment=payment, reason="Came back", actor=None, now=NOW)
    assert str(sure_balance(proposal).amount) == "5100.00"


def test_issued_balance_stands_and_is_returned(proposal: Proposal) -> None:
    balance = issue(sure_balance(proposal))
    pay(proposal, "100.00")
    assert sure_balance(proposal) == balance
    assert refresh_draft(proposal_id=proposal.pk, actor=None, now=NOW) is None
    assert str(money_of(proposal).invoices[0].open) == "5000.00"


def test_what_was_not_accepted_is_not_invoiced() -> None:
    sent = make_sent_proposal()
    refused = refusal_of(draft_balance_invoice, proposal_id=sent.pk, actor=None, now=NOW)
    assert str(refused) == "Only what was accepted can be invoiced."


def test_each_step_of_the_schedule_has_one_invoice(proposal: Proposal) -> None:
    deposit = draft_step(proposal)
    assert (deposit.kind, str(deposit.amount)) == ("deposit", "2040.00")
    assert draft_step(proposal, 1).kind == "progress"
    with pytest.raises(Refusal, match="invoice already"), transaction.atomic():
        draft_step(proposal)
    issue(deposit)
    void_invoice(invoice=deposit, reason="Wrong address", actor=None, now=NOW)
    assert issue(draft_step(proposal)).number == 1002


def test_no_step_asks_for_more_than_is_left(proposal: Proposal) -> None:
    pay(proposal, "3600.00")
    step = draft_step  # 5,100.00 - 3,600.00 = 1,500.00, the step asks for 1,530.00.
    with pytest.raises(Refusal, match=r"\$1,530\.00, but only \$1,500\.00"), transaction.atomic():
        step(proposal, 1)


def test_no_step_is_asked_for_beside_the_issued_balance(proposal: Proposal) -> None:
    late = draft_step(proposal)
    issue(sure_balance(proposal))
    assert "invoiced already" in str(refusal_of(issue_invoice, **issuing(late)))


def issuing(invoice: Invoice, **changes: Any) -> dict[str, Any]:
    return {"invoice": invoice, "to": "", "actor": None, "now": NOW} | changes


def test_issuing_numbers_and_freezes(proposal: Proposal) -> None:
    FirmProfile.objects.update(next_invoice_number=77)
    first, second = issue(draft_step(proposal)), issue(draft_step(proposal, 1))
    assert (first.number, second.number) == (77, 78)
    assert FirmProfile.objects.get().next_invoice_number == 79
    assert (first.issued_on, first.due_on) == (TODAY, TODAY + 14 * DAY)
    assert first.content["rows"] == [
        {"description": "Deposit, when you accept", "amount": "$2,040.00", "key": ""}
    ]
    assert first.content["due"] == "May 18, 2026"
    assert str(refusal_of(issue_invoice, **issuing(first))).startswith("This invoice was issued")
    assert FirmProfile.objects.get().next_invoice_number == 79


def test_stale_balance_is_not_issued(proposal: Proposal) -> None:
    balance = sure_balance(proposal)
    sign_change(proposal, "10.00")
    assert "has changed" in str(refusal_of(issue_invoice, **issuing(balance)))
    balance.refresh_from_db()
    assert (balance.state, balance.number) == ("draft", None)


def test_draft_due_in_the_past_is_refused(proposal: Proposal) -> None:
    draft = draft_step(proposal)
    values = {"note": "", "due_on": TODAY - DAY}
    assert refusal_of(change_draft, invoice=draft, values=values, actor=None, now=NOW).field == (
        "due_on"
    )
    change_draft(invoice=draft, values={"due_on": TODAY}, actor=None, now=NOW)
    assert refusal_of(issue_invoice, **issuing(draft, now=NOW + DAY)).field == "due_on"


def test_dropped_draft_leaves_no_gap(proposal: Proposal) -> None:
    drop_draft(invoice=draft_step(proposal), actor=None, now=NOW)
    assert issue(draft_step(proposal)).number == 1001
    assert str(refusal_of(drop_draft, invoice=Invoice.objects.get(), actor=None, now=NOW))


def test_void_invoice_keeps_its_number_and_a_new_balance_may_follow(proposal: Proposal) -> None:
    first = issue(sure_balance(proposal))
    pay(proposal, "100.00", first)
    assert refusal_of(void_invoice, invoice=first, reason=" ", actor=None, now=NOW).field == (
        "reason"
    )
    void = void_invoice(invoice=first, reason="Wrong name", actor=None, now=NOW)
    assert (void.number, void.state) == (1001, "void")
    assert str(refusal_of(void_invoice, invoice=first, reason="x", actor=None, now=NOW))
    # What was paid for the void one stays received: 5,100.00 - 100.00.
    again = issue(sure_balance(proposal))
    assert (again.number, str(again.amount)) == (1002, "5000.00")


@pytest.mark.parametrize(
    "changes",
    [
        {"amount": 1},
        {"number": 5},
        {"issued_on": None},
        {"due_on": TODAY},
        {"content": {}},
        {"note": "other"},
        {"state": "draft"},
    ],
    ids=lambda changes: next(iter(changes)),
)
def test_nothing_changes_an_issued_invoice(proposal: Proposal, changes: dict[str, Any]) -> None:
    invoice = issue(draft_step(proposal))
    with pytest.raises(InvoiceIsFinalError):
        Invoice.objects.update(**changes)
    with pytest.raises(IntegrityError, match="kept for ever"), transaction.atomic():
        models.QuerySet(Invoice).update(**changes)
    with pytest.raises(InvoiceIsFinalError):
        invoice.save()
    with pytest.raises(InvoiceIsFinalError):
        invoice.delete()
    with pytest.raises(InvoiceIsFinalError):
        Invoice.objects.all().delete()
    assert Invoice.objects.get() == invoice


def test_lines_of_an_issued_invoice_stay(proposal: Proposal) -> None:
    line = issue(draft_step(proposal)).lines.get()
    with pytest.raises(IntegrityError, match="kept for ever"), transaction.atomic():
        InvoiceLine.objects.update(amount=1)
    with pytest.raises(InvoiceIsFinalError):
        line.save()
    with pytest.raises(InvoiceIsFinalError):
        line.delete()
    with pytest.raises(InvoiceIsFinalError):
        InvoiceLine.objects.create(invoice=line.invoice, description="More", amount=1)


@pytest.mark.skipif("connection.vendor != 'postgresql'", reason="as in test_kept_for_ever.py")
def test_issued_invoice_is_not_deleted_by_the_database(proposal: Proposal) -> None:
    issue(draft_step(proposal))
    for model in (InvoiceLine, Invoice):
        with pytest.raises(IntegrityError, match="kept for ever"), transaction.atomic():
            models.QuerySet(model).delete()
    assert connection.vendor == "postgresql"


def printed(proposal: Proposal, on_commit: DjangoCaptureOnCommitCallbacks, to: str = "") -> Invoice:
    draft = draft_step(proposal)
    with on_commit(execute=True):
        invoice = issue(draft, to=to)
    invoice.refresh_from_db()
    return invoice


def test_issued_invoice_is_printed_once_and_mailed(
    proposal: Proposal, django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks
) -> None:
    invoice = printed(proposal, django_capture_on_commit_callbacks, to="wren@example.com")
    with invoice.pdf.open("rb") as file:
        pdf = file.read()
    assert pdf.startswith(b"%PDF-")
    assert invoice.pdf_sha256 == hashlib.sha256(pdf).hexdigest()
    mail = OutgoingMail.objects.get()
    assert mail.subject == "Invoice 1001 from Alder & Post Fencing"
    assert "To be paid: $2,040.00\nDue on: May 18, 2026" in mail.body
    assert mail.attachments.get().name == "invoice-1001.pdf"

    run = JobRun(
        job_id=Job.objects.get(kind="invoice.print").pk,
        attempt=1,
        arguments={"invoice_id": invoice.pk, "actor_id": None},
        now=NOW,
        started_s=0.0,
    )
    assert carry_out_printing(run) is None
    assert OutgoingMail.objects.count() == 1


def test_pdf_once_made_stays(
    proposal: Proposal, django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks
) -> None:
    printed(proposal, django_capture_on_commit_callbacks)
    with pytest.raises(InvoiceIsFinalError):
        Invoice.objects.update(pdf_sha256="")
    for name in ("pdf", "pdf_sha256"):
        with pytest.raises(IntegrityError, match="kept for ever"), transaction.atomic():
            models.QuerySet(Invoice).update(**{name: "x"})


def test_same_pdf_is_mailed_again(
    proposal: Proposal, django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks
) -> None:
    invoice = printed(proposal, django_capture_on_commit_callbacks)
    asked: dict[str, Any] = {"invoice": invoice, "actor": None, "now": NOW}
    assert refusal_of(mail_invoice_again, to="", **asked).field == "to"
    mail = mail_invoice_again(to="other@example.com", **asked)
    with mail.attachments.get().file.open("rb") as file:
        assert hashlib.sha256(file.read()).hexdigest() == invoice.pdf_sha256
    void_invoice(invoice=invoice, reason="Wrong", actor=None, now=NOW)
    invoice.refresh_from_db()
    assert "issued and printed" in str(refusal_of(mail_invoice_again, to="a@example.com", **asked))


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"amount": Decimal(0)}, "amount"),
        ({"amount": Decimal(-5)}, "amount"),
        ({"received_on": TODAY + DAY}, "received_on"),
    ],
)
def test_payment_that_can_not_be_is_refused(
    proposal: Proposal, changes: dict[str, Any], field: str
) -> None:
    values = {"amount": Decimal(10), "received_on": TODAY, "way": "cash", "reference": ""}
    refused = refusal_of(
        add_payment,
        proposal_id=proposal.pk,
        values=values | {"invoice": None} | changes,
        actor=None,
        now=NOW,
    )
    assert refused.field == field
    assert not Payment.objects.exists()


def test_payment_names_an_issued_invoice_of_its_contract(proposal: Proposal) -> None:
    other = make_contract(number=1002, site=make_site())
    for wrong in (draft_step(proposal), issue(draft_step(other))):
        with pytest.raises(Refusal) as refused, transaction.atomic():
            pay(proposal, "10.00", wrong)
        assert refused.value.field == "invoice"


def test_payment_is_voided_once_and_with_a_reason(proposal: Proposal) -> None:
    payment = pay(proposal, "10.00")
    asked: dict[str, Any] = {"payment": payment, "actor": None, "now": NOW}
    assert refusal_of(void_payment, reason="", **asked).field == "reason"
    void_payment(reason="Came back", **asked)
    assert "void already" in str(refusal_of(void_payment, reason="again", **asked))
    assert str(money_of(proposal).money.received) == "0"


def test_invoice_stands_as_its_money_and_the_day_say(proposal: Proposal) -> None:
    invoice = issue(draft_step(proposal))
    late = TODAY + 15 * DAY

    def words(today: dt.date = TODAY) -> str:
        return money_of(proposal, today).invoices[0].words

    assert (words(), words(TODAY + 14 * DAY), words(late)) == ("Open", "Open", "Overdue")
    pay(proposal, "40.00", invoice)
    assert (words(), words(late)) == ("Part paid", "Overdue, part paid")
    pay(proposal, "2000.00", invoice)
    assert (words(), words(late)) == ("Paid", "Paid")


def test_deposit_marked_received_without_a_payment_is_seen(proposal: Proposal) -> None:
    make_firm()
    site = proposal.estimate.site
    assert site is not None
    assert not is_deposit_unrecorded(money_of(proposal))
    Clearance.objects.create(site=site, kind="deposit", state="clear")
    assert is_deposit_unrecorded(money_of(proposal))
    pay(proposal, "2040.00")
    assert not is_deposit_unrecorded(money_of(proposal))
