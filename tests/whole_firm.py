"""A job with one row of everything that hangs on it, and the address of each page of it.

Two of them in one firm tell whether a crew lead sees the own crew's job and not the other.
"""

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.core.files.base import ContentFile
from django.urls import URLPattern

from estimating.models import (
    Acceptance,
    EstimateAlternate,
    EstimateLine,
    EstimateOverride,
    FenceSystem,
    Invoice,
    PriceItem,
    ProductionRate,
    Proposal,
    Supplier,
    UncertainRow,
)
from estimating.services.starter import load_starter_rows
from firm.models import Customer, Enquiry, JobSite, Jurisdiction, OutgoingMail, User
from firm.services.attachments import add_attachment
from scheduling.models import (
    CalendarFeed,
    Completion,
    CrewDay,
    CrewDaysOff,
    FenceJob,
    JobCost,
    JobPhoto,
    Machine,
    MemberTimeOff,
    PlanChange,
    PlanDraft,
    PunchItem,
    PurchaseOrder,
    RainOut,
    RainOutJob,
    Receipt,
    Skill,
    SkillAsked,
)
from tests.factories import NOW, TODAY, make_customer, make_site
from tests.firm_cast import PDF_BYTES, picture_bytes
from tests.job_cast import make_fence_job, make_sold_estimate, settle
from tests.money_cast import add_schedule, draft_change, draft_step, issue, pay
from tests.report_cast import EVENING, Day, make_day, span, ticks

# Nowhere else in the two worlds: who finds it on a page found a pay rate.
PAY_RATE = "47.31"
PAPER = picture_bytes()
LATER = dt.date(2026, 6, 30)


@dataclass(frozen=True, kw_only=True)
class World:
    """One job with all that hangs on it; `rows` by the beginning of the routes they answer to."""

    name: str
    day: Day
    rows: dict[str, int]
    values: dict[str, Any]
    exceptions: dict[str, int]

    def arguments_of(self, pattern: URLPattern) -> dict[str, Any]:
        """Return what fills an address in.

        Raises:
            KeyError: the address is of something of which there is no row here.
        """
        return {
            argument: self._pk(pattern) if argument == "pk" else self.values[argument]
            for argument in pattern.pattern.converters
        }

    def _pk(self, pattern: URLPattern) -> int:
        if pattern.name in self.exceptions:
            return self.exceptions[pattern.name]
        return self.rows[str(pattern.pattern).partition("<")[0]]


def make_world(lead: User, *, name: str, number: int) -> World:
    """Return a job of the crew of this person, for the customer of this name."""
    if not PriceItem.objects.exists():
        load_starter_rows(today=TODAY)
    customer = make_customer(name=f"{name} Customer", email=f"{name.lower()}@example.com")
    site = make_site(customer, street=f"{number} {name} Court")
    settle(site, on=TODAY)
    day = make_day(lead, site, name=f"{name} crew", number=number)
    member = day.members[0]
    member.hourly_cost = Decimal(PAY_RATE)
    member.save(update_fields=["hourly_cost"])
    day.hands_in(posts=ticks(1, 2), hours=(span(day, 0, "07:00", "15:30", break_min=30),))
    proposal: Proposal = day.job.proposal
    kept = proposal.pdf.storage.save("proposals/sold.pdf", ContentFile(PDF_BYTES))
    Proposal.objects.filter(pk=proposal.pk).update(pdf=kept)
    return World(
        name=name,
        day=day,
        rows=_rows_of_firm(customer, site) | _rows_of_sale(proposal) | _rows_of_job(day, lead),
        values=_values(day, proposal),
        exceptions={
            "proposal_scan": _sold_on_paper(site, number + 200).pk,
            "job_completion_pdf": _finished(day, site, number + 300).pk,
        },
    )


def _values(day: Day, proposal: Proposal) -> dict[str, Any]:
    """Return what fills in whatever is no plain key."""
    estimate, rate = proposal.estimate, ProductionRate.objects.all()[0]
    return {
        "crew": day.crew.pk,
        "date": day.date,
        "job": day.job.pk,
        "item_pk": day.job.punch_items.get().pk,
        "number": proposal.change_orders.get().number,
        "estimate_pk": estimate.pk,
        "line_pk": estimate.typed_lines.get().pk,
        "override_pk": estimate.overrides.get().pk,
        "alternate_pk": estimate.alternates.get().pk,
        "step_pk": proposal.payments.get(position=1).pk,
        "token": proposal.token,
        "kind": rate.kind,
        "key": rate.key,
        "uidb64": "MQ",
    }


