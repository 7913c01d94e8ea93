"""The office's pages about invoices and payments."""

import datetime as dt
from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries, DjangoCaptureOnCommitCallbacks

from estimating.models import Invoice, Payment, Proposal
from estimating.services.invoices import draft_step_invoice, issue_invoice
from firm.models import Clearance, Job, JobState, OutgoingMail, Role
from tests.factories import make_site
from tests.money_cast import (
    draft_change,
    draft_step,
    issue,
    make_contract,
    pay,
    sign_change,
    sure_balance,
)
from tests.web.answers import body_of

pytestmark = pytest.mark.django_db
AsRole = Callable[[Role | None], Client]


@pytest.fixture
def proposal() -> Proposal:
    return make_contract()


def text_of(client: Client, address: str) -> str:
    answer = client.get(address)
    assert answer.status_code == 200
    return " ".join(answer.content.decode().split())


def money_page(proposal: Proposal) -> str:
    return reverse("contract_money", args=[proposal.pk])


def payment_form(**changes: Any) -> dict[str, Any]:
    today = timezone.localdate().isoformat()
    return {"amount": "$2,040.00", "received_on": today, "way": "check", "reference": "118"} | (
        changes
    )


def issue_now(proposal: Proposal, position: int = 0, to: str = "") -> Invoice:
    """Return an invoice issued today by the real clock, as the pages have it."""
    step = proposal.payments.get(position=position)
    draft = draft_step_invoice(step=step, actor=None, now=timezone.now())
    return issue_invoice(invoice=draft, to=to, actor=None, now=timezone.now())


def test_no_crew_lead_and_no_stranger_sees_money(as_role: AsRole, proposal: Proposal) -> None:
    draft, payment = draft_step(proposal), pay(proposal, "10.00")
    step = proposal.payments.get(position=1)
    names = (
        "invoice invoice_issue invoice_refresh invoice_drop invoice_print invoice_progress "
        "invoice_pdf invoice_mail invoice_void"
    )
    pages = [
        reverse("invoices"),
        money_page(proposal),
        *(reverse(name, args=[draft.pk]) for name in names.split()),
        reverse("invoice_balance", args=[proposal.pk]),
        reverse("payment_add", args=[proposal.pk]),
        reverse("invoice_step", args=[proposal.pk, step.pk]),
        reverse("payment_void", args=[payment.pk]),
    ]
    stranger, lead = as_role(None), as_role(Role.CREW_LEAD)
    for page in pages:
        for ask in ("get", "post"):
            to = getattr(stranger, ask)(page).headers["Location"]
            assert to.startswith(reverse("login"))
            assert getattr(lead, ask)(page).status_code == 403
    assert Invoice.objects.count() == 1


def test_from_deposit_to_a_paid_balance(
    as_office: Client,
    proposal: Proposal,
    django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks,
) -> None:
    page, client = money_page(proposal), as_office
    step = proposal.payments.get(position=0)
    client.post(reverse("invoice_step", args=[proposal.pk, step.pk]))
    deposit = Invoice.objects.get()
    at = reverse("invoice", args=[deposit.pk])
    due = (timezone.localdate() + dt.timedelta(days=3)).isoformat()
    client.post(at, {"note": "Thank you", "due_on": due})
    with django_capture_on_commit_callbacks(execute=True):
        answer = client.post(
            reverse("invoice_issue", args=[deposit.pk]), {"to": "wren@example.com"}, follow=True
        )
    assert "Invoice 1001 is issued and goes to wren@example.com." in answer.content.decode()
    shown = text_of(client, at)
    assert "No mail server is set" in shown
    assert "Thank you" in shown
    pdf = client.get(reverse("invoice_pdf", args=[deposit.pk]))
    assert body_of(pdf).startswith(b"%PDF-")

    client.post(
        reverse("payment_add", args=[proposal.pk]), payment_form(invoice=deposit.pk), follow=True
    )
    assert "Paid" in text_of(client, at)
    client.post(reverse("invoice_balance", args=[proposal.pk]))
    balance = Invoice.objects.get(kind="balance")
    # 5,100.00 - 2,040.00
    assert str(balance.amount) == "3060.00"
    with django_capture_on_commit_callbacks(execute=True):
        client.post(reverse("invoice_issue", args=[balance.pk]), {"to": ""})
    client.post(
        reverse("payment_add", args=[proposal.pk]),
        payment_form(amount="3060", invoice=balance.pk),
        follow=True,
    )
    shown = text_of(client, page)
    assert "<dt>Open in all</dt><dd><strong>$0.00</strong></dd>" in shown
    assert "<dt>Received</dt><dd>$5,100.00</dd>" in shown
    assert OutgoingMail.objects.count() == 1


