"""Makes the demo firm through the same services that people's clicks go through."""

import datetime as dt
import secrets
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any

from django.db import transaction
from django.utils import timezone

from estimating.models import Estimate, EstimateLine, PriceItem, Proposal
from estimating.selectors.measurements import conditions_of
from estimating.services.acceptances import Signature, accept_at_link
from estimating.services.estimate_parts import save_line
from estimating.services.estimates import price_repair, price_site
from estimating.services.measurements import save_measurement
from estimating.services.price_book import save_price_item
from estimating.services.proposal_answers import decline_proposal, record_call
from estimating.services.proposal_sending import send_proposal
from estimating.services.proposals import create_draft
from firm.errors import Refusal
from firm.models import Clearance, Customer, FirmProfile, JobSite, Jurisdiction, Role, User
from firm.services.clearances import add_utility_answer, change_clearance
from firm.services.customers import add_customer
from firm.services.enquiries import take_enquiry
from firm.services.jobs import run_job
from firm.services.jurisdictions import add_jurisdiction
from firm.services.profile import set_up_firm
from firm.services.sites import add_site
from firm.services.users import PersonDetails, add_person

DEMO_FILE = Path(__file__).parent.parent / "data" / "demo.toml"
# Older than every estimate of the demo, younger than a price that counts as old.
CATALOG_AGE = dt.timedelta(days=60)
OLD_PRICES = ("cl_fabric_4ft", "concrete_80lb", "gate_latch")
OLD_PRICE_AGE = dt.timedelta(days=131)
LINE_DEFAULTS: dict[str, Any] = {"scope": "whole_fence", "taped": "level", "finished_face": "left"}
TYPED_DEFAULTS: dict[str, Any] = {
    "quantity": Decimal(1),
    "unit": "each",
    "unit_cost": Decimal(0),
    "price": None,
    "labor_hours": Decimal(0),
    "is_optional": False,
}


@dataclass(frozen=True, kw_only=True, slots=True)
class DemoLogIn:
    """A log-in of the demo firm; its password is known here and nowhere else."""

    name: str
    role: str
    username: str
    password: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Cast:
    """Who does things in the demo, and the time it is."""

    owner: User
    office: User
    now: dt.datetime

    def ago(self, days: int) -> dt.datetime:
        """Return the time some days ago."""
        return self.now - dt.timedelta(days=days)

    def at(self, day: dt.date, hour: int) -> dt.datetime:
        """Return an hour of a day at the firm, or now where that is still to come."""
        zone = timezone.get_current_timezone()
        return min(dt.datetime.combine(day, dt.time(hour), tzinfo=zone), self.now)


DemoStep = Callable[[Cast], object]
_further_steps: list[DemoStep] = []


def on_demo(step: DemoStep) -> None:
    """Register, in an app's `tasks` module, what the demo shows of that app."""
    if step not in _further_steps:
        _further_steps.append(step)


@transaction.atomic
def load_demo(*, now: dt.datetime) -> list[DemoLogIn]:
    """Make the demo firm, whole or not at all, and return its log-ins.

    Raises:
        Refusal: a firm is set up here already.
    """
    if FirmProfile.objects.exists() or User.objects.exists():
        raise Refusal("A firm is set up here already: the demo needs an empty database.")
    demo = tomllib.loads(DEMO_FILE.read_text(encoding="utf-8"))
    began = now - CATALOG_AGE
    log_ins = _set_up(demo, at=began)
    people = {person.role: person for person in User.objects.all()}
    cast = Cast(owner=people[Role.OWNER], office=people[Role.OFFICE], now=now)
    _let_prices_grow_old(cast)
    for values in demo["jurisdictions"]:
        add_jurisdiction(actor=cast.owner, values=_with_amounts(values), at=began)
    for story in demo["customers"]:
        _play(story, cast)
    for step in _further_steps:
        step(cast)
    return log_ins


def _set_up(demo: Mapping[str, Any], *, at: dt.datetime) -> list[DemoLogIn]:
    log_ins = []
    owner: User | None = None
    for values in demo["people"]:
        details = PersonDetails(**{**values, "role": Role(values["role"])})
        password = "-".join(secrets.choice(demo["password_words"]) for _ in range(4))
        if owner is None:
            owner = set_up_firm(
                values=_with_amounts(demo["firm"]), owner=details, password=password, at=at
            )
        else:
            add_person(actor=owner, details=details, password=password, at=at)
        log_ins.append(
            DemoLogIn(
                name=f"{details.first_name} {details.last_name}",
                role=details.role.label,
                username=details.username,
                password=password,
            )
        )
    return log_ins


def _let_prices_grow_old(cast: Cast) -> None:
    day = timezone.localdate(cast.now - OLD_PRICE_AGE)
    for item in PriceItem.objects.filter(key__in=OLD_PRICES):
        save_price_item(
            actor=cast.office, item=item, values={"checked_on": day}, at=cast.now - CATALOG_AGE
        )


def _play(story: Mapping[str, Any], cast: Cast) -> None:
    """Let one customer's story happen as far as it goes."""
    enquiry_days = story["enquiry"]["days_ago"]
    customer = add_customer(
        actor=cast.office,
        values={name: story[name] for name in ("name", "phone", "email", "source")},
        at=cast.ago(enquiry_days),
    )
    site = _site_of(story, customer, cast)
    _enquire(story["enquiry"], customer, site, cast)
    estimate = _estimate_of(story, customer, site, cast)
    if estimate is None or "proposal" not in story:
        return
    sent_at = cast.ago(story.get("sent_days_ago", 1))
    proposal = create_draft(estimate=estimate, actor=cast.office, now=sent_at)
    if story["proposal"] != "draft":
        _send(proposal, customer, cast, at=sent_at)
        _answer(story, proposal, customer, cast)
    if "ticket" in story and site is not None:
        _call_for_locates(story["ticket"], site, cast)