def _rows_of_firm(customer: Customer, site: JobSite) -> dict[str, int]:
    town = Jurisdiction.objects.create(name=f"Town of {customer.name}")
    enquiry = Enquiry.objects.create(customer=customer, wanted="A fence", created_at=NOW)
    paper = add_attachment(
        actor=None, site=site, kind="photo", name="a.jpg", content=PAPER, note="", at=NOW
    )
    mail = OutgoingMail.objects.create(
        to=customer.email, subject="Hello", body="Hello", state="kept", created_at=NOW
    )
    enclosed = mail.attachments.create(name="a.pdf", content_type="application/pdf")
    enclosed.file.save("a.pdf", ContentFile(PDF_BYTES))
    ticket = site.clearances.get(kind="locate")
    return {
        "customers/": customer.pk,
        "sites/": site.pk,
        "enquiries/": enquiry.pk,
        "jurisdictions/": town.pk,
        "papers/": paper.pk,
        "clearances/": ticket.pk,
        "answers/": ticket.answers.get().pk,
        "mail/": mail.pk,
        "mail/files/": enclosed.pk,
    }


def _rows_of_sale(proposal: Proposal) -> dict[str, int]:
    estimate = proposal.estimate
    EstimateLine.objects.create(estimate=estimate, description="Haul away", unit_cost=Decimal(80))
    EstimateOverride.objects.create(
        estimate=estimate, target="price", value=Decimal(5000), reason="agreed", set_at=NOW
    )
    EstimateAlternate.objects.create(estimate=estimate, name="Chain link instead")
    add_schedule(proposal)
    change = draft_change(proposal)
    invoice = issue(draft_step(proposal))
    kept = invoice.pdf.storage.save("invoices/issued.pdf", ContentFile(PDF_BYTES))
    Invoice.objects.filter(pk=invoice.pk).update(pdf=kept, pdf_sha256="a" * 64)
    receipt = pay(proposal, "2040.00", invoice)
    return {
        "estimates/": estimate.pk,
        "proposals/": proposal.pk,
        "changes/": change.pk,
        "invoices/": invoice.pk,
        "payments/": receipt.pk,
        "price-book/": PriceItem.objects.all()[0].pk,
        "price-book/suppliers/": Supplier.objects.create(name=f"Supplier {proposal.pk}").pk,
        "price-book/systems/": FenceSystem.objects.all()[0].pk,
        "price-book/uncertain/": UncertainRow.objects.all()[0].pk,
    }


def _rows_of_job(day: Day, lead: User) -> dict[str, int]:
    job = day.job
    PunchItem.objects.create(job=job, text="Cap loose", added_by=lead, added_at=EVENING)
    photo = JobPhoto(job=job, original_name="a.jpg", original_sha256="0" * 64, added_at=EVENING)
    photo.original_bytes = len(PAPER)
    photo.file.save("a.jpg", ContentFile(PAPER), save=True)
    cost = JobCost.objects.create(
        job=job, description="Posts", amount=Decimal(90), spent_on=TODAY, recorded_at=NOW
    )
    off = CrewDaysOff.objects.create(crew=day.crew, first_day=TODAY, last_day=TODAY)
    skill = Skill.objects.create(name=f"Welding, {day.crew.name}")
    asked = SkillAsked.objects.create(skill=skill, phase="gates")
    day.members[0].skills.add(skill)
    away = MemberTimeOff.objects.create(member=day.members[0], first_day=LATER, last_day=LATER)
    machine = Machine.objects.create(name=f"Auger of {day.crew.name}")
    feed = CalendarFeed.objects.create(
        crew=day.crew, made_by=lead, made_at=NOW, token_sha256=f"{lead.pk:064}", token_start="abc"
    )
    rained_out = _rain_out(job, lead)
    return {
        "jobs/": job.pk,
        "calendar/jobs/": job.pk,
        "calendar/plan/": _plan_aside(lead),
        "calendar/changes/": _change(job, lead),
        "calendar/rain-outs/": rained_out.rain_out_id,
        "calendar/rain-outs/jobs/": rained_out.pk,
        "job-photos/": photo.pk,
        "job-costs/": cost.pk,
        "crews/": day.crew.pk,
        "crew-members/": day.members[0].pk,
        "crew-days/": day.crew.crew_days.all()[0].pk,
        "days-off/": off.pk,
        "time-off/": away.pk,
        "skills/": skill.pk,
        "skills-asked/": asked.pk,
        "machines/": machine.pk,
        "feeds/": feed.pk,
        "settings/people/": lead.pk,
        "orders/": _order(job).pk,
        "receipts/": _receipt(job).pk,
    }