def test_list_shows_what_is_open_overdue_and_drafted(as_office: Client, proposal: Proposal) -> None:
    # Issued on May 4, 2026 and due on May 18: overdue by the real clock.
    late = issue(draft_step(proposal))
    pay(proposal, "40.00", late)
    issue_now(proposal, 1)
    sure_balance(proposal)
    page = reverse("invoices")
    shown = text_of(as_office, page)
    # 2,040.00 - 40.00 = 2,000.00 overdue; 1,530.00 more are open.
    assert '<dt>Open in all</dt><dd class="big-figure">$3,530.00</dd>' in shown
    assert "<dt>Overdue of it</dt><dd>$2,000.00</dd>" in shown
    assert "1001, deposit" in shown
    assert "1002, progress" in shown
    assert "Overdue, part paid" in shown
    overdue = text_of(as_office, page + "?state=overdue")
    assert "1001, deposit" in overdue
    assert "1002, progress" not in overdue
    assert "Draft, balance" in text_of(as_office, page + "?state=drafts")
    assert "Draft, balance" not in shown
    everything = text_of(as_office, page + "?state=all&page=9")
    assert "1001, deposit" in everything
    assert "Draft, balance" in everything


def test_lists_take_the_same_queries_for_one_and_for_many(
    as_office: Client, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    for number in range(1001, 1006):
        proposal = make_contract(number=number, site=make_site())
        issue(draft_step(proposal))
        pay(proposal, "5.00")
        sign_change(proposal, "5.00")
        sure_balance(proposal)
    for state in ("open", "overdue", "drafts", "all"):
        with django_assert_max_num_queries(14):
            as_office.get(reverse("invoices") + f"?state={state}")


def test_pages_of_one_contract_take_few_queries(
    as_office: Client, proposal: Proposal, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    draft = draft_step(proposal)
    for _ in range(6):
        pay(proposal, "5.00")
        sign_change(proposal, "5.00")
    with django_assert_max_num_queries(12):
        as_office.get(money_page(proposal))
    with django_assert_max_num_queries(12):
        as_office.get(reverse("invoice", args=[draft.pk]))


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"amount": ""}, "This field is required."),
        ({"amount": "0"}, "0.01"),
        ({"amount": "-5"}, "0.01"),
        ({"amount": "a lot"}, "Type an amount such as 1250.00."),
        ({"received_on": "2999-01-01"}, "can&#x27;t be right"),
        ({"way": "gold"}, "not one of the available choices"),
        ({"invoice": "987654"}, "not one of the available choices"),
        ({"reference": "<b>x</b>"}, "plain words"),
        ({"reference": "x" * 81}, "80 characters"),
    ],
)
def test_payment_with_a_slip_keeps_what_was_typed(
    as_office: Client, proposal: Proposal, changes: dict[str, str], said: str
) -> None:
    answer = as_office.post(
        reverse("payment_add", args=[proposal.pk]),
        payment_form(**({"reference": "No. 7"} | changes)),
    )
    assert answer.status_code == 422
    shown = answer.content.decode()
    assert said in shown
    if "reference" not in changes:
        assert 'value="No. 7"' in shown
    assert not Payment.objects.exists()