def _site_of(story: Mapping[str, Any], customer: Customer, cast: Cast) -> JobSite | None:
    if "site" not in story:
        return None
    values = dict(story["site"])
    values["jurisdiction"] = Jurisdiction.objects.get(name=values["jurisdiction"])
    return add_site(
        actor=cast.office,
        values={**values, "customer": customer, "owner_name": customer.name},
        at=cast.ago(story["enquiry"]["days_ago"]),
    )


def _enquire(
    asked: Mapping[str, Any], customer: Customer, site: JobSite | None, cast: Cast
) -> None:
    values: dict[str, Any] = {
        name: asked[name]
        for name in ("wanted", "rough_length_ft", "asker_owns", "place", "state")
        if name in asked
    }
    values |= {"source": customer.source, "site": site}
    if "visit_in_days" in asked:
        day = timezone.localtime(cast.now) + dt.timedelta(days=asked["visit_in_days"])
        values["appointment_at"] = day.replace(hour=10, minute=0, second=0, microsecond=0)
    if "wanted_by_in_days" in asked:
        days = dt.timedelta(days=asked["wanted_by_in_days"])
        values["wanted_by"] = timezone.localdate(cast.now) + days
    take_enquiry(actor=cast.office, asker=customer, values=values, at=cast.ago(asked["days_ago"]))


def _estimate_of(
    story: Mapping[str, Any], customer: Customer, site: JobSite | None, cast: Cast
) -> Estimate | None:
    if "measured_days_ago" not in story:
        return None
    at = cast.ago(story["measured_days_ago"])
    typed = [{**TYPED_DEFAULTS, **_with_amounts(line)} for line in story.get("typed", [])]
    if "repair" in story:
        return price_repair(
            customer=customer,
            site=site,
            title=story["title"],
            notes=story["repair"],
            lines=[EstimateLine(**values) for values in typed],
            actor=cast.office,
            now=at,
        )
    if site is None:
        raise Refusal(f"The demo measures no site for {customer.name}.")
    save_measurement(
        site=site,
        document=_document(story, site),
        based_on=0,
        actor=cast.office,
        now=at,
    )
    estimate = price_site(site=site, actor=cast.office, now=at, title=story["title"])
    for values in typed:
        save_line(estimate=estimate, values=values, actor=cast.office, now=at)
    estimate.refresh_from_db()
    return estimate


def _document(story: Mapping[str, Any], site: JobSite) -> dict[str, Any]:
    conditions = {
        name: str(value) if isinstance(value, Decimal) else value
        for name, value in conditions_of(site).items()
        if value is not None
    }
    conditions["permit_fee"] = str(conditions.get("permit_fee", "0"))
    conditions["trips"] = 2
    return {
        "format": "firm-footing-site",
        "version": 1,
        "name": story["title"],
        "notes": "",
        "conditions": conditions,
        "lines": [{**LINE_DEFAULTS, **line} for line in story["lines"]],
    }


def _send(proposal: Proposal, customer: Customer, cast: Cast, *, at: dt.datetime) -> None:
    send_proposal(proposal=proposal, to=customer.email, actor=cast.office, now=at)
    proposal.refresh_from_db()
    if proposal.send_job_id is not None:
        # No worker runs yet when the demo is loaded.
        run_job(job_id=proposal.send_job_id, now=at)
    proposal.refresh_from_db()
    if proposal.state != Proposal.State.SENT:
        raise Refusal(f"The demo's {proposal} could not be sent: see the job's error.")


def _answer(story: Mapping[str, Any], proposal: Proposal, customer: Customer, cast: Cast) -> None:
    if "call" in story:
        record_call(
            proposal=proposal,
            note=story["call"],
            call_after=timezone.localdate(cast.now),
            actor=cast.office,
            now=cast.ago(5),
        )
    if "answered_days_ago" not in story:
        return
    at = cast.ago(story["answered_days_ago"])
    if story["proposal"] == "accepted":
        signature = Signature(name=customer.name, pdf_sha256=proposal.pdf_sha256)
        accept_at_link(proposal=proposal, signature=signature, now=at)
    else:
        decline_proposal(proposal=proposal, reason=story["reason"], now=at)


def _call_for_locates(ticket: Mapping[str, Any], site: JobSite, cast: Cast) -> None:
    at = cast.ago(ticket["asked_days_ago"])
    clearance = change_clearance(
        actor=cast.office,
        clearance=site.clearances.get(kind=Clearance.Kind.LOCATE),
        values={
            "state": Clearance.State.ASKED,
            "number": ticket["number"],
            "asked_on": timezone.localdate(at),
        },
        at=at,
    )
    for utility, answer in ticket["utilities"].items():
        add_utility_answer(
            actor=cast.office,
            clearance=clearance,
            values={"utility": utility, "answer": answer},
            at=at,
        )


def _with_amounts(values: Mapping[str, Any]) -> dict[str, Any]:
    """Return the values with amounts, which the file keeps as text, as Decimals."""
    amounts = {"permit_fee", "price", "unit_cost", "quantity", "labor_hours"}
    return {
        name: Decimal(value) if name in amounts or name.endswith("_pct") else value
        for name, value in values.items()
    }
