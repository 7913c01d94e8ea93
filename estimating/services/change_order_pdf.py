"""Prints a change order on one letter page."""

from django.template.loader import render_to_string
from django.utils import timezone

from estimating.models import ChangeOrder
from estimating.selectors.changes import change_view
from estimating.services.proposal_content import (
    customer_party,
    day_words,
    firm_party,
    site_lines,
)
from estimating.services.proposal_pdf import logo_address
from firm.pdf import render_pdf
from firm.selectors.profile import firm_profile
from firm.services.signatures import signature_path


def change_order_html(order: ChangeOrder) -> str:
    """Return the HTML a change order is printed from."""
    estimate, firm = order.proposal.estimate, firm_profile()
    context = {
        "order": order,
        "view": change_view(order),
        "contract": estimate.label,
        "signed_on": day_words(timezone.localdate(order.proposal.acceptance.accepted_at)),
        "dated": day_words(timezone.localdate(order.created_at)),
        "firm": firm_party(firm),
        "customer": customer_party(estimate.customer),
        "site": site_lines(estimate.site),
        "logo": logo_address(firm),
        "is_signed": order.state == ChangeOrder.State.SIGNED,
        "is_void": order.state in {ChangeOrder.State.DROPPED, ChangeOrder.State.DECLINED},
        "is_less": order.price < 0,
        "fewer_days": max(0, -order.extra_days),
        "drawn": signature_path(order.strokes) if order.strokes else "",
    }
    return render_to_string("pdf/change_order.html", context)


def render_change_order_pdf(order: ChangeOrder) -> bytes:
    """Return a change order as PDF, with its signature or a line to sign on."""
    return render_pdf(change_order_html(order))


def change_order_pdf_name(order: ChangeOrder) -> str:
    """Return the name of its file."""
    return f"change-order-{order.proposal.estimate.label}-{order.number}.pdf"