def test_payment_of_tomorrow_is_refused(as_office: Client, proposal: Proposal) -> None:
    tomorrow = (timezone.localdate() + dt.timedelta(days=1)).isoformat()
    answer = as_office.post(
        reverse("payment_add", args=[proposal.pk]), payment_form(received_on=tomorrow)
    )
    assert answer.status_code == 422
    assert "This day lies in the future." in answer.content.decode()


def test_payment_sent_twice_is_written_down_once(as_office: Client, proposal: Proposal) -> None:
    address = reverse("payment_add", args=[proposal.pk])
    assert as_office.post(address, payment_form()).status_code == 302
    again = as_office.post(address, payment_form())
    assert again.status_code == 422
    assert "written down a moment ago" in again.content.decode()
    assert as_office.post(address, payment_form(reference="119")).status_code == 302
    assert Payment.objects.count() == 2


def test_payment_is_voided_with_its_reason(as_office: Client, proposal: Proposal) -> None:
    payment = pay(proposal, "40.00")
    page = reverse("payment_void", args=[payment.pk])
    assert "Void a payment of $40.00" in text_of(as_office, page)
    assert as_office.post(page, {"reason": ""}).status_code == 422
    as_office.post(page, {"reason": "The check came back"})
    assert as_office.post(page, {"reason": "again"}).status_code == 422
    shown = text_of(as_office, money_page(proposal))
    assert "<del>$40.00</del>" in shown
    assert "The check came back" in shown


def test_draft_due_yesterday_keeps_its_note(as_office: Client, proposal: Proposal) -> None:
    draft = draft_step(proposal)
    page = reverse("invoice", args=[draft.pk])
    yesterday = (timezone.localdate() - dt.timedelta(days=1)).isoformat()
    answer = as_office.post(page, {"note": "Thank you", "due_on": yesterday})
    assert answer.status_code == 422
    assert "The day it is due has passed" in answer.content.decode()
    assert "Thank you" in answer.content.decode()
    draft.refresh_from_db()
    assert draft.note == ""


def test_wrong_address_issues_nothing(as_office: Client, proposal: Proposal) -> None:
    draft = draft_step(proposal)
    answer = as_office.post(reverse("invoice_issue", args=[draft.pk]), {"to": "wren at home"})
    assert answer.status_code == 422
    assert "wren at home" in answer.content.decode()
    draft.refresh_from_db()
    assert draft.state == "draft"


def test_changed_balance_is_worked_out_anew_before_it_is_issued(
    as_office: Client, proposal: Proposal
) -> None:
    balance = sure_balance(proposal)
    sign_change(proposal, "95.00")
    page = reverse("invoice", args=[balance.pk])
    assert "$5,195.00 are left now" in text_of(as_office, page)
    answer = as_office.post(reverse("invoice_issue", args=[balance.pk]), {"to": ""})
    assert answer.status_code == 422
    as_office.post(reverse("invoice_refresh", args=[balance.pk]))
    balance.refresh_from_db()
    assert balance.amount == Decimal("5195.00")
    assert "are left now" not in text_of(as_office, page)


def test_deposit_that_was_never_written_down_is_asked_for(
    as_office: Client, proposal: Proposal
) -> None:
    site = proposal.estimate.site
    assert site is not None
    Clearance.objects.create(site=site, kind="deposit", state="clear")
    page = reverse("invoice", args=[sure_balance(proposal).pk])
    warning = "The deposit is marked received, but no payment is written down"
    assert warning in text_of(as_office, page)
    assert warning in text_of(as_office, money_page(proposal))
    pay(proposal, "2040.00")
    assert warning not in text_of(as_office, page)


def test_change_that_nobody_signed_is_told_beside_the_balance(
    as_office: Client, proposal: Proposal
) -> None:
    draft_change(proposal)
    balance = sure_balance(proposal)
    for page in (money_page(proposal), reverse("invoice", args=[balance.pk])):
        said = text_of(as_office, page)
        assert "change order 1, A lock on the gate</a>: no invoice asks for it" in said


