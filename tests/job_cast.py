"""Sold work and jobs that tests of scheduling begin with; the figures are worked by hand.

Hours and labour at the crew rate of $60.00: layout 1.40 = 84.00; dig 6.30 = 378.00; set 4.54 =
272.40; hang 2.95 = 177.00; gate 1.25 = 75.00; clean-up 4.736311 = 284.18 (284.17866): together
21.176311 h and 1,270.58. With material and the rest the direct cost is 3,153.33. Overhead 900.00 a
crew-day of 3 people and 8 h: 21.176311 / 24 x 900.00 = 794.11. Commission 5 % of 5,000.00 = 250.00.
Margin 5,000.00 - 3,153.33 - 794.11 - 250.00 = 802.56, which is 16.1 %.
"""

import datetime as dt
from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from estimating.models import Acceptance, Estimate, Proposal
from estimating.services.acceptances import Signature, accept_at_link
from firm.models import Clearance, JobSite, UtilityAnswer
from scheduling.models import FenceJob, JobPhase
from tests.factories import NOW, estimate_result, make_estimate, make_sent_proposal, make_site

DAY = dt.timedelta(days=1)
PHASES = (
    ("layout", "1.4", "84.00"),
    ("dig", "6.3", "378.00"),
    ("set", "4.54", "272.40"),
    ("hang", "2.95", "177.00"),
    ("gates", "1.25", "75.00"),
    ("clean_up", "4.736311", "284.18"),
)
RULES = {
    "crew_rate": "60.00",
    "crew_size": 3,
    "hours_per_day": 8.0,
    "overhead_method": "per_crew_day",
    "overhead_rate": "900.00",
    "target_margin_pct": "12",
    "commission_pct": "5",
}


def cost_line(item: str, hours: str, amount: str) -> dict[str, Any]:
    """Return a line of labour as an estimate keeps it."""
    return {
        "kind": "labour",
        "item": item,
        "description": item,
        "quantity": hours,
        "unit": "h",
        "unit_cost": "60.00",
        "amount": amount,
        "overridden": False,
        "reason": "",
    }


def make_sold_estimate(site: JobSite | None = None, **changes: Any) -> Estimate:
    """Return an estimate of 5,000.00 before tax, with its hours."""
    row = make_estimate(
        site,
        price_before_tax=Decimal("5000.00"),
        sales_tax=Decimal("100.00"),
        price=Decimal("5100.00"),
        **changes,
    )
    row.catalog |= {"rules": RULES}
    row.result = estimate_result() | {
        "cost_lines": [cost_line(*phase) for phase in PHASES],
        "money": {
            "price_before_tax": "5000.00",
            "sales_tax": "100.00",
            "price": "5100.00",
            "direct_cost": "3153.33",
            "overhead": "794.11",
        },
    }
    row.save()
    return row


def accept(proposal: Proposal, *, options: Sequence[str] = (), at: dt.datetime = NOW) -> None:
    """Let the customer accept at the link."""
    signature = Signature(
        name="Wren Halloway", pdf_sha256=proposal.pdf_sha256, options=options, ip_address="::1"
    )
    accept_at_link(proposal=proposal, signature=signature, now=at)


def make_accepted_proposal(estimate: Estimate | None = None) -> Proposal:
    """Return a proposal that was accepted at NOW; its job is queued and not made yet."""
    proposal = make_sent_proposal(estimate or make_sold_estimate())
    accept(proposal)
    proposal.refresh_from_db()
    return proposal


def make_fence_job(site: JobSite | None = None, **changes: Any) -> FenceJob:
    """Return a job, signed at NOW with the time to cancel just over, and one phase of it."""
    number = changes.pop("number", 1001)
    estimate = make_sold_estimate(site or make_site(), number=number)
    proposal = Proposal.objects.create(
        estimate=estimate,
        state=Proposal.State.ACCEPTED,
        valid_until=NOW.date(),
        price=estimate.price,
        pdf_sha256="a" * 64,
    )
    Acceptance.objects.create(
        proposal=proposal,
        way=Acceptance.Way.LINK,
        signed_name="Wren Halloway",
        accepted_at=NOW,
        pdf_sha256="a" * 64,
        total=estimate.price,
        cancellation_ends_at=NOW,
    )
    job = FenceJob.objects.create(**(job_values(proposal) | changes))
    JobPhase.objects.create(
        job=job, position=0, kind="dig", labor_hours=Decimal("6.3"), labour_cost=Decimal("378.00")
    )
    return job


def job_values(proposal: Proposal) -> dict[str, Any]:
    """Return the values of the job that belongs to a proposal."""
    return {
        "proposal": proposal,
        "number": proposal.estimate.number,
        "title": proposal.estimate.title,
        "customer": proposal.estimate.customer,
        "site": proposal.estimate.site,
        "signed_at": NOW,
        "cancellation_ends_at": NOW,
        "price_before_tax": Decimal("5000.00"),
        "sales_tax": Decimal("100.00"),
        "direct_cost": Decimal("3153.33"),
        "overhead": Decimal("794.11"),
        "commission": Decimal("250.00"),
        "made_at": NOW,
    }


def settle(site: JobSite, *, on: dt.date, but: Sequence[str] = ()) -> None:
    """Settle all that a dig on a day needs at a site, except the kinds in `but`.

    With the clearances come the material and the inspection of the jobs that are there.
    """
    for kind in Clearance.Kind.values:
        row, _ = Clearance.objects.get_or_create(site=site, kind=kind)
        if kind in but:
            continue
        row.state = Clearance.State.CLEAR
        if kind == Clearance.Kind.LOCATE:
            row.number, row.clear_on, row.expires_on = "NY-40117", on - DAY, on + 20 * DAY
            UtilityAnswer.objects.get_or_create(clearance=row, utility="Gas", answer="marked")
        row.save()
    phases = JobPhase.objects.filter(job__site=site, needs_material=True)
    if "material" not in but:
        phases.update(material_received_on=on)
    if "inspection" not in but:
        jobs = FenceJob.objects.filter(site=site, inspection_before_pour=True)
        jobs.update(inspection_passed_on=on)
