"""What a kept mail brings is known by its kind and the row it is about, not by its words."""

from decimal import Decimal

import pytest
from django.db import IntegrityError
from django.test import Client
from django.utils import timezone

from estimating.models import Proposal
from estimating.services.invoice_pdf import mail_invoice
from firm.models import OutgoingMail
from scheduling.models import PurchaseOrder
from scheduling.services.order_pdf import mail_order_again
from scheduling.services.orders import DraftLine, draft_order, send_order
from tests.buying_cast import make_suppliers
from tests.factories import NOW, make_firm, make_sent_proposal
from tests.money_cast import draft_step, issue, make_contract

pytestmark = pytest.mark.django_db
KEPT = "No mail server is set"


def reword() -> OutgoingMail:
    """Let the only mail say what it brings in other words, as in another language."""
    mail = OutgoingMail.objects.get()
    mail.subject = f"Para usted: {mail.about}"
    mail.save()
    return mail


def make_mailed_order() -> PurchaseOrder:
    line = DraftLine(item="post", name="Post", unit="each", count=4, unit_cost=Decimal(38))
    now, supplier = timezone.now(), make_suppliers()[0].pk
    order = draft_order(
        supplier_id=supplier, lines=[line], job=None, needed_by=None, actor=None, now=now
    )
    sent = send_order(order=order, to="", actor=None, now=now)
    mail_order_again(order=sent, to="sales@quarry.example", actor=None, now=now)
    return sent


def test_proposal_says_that_its_mail_is_kept_in_whichever_words(as_office: Client) -> None:
    proposal = make_sent_proposal()
    Proposal.objects.filter(pk=proposal.pk).update(valid_until=timezone.localdate())
    mail = reword()

    page = as_office.get(f"/proposals/{proposal.pk}/").content.decode()

    assert KEPT in page
    assert f'href="/mail/{mail.pk}/"' in page


def test_invoice_says_that_its_mail_is_kept_in_whichever_words(as_office: Client) -> None:
    invoice = issue(draft_step(make_contract()), to="wren@example.com")
    mail_invoice(invoice, pdf=b"%PDF-", now=NOW)
    mail = reword()

    page = as_office.get(f"/invoices/{invoice.pk}/").content.decode()

    assert KEPT in page
    assert f'href="/mail/{mail.pk}/"' in page


def test_order_says_that_its_mail_is_kept_and_the_supplier_has_none(as_office: Client) -> None:
    make_firm()
    order = make_mailed_order()
    mail = reword()

    page = as_office.get(f"/orders/{order.pk}/").content.decode()

    assert KEPT in page
    assert f'href="/mail/{mail.pk}/"' in page


def test_order_whose_mail_went_out_says_nothing_of_it(as_office: Client) -> None:
    make_firm()
    order = make_mailed_order()
    OutgoingMail.objects.update(state=OutgoingMail.State.SENT)

    assert KEPT not in as_office.get(f"/orders/{order.pk}/").content.decode()


@pytest.mark.parametrize(("kind", "about"), [("order", None), ("other", 3)])
def test_mail_about_nothing_known_is_refused(kind: str, about: int | None) -> None:
    with pytest.raises(IntegrityError):
        OutgoingMail.objects.create(
            to="a@example.com", kind=kind, about=about, subject="x", body="x", created_at=NOW
        )
