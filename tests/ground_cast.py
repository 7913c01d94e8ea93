"""Sold work that the real engine laid out, so that its ground can be found otherwise."""

from decimal import Decimal
from typing import Any

from estimating import mapping
from estimating.engine.catalog import Override
from estimating.engine.estimate import estimate as work_out
from estimating.engine.reading import read_catalog, read_site
from estimating.models import Acceptance, Estimate, Proposal
from estimating.starter import load_starter_data
from firm.models import JobSite
from scheduling.models import FenceJob, JobPhase
from tests.factories import NOW, make_site
from tests.job_cast import job_values

VINYL = "vinyl_privacy_6ft"


def ground_document(**changes: Any) -> dict[str, Any]:
    """Return two lines of vinyl, 30 ft and 16 ft, and the gas marked 150 in along the first."""
    first: dict[str, Any] = {
        "id": "A",
        "name": "Back line",
        "system": VINYL,
        "legs": [{"length_in": 360.0, "turn_deg": 0.0}],
        "no_dig": [
            {"station_in": 150.0, "facility_width_in": 6.0, "utility": "gas", "hand_dig": True}
        ],
    }
    second: dict[str, Any] = {
        "id": "B",
        "name": "Side line",
        "system": VINYL,
        "start_y_in": 600.0,
        "legs": [{"length_in": 192.0, "turn_deg": 0.0}],
    }
    return {
        "format": "firm-footing-site",
        "version": 1,
        "name": "Larch Court",
        "conditions": {"spoil": "haul", "frost_depth_in": 36, "trips": 2},
        "lines": [first | changes, second],
    }


def make_ground_estimate(
    site: JobSite | None = None,
    *,
    document: dict[str, Any] | None = None,
    rules: dict[str, Any] | None = None,
    by_hand: tuple[tuple[str, str], ...] = (),
    number: int = 1001,
) -> Estimate:
    """Return an estimate of `ground_document`, priced by the engine with the starter set."""
    place = site or make_site()
    document = document or ground_document()
    data = load_starter_data()
    data["rules"] |= rules or {}
    overrides = [Override(target=t, value=Decimal(v), reason="agreed") for t, v in by_hand]
    result = work_out(read_site(document), read_catalog(data), overrides=overrides)
    row = Estimate.objects.create(
        number=number,
        customer=place.customer,
        site=place,
        title="Privacy fence behind the house",
        document=document,
        catalog=data,
        result=mapping.to_plain(result),
        state=Estimate.State.FROZEN,
        price_before_tax=result.money.price_before_tax,
        sales_tax=result.money.sales_tax,
        price=result.money.price,
        created_at=NOW,
        priced_at=NOW,
    )
    for each in overrides:
        row.overrides.create(target=each.target, value=each.value, reason=each.reason, set_at=NOW)
    return row


def make_sold_ground(site: JobSite | None = None, **changes: Any) -> Proposal:
    """Return an accepted proposal of an estimate whose ground can be marked."""
    estimate = make_ground_estimate(site, **changes)
    proposal = Proposal.objects.create(
        estimate=estimate,
        state=Proposal.State.ACCEPTED,
        valid_until=NOW.date(),
        price=estimate.price,
        sales_tax=estimate.sales_tax,
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
    return proposal


def make_ground_job(site: JobSite | None = None, **changes: Any) -> FenceJob:
    """Return the job of a proposal whose ground can be marked."""
    proposal = make_sold_ground(site, **changes)
    values = job_values(proposal) | {
        "price_before_tax": proposal.price - proposal.sales_tax,
        "sales_tax": proposal.sales_tax,
    }
    job = FenceJob.objects.create(**values)
    JobPhase.objects.create(
        job=job, position=0, kind="layout", labor_hours=Decimal(2), labour_cost=Decimal(124)
    )
    return job
