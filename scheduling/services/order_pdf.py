"""Prints sent purchase orders, and mails them."""

import datetime as dt
import hashlib
from collections.abc import Mapping
from typing import Any

from django.core.files.base import ContentFile
from django.db import transaction
from django.template.loader import render_to_string
from django.utils import timezone

from estimating.services.proposal_pdf import logo_address
from firm.errors import Refusal
from firm.models import OutgoingMail, User
from firm.pdf import render_pdf
from firm.selectors.profile import firm_profile
from firm.services import audit, jobs
from firm.services.mail import Attachment, queue_mail
from scheduling.models import PurchaseOrder
from scheduling.services.order_content import build_content

TEMPLATE = "pdf/purchase_order.html"


def render_order_pdf(content: Mapping[str, Any], *, is_draft: bool = False) -> bytes:
    """Return an order as PDF; a draft says on its face that it is one."""
    context = {"content": content, "logo": logo_address(firm_profile()), "is_draft": is_draft}
    return render_pdf(render_to_string(TEMPLATE, context))


def preview_pdf(order: PurchaseOrder, *, now: dt.datetime) -> bytes:
    """Return what a draft would print if it were sent now."""
    content = build_content(order, number=None, sent_on=timezone.localdate(now))
    return render_order_pdf(content, is_draft=True)


def order_pdf(order: PurchaseOrder) -> bytes:
    """Return a sent order's PDF: as it is kept, or while it is being printed, the same anew."""
    if order.pdf and order.pdf.storage.exists(order.pdf.name or ""):
        with order.pdf.open("rb") as file:
            return bytes(file.read())
    return render_order_pdf(order.content)


def carry_out_printing(run: jobs.JobRun) -> Mapping[str, Any] | None:
    """Print a sent order once and queue its mail; a second run does nothing."""
    order = PurchaseOrder.objects.filter(pk=run.arguments["order_id"]).first()
    if order is None or order.state == PurchaseOrder.State.DRAFT or order.pdf_sha256:
        return None
    run.report(10)
    pdf = render_order_pdf(order.content)
    run.report(80)
    _keep_pdf(order, pdf=pdf, actor_id=run.arguments["actor_id"], now=run.later())
    return {"sha256": hashlib.sha256(pdf).hexdigest()}


@transaction.atomic
def _keep_pdf(order: PurchaseOrder, *, pdf: bytes, actor_id: int | None, now: dt.datetime) -> None:
    storage = order.pdf.storage
    kept = storage.save(order.pdf.field.generate_filename(order, pdf_name(order)), ContentFile(pdf))
    claimed = PurchaseOrder.objects.filter(pk=order.pk, pdf_sha256="", pdf="").update(
        pdf=kept, pdf_sha256=hashlib.sha256(pdf).hexdigest()
    )
    if not claimed:
        storage.delete(kept)
        return
    order.refresh_from_db()
    if order.sent_to and order.state == PurchaseOrder.State.SENT:
        mail_order(order, pdf=pdf, now=now)
    audit.record(
        actor=User.objects.filter(pk=actor_id).first() if actor_id else None,
        action="printed a purchase order",
        target=order,
        after={"to": order.sent_to, "pdf_sha256": order.pdf_sha256},
        at=now,
    )


def pdf_name(order: PurchaseOrder) -> str:
    """Return the name the PDF goes out under."""
    return f"order-{order.number}.pdf" if order.number else "draft-order.pdf"


def mail_order(order: PurchaseOrder, *, pdf: bytes, now: dt.datetime) -> OutgoingMail:
    """Mail the supplier a sent order."""
    firm = firm_profile()
    return queue_mail(
        to=order.sent_to,
        kind=OutgoingMail.Kind.ORDER,
        about=order.pk,
        subject=f"Purchase order {order.number} from {firm.name}",
        body=render_to_string("mail/order_sent.txt", {"content": order.content, "firm": firm}),
        attachments=[Attachment(name=pdf_name(order), content_type="application/pdf", content=pdf)],
        now=now,
    )


@transaction.atomic
def mail_order_again(
    *, order: PurchaseOrder, to: str, actor: User | None, now: dt.datetime
) -> OutgoingMail:
    """Mail the very same PDF once more, or for the first time.

    Raises:
        Refusal: no address is given, or it is not a sent one.
    """
    if not to:
        raise Refusal("Type the address to mail it to.", field="to")
    if order.state != PurchaseOrder.State.SENT:
        raise Refusal("Only a sent order can be mailed.", field="to")
    pdf = order_pdf(order)
    PurchaseOrder.objects.filter(pk=order.pk).update(sent_to=to)
    order.refresh_from_db()
    mail = mail_order(order, pdf=pdf, now=now)
    audit.record(
        actor=actor, action="mailed an order again", target=order, after={"to": to}, at=now
    )
    return mail
