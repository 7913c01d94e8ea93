"""Prints issued invoices, and mails them."""

import datetime as dt
import hashlib
from collections.abc import Mapping
from typing import Any

from django.core.files.base import ContentFile
from django.db import transaction
from django.template.loader import render_to_string
from django.utils import timezone

from estimating.mapping import from_plain
from estimating.models import Invoice
from estimating.services.invoice_content import InvoiceContent, build_content
from estimating.services.invoices import DAYS_TO_PAY, held_contract
from estimating.services.proposal_pdf import logo_address
from firm.errors import Refusal
from firm.models import OutgoingMail, User
from firm.pdf import render_pdf
from firm.selectors.profile import firm_profile
from firm.services import audit, jobs
from firm.services.mail import Attachment, queue_mail

TEMPLATE = "pdf/invoice.html"


def render_invoice_pdf(content: InvoiceContent, *, logo: str = "", is_draft: bool = False) -> bytes:
    """Return an invoice as PDF; a draft says on its face that it is one."""
    context = {"content": content, "logo": logo, "is_draft": is_draft}
    return render_pdf(render_to_string(TEMPLATE, context))


@transaction.atomic
def preview_pdf(invoice: Invoice, *, now: dt.datetime) -> bytes:
    """Return what a draft would print if it were issued now."""
    contract = held_contract(invoice.proposal_id, now=now)
    today, firm = timezone.localdate(now), firm_profile()
    content = build_content(
        invoice,
        contract,
        number=None,
        issued_on=today,
        due_on=invoice.due_on or today + DAYS_TO_PAY,
        firm=firm,
    )
    return render_invoice_pdf(content, logo=logo_address(firm), is_draft=True)


def carry_out_printing(run: jobs.JobRun) -> Mapping[str, Any] | None:
    """Print an issued invoice once and queue its mail; a second run does nothing."""
    invoice = Invoice.objects.filter(pk=run.arguments["invoice_id"]).first()
    if invoice is None or invoice.state != Invoice.State.ISSUED or invoice.pdf_sha256:
        return None
    run.report(10)
    pdf = render_invoice_pdf(
        from_plain(InvoiceContent, invoice.content), logo=logo_address(firm_profile())
    )
    run.report(80)
    _keep_pdf(invoice, pdf=pdf, actor_id=run.arguments["actor_id"], now=run.later())
    return {"sha256": hashlib.sha256(pdf).hexdigest()}


@transaction.atomic
def _keep_pdf(invoice: Invoice, *, pdf: bytes, actor_id: int | None, now: dt.datetime) -> None:
    storage = invoice.pdf.storage
    kept = storage.save(
        invoice.pdf.field.generate_filename(invoice, pdf_name(invoice)), ContentFile(pdf)
    )
    claimed = Invoice.objects.filter(
        pk=invoice.pk, state=Invoice.State.ISSUED, pdf_sha256="", pdf=""
    ).update(pdf=kept, pdf_sha256=hashlib.sha256(pdf).hexdigest())
    if not claimed:
        storage.delete(kept)
        return
    invoice.refresh_from_db()
    if invoice.sent_to:
        mail_invoice(invoice, pdf=pdf, now=now)
    audit.record(
        actor=User.objects.filter(pk=actor_id).first() if actor_id else None,
        action="printed an invoice",
        target=invoice,
        after={"to": invoice.sent_to, "pdf_sha256": invoice.pdf_sha256},
        at=now,
    )


def pdf_name(invoice: Invoice) -> str:
    """Return the name the PDF goes out under."""
    return f"invoice-{invoice.number}.pdf" if invoice.number else "draft-invoice.pdf"


def mail_invoice(invoice: Invoice, *, pdf: bytes, now: dt.datetime) -> OutgoingMail:
    """Mail the customer an issued invoice."""
    firm, content = firm_profile(), from_plain(InvoiceContent, invoice.content)
    return queue_mail(
        to=invoice.sent_to,
        kind=OutgoingMail.Kind.INVOICE,
        about=invoice.pk,
        subject=f"Invoice {invoice.number} from {firm.name}",
        body=render_to_string("mail/invoice_issued.txt", {"content": content, "firm": firm}),
        attachments=[
            Attachment(name=pdf_name(invoice), content_type="application/pdf", content=pdf)
        ],
        now=now,
    )


@transaction.atomic
def mail_invoice_again(
    *, invoice: Invoice, to: str, actor: User | None, now: dt.datetime
) -> OutgoingMail:
    """Mail the very same PDF once more, or for the first time.

    Raises:
        Refusal: no address is given, or it is void, or not printed yet.
    """
    if not to:
        raise Refusal("Type the address to mail it to.", field="to")
    if invoice.state != Invoice.State.ISSUED or not invoice.pdf:
        raise Refusal("Only an issued and printed invoice can be mailed.")
    with invoice.pdf.open("rb") as file:
        pdf = file.read()
    Invoice.objects.filter(pk=invoice.pk).update(sent_to=to)
    invoice.refresh_from_db()
    mail = mail_invoice(invoice, pdf=pdf, now=now)
    audit.record(
        actor=actor, action="mailed an invoice again", target=invoice, after={"to": to}, at=now
    )
    return mail