def _plan_aside(lead: User) -> int:
    """Return a plan that somebody put aside: nothing of it is open."""
    return PlanDraft.objects.create(
        state="dropped", asked_by=lead, asked_at=NOW, seconds=10, ended_by=lead, ended_at=NOW
    ).pk


def _change(job: FenceJob, lead: User) -> int:
    """Return that a job's digging moved by a day, which nobody has seen."""
    moves = [{"phase": "dig", "before": ["2026-05-04"], "after": ["2026-05-05"]}]
    values = {"cause": "rain_out", "why": "rain", "made_by": lead, "made_at": NOW}
    return PlanChange.objects.create(job=job, moves=moves, **values).pk


def _rain_out(job: FenceJob, lead: User) -> RainOutJob:
    """Return a job that somebody moved by a day because of rain."""
    row = RainOut.objects.create(date=TODAY, work="all", others="stay", made_by=lead, made_at=NOW)
    days = {"days_before": ["2026-05-04"], "days_after": ["2026-05-05"]}
    return RainOutJob.objects.create(rain_out=row, job=job, fate="moved", **days)


def _order(job: FenceJob) -> PurchaseOrder:
    """Return a draft to a supplier of its own, for the yard."""
    supplier = Supplier.objects.create(name=f"Supplier {Supplier.objects.count()} of {job}")
    order = PurchaseOrder.objects.create(supplier=supplier, created_at=NOW)
    order.lines.create(item="post", name="Post", count=4, unit_cost=Decimal("38.00"))
    return order


def _receipt(job: FenceJob) -> Receipt:
    """Return what came into the yard of an order that was sent."""
    order = _order(job)
    line = order.lines.get()
    number = 1 + PurchaseOrder.objects.count()
    PurchaseOrder.objects.filter(pk=order.pk).update(
        state="sent", number=number, sent_at=NOW, sent_on=TODAY
    )
    return Receipt.objects.create(line=line, received_on=TODAY, count=4, written_at=NOW)


def _sold_on_paper(site: JobSite, number: int) -> Proposal:
    """Return a sale whose signature was scanned."""
    estimate = make_sold_estimate(site, number=number)
    sold = Proposal.objects.create(
        estimate=estimate,
        state=Proposal.State.ACCEPTED,
        valid_until=TODAY,
        price=estimate.price,
        pdf_sha256="a" * 64,
    )
    Acceptance.objects.create(
        proposal=sold,
        way=Acceptance.Way.PAPER,
        signed_name="Wren Halloway",
        accepted_at=NOW,
        pdf_sha256="a" * 64,
        total=estimate.price,
        cancellation_ends_at=NOW,
        scan=sold.pdf.storage.save("acceptances/signed.pdf", ContentFile(PDF_BYTES)),
    )
    return sold


def _finished(day: Day, site: JobSite, number: int) -> FenceJob:
    """Return another job of the crew, which its customer signed for."""
    job = make_fence_job(site, number=number)
    CrewDay.objects.create(
        job=job,
        phase=job.phases.get(),
        crew=day.crew,
        date=day.date,
        hours=Decimal(1),
        position=1,
        placed_at=NOW,
    )
    Completion.objects.create(
        job=job,
        statement="All is done.",
        signed_name="Wren Halloway",
        strokes=[[[10, 20], [300, 400]]],
        signed_at=EVENING,
        sha256="0" * 64,
    )
    job.state, job.finished_at = FenceJob.State.FINISHED, EVENING
    job.save()
    return job