def test_overpaid_contract_says_by_how_much(as_office: Client, proposal: Proposal) -> None:
    pay(proposal, "5100.25")
    assert "Overpaid by $0.25" in text_of(as_office, money_page(proposal))
    answer = as_office.post(reverse("invoice_balance", args=[proposal.pk]), follow=True)
    assert "Nothing is left to ask for." in answer.content.decode()


def test_draft_is_thrown_away_and_an_issued_one_is_not(
    as_office: Client, proposal: Proposal
) -> None:
    as_office.post(reverse("invoice_drop", args=[draft_step(proposal).pk]))
    assert not Invoice.objects.exists()
    invoice = issue(draft_step(proposal))
    answer = as_office.post(reverse("invoice_drop", args=[invoice.pk]), follow=True)
    assert "issued already" in answer.content.decode()
    refused = as_office.post(reverse("invoice", args=[invoice.pk]), {"note": "x"})
    assert refused.status_code == 422
    answer = as_office.post(reverse("invoice_refresh", args=[invoice.pk]), follow=True)
    assert "Only a drafted balance" in answer.content.decode()
    assert Invoice.objects.get() == invoice


def test_void_needs_its_reason_and_is_shown(as_office: Client, proposal: Proposal) -> None:
    invoice = issue(draft_step(proposal))
    at = reverse("invoice_void", args=[invoice.pk])
    assert as_office.post(at, {"reason": " "}).status_code == 422
    as_office.post(at, {"reason": "Wrong name"})
    shown = text_of(as_office, reverse("invoice", args=[invoice.pk]))
    assert "Wrong name" in shown
    assert "Void the invoice" not in shown


def test_same_pdf_is_mailed_to_another_address(
    as_office: Client,
    proposal: Proposal,
    django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks,
) -> None:
    with django_capture_on_commit_callbacks(execute=True):
        invoice = issue_now(proposal)
    at = reverse("invoice_mail", args=[invoice.pk])
    assert as_office.post(at, {"to": ""}).status_code == 422
    as_office.post(at, {"to": "other@example.com"})
    assert OutgoingMail.objects.get().to == "other@example.com"


def test_printing_that_failed_is_shown_and_tried_again(
    as_office: Client,
    proposal: Proposal,
    django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks,
) -> None:
    invoice = issue_now(proposal)
    page, progress = (reverse(name, args=[invoice.pk]) for name in ("invoice", "invoice_progress"))
    assert "The invoice is being printed" in text_of(as_office, page)
    assert "progress-bar" in text_of(as_office, progress)
    Job.objects.filter(kind="invoice.print").update(
        state=JobState.FAILED, error="No font", finished_at=timezone.now()
    )
    assert "could not be printed: No font" in text_of(as_office, page)
    assert as_office.get(progress).headers["HX-Refresh"] == "true"
    assert as_office.get(reverse("invoice_pdf", args=[invoice.pk])).status_code == 404
    with django_capture_on_commit_callbacks(execute=True):
        as_office.post(reverse("invoice_print", args=[invoice.pk]))
    assert "could not be printed" not in text_of(as_office, page)
    again = as_office.post(reverse("invoice_print", args=[invoice.pk]), follow=True)
    assert "without its PDF" in again.content.decode()


def test_draft_has_a_preview(as_office: Client, proposal: Proposal) -> None:
    answer = as_office.get(reverse("invoice_pdf", args=[sure_balance(proposal).pk]))
    assert body_of(answer).startswith(b"%PDF-")
    assert answer.headers["Content-Disposition"] == 'inline; filename="draft-invoice.pdf"'


def test_step_of_another_contract_is_not_found(as_office: Client, proposal: Proposal) -> None:
    other = make_contract(number=1002, site=make_site())
    step = other.payments.get(position=0)
    assert as_office.post(reverse("invoice_step", args=[proposal.pk, step.pk])).status_code == 404
    assert not Invoice.objects.exists()
