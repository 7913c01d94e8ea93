"""The mails about a proposal: to the customer, and to the firm."""

import datetime as dt

from django.conf import settings
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone

from estimating.models import Acceptance, Proposal
from estimating.services.proposal_content import day_words
from firm.measure.money import format_money
from firm.models import FirmProfile, OutgoingMail
from firm.selectors.profile import firm_profile
from firm.services.mail import Attachment, queue_mail


def public_link(proposal: Proposal) -> str:
    """Return the address at which the customer reads and accepts."""
    return settings.FF_PUBLIC_URL.rstrip("/") + reverse("proposal_public", args=[proposal.token])


def pdf_name(proposal: Proposal) -> str:
    """Return the name the PDF goes out under."""
    return f"proposal-{proposal.estimate.label}.pdf"


def mail_proposal(proposal: Proposal, *, pdf: bytes, now: dt.datetime) -> OutgoingMail:
    """Mail the customer the PDF and the link."""
    firm = firm_profile()
    return queue_mail(
        to=proposal.sent_to,
        kind=OutgoingMail.Kind.PROPOSAL,
        about=proposal.pk,
        subject=f"Proposal {proposal.estimate.label} from {firm.name}",
        body=_body("mail/proposal_sent.txt", proposal, firm),
        attachments=[_attached(proposal, pdf)],
        now=now,
    )


def mail_acceptance(acceptance: Acceptance, *, pdf: bytes, now: dt.datetime) -> list[OutgoingMail]:
    """Mail the customer and the firm what was accepted, with the very PDF."""
    proposal = acceptance.proposal
    firm = firm_profile()
    letters = (
        (proposal.sent_to or proposal.estimate.customer.email, "mail/accepted_customer.txt"),
        (firm.email, "mail/accepted_firm.txt"),
    )
    ends_at = timezone.localtime(acceptance.cancellation_ends_at)
    return [
        queue_mail(
            to=to,
            subject=f"Proposal {proposal.estimate.label} accepted",
            body=_body(
                template,
                proposal,
                firm,
                acceptance=acceptance,
                total=format_money(acceptance.total),
                nothing_before=day_words(ends_at.date()),
            ),
            attachments=[_attached(proposal, pdf)],
            now=now,
        )
        for to, template in letters
        if to
    ]


def tell_firm_of_decline(proposal: Proposal, *, now: dt.datetime) -> OutgoingMail | None:
    """Mail the firm that the customer said no, and why."""
    firm = firm_profile()
    if not firm.email:
        return None
    return queue_mail(
        to=firm.email,
        subject=f"Proposal {proposal.estimate.label} declined",
        body=_body("mail/declined_firm.txt", proposal, firm),
        now=now,
    )


def _attached(proposal: Proposal, pdf: bytes) -> Attachment:
    return Attachment(name=pdf_name(proposal), content_type="application/pdf", content=pdf)


def _body(template: str, proposal: Proposal, firm: FirmProfile, **extra: object) -> str:
    return render_to_string(
        template,
        {
            "proposal": proposal,
            "customer": proposal.estimate.customer,
            "firm": firm,
            "link": public_link(proposal),
            "price": format_money(proposal.price),
            "valid_until": day_words(proposal.valid_until),
            **extra,
        },
    )
