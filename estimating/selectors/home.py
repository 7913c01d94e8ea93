"""What the start page shows: visits, enquiries, estimates, and what waits."""

import datetime as dt
from dataclasses import dataclass

from django.utils import timezone

from estimating.models import Estimate, Proposal
from estimating.selectors.proposals import CallDue, calls_due
from firm.models import Clearance, Enquiry

MOST = 8
WAITING_KINDS = (Clearance.State.ASKED,)


@dataclass(frozen=True, kw_only=True, slots=True)
class StartPage:
    """The lists of the start page, each cut to its first few rows."""

    visits: list[Enquiry]
    new_enquiries: list[Enquiry]
    open_estimates: list[Estimate]
    calls: list[CallDue]
    waiting: list[Clearance]
    sent_count: int


def start_page(*, today: dt.date) -> StartPage:
    """Return what the owner and the office look at first thing in the morning."""
    monday = today - dt.timedelta(days=today.weekday())
    week_start = timezone.make_aware(dt.datetime.combine(monday, dt.time.min))
    enquiries = Enquiry.objects.select_related("customer", "site")
    return StartPage(
        visits=list(
            enquiries.filter(
                appointment_at__gte=week_start,
                appointment_at__lt=week_start + dt.timedelta(days=7),
            )
            .exclude(state=Enquiry.State.CLOSED)
            .order_by("appointment_at")[:MOST]
        ),
        new_enquiries=list(enquiries.filter(state=Enquiry.State.NEW).order_by("created_at")[:MOST]),
        open_estimates=list(
            Estimate.objects.filter(state=Estimate.State.OPEN)
            .select_related("customer", "site")
            .defer("document", "catalog", "result")
            .order_by("-created_at")[:MOST]
        ),
        calls=calls_due(today)[:MOST],
        waiting=list(
            Clearance.objects.filter(state__in=WAITING_KINDS)
            .select_related("site__customer")
            .order_by("asked_on", "pk")[:MOST]
        ),
        sent_count=Proposal.objects.filter(state=Proposal.State.SENT).count(),
    )
