"""Sold fences laid out by the real engine from the starter's systems, for tests of crew sheets."""

from collections.abc import Sequence
from functools import cache
from typing import Any

from estimating.engine import reading
from estimating.engine.estimate import estimate
from estimating.mapping import to_plain
from estimating.models import Acceptance, Estimate, Proposal
from estimating.starter import load_starter_data
from firm.models import JobSite
from scheduling.models import FenceJob, JobPhase
from tests.factories import NOW, make_estimate, make_site
from tests.job_cast import PHASES, job_values

VINYL = "vinyl_privacy_6ft"
Json = dict[str, Any]


def fence_document(*lines: Json, **conditions: Any) -> Json:
    """Return a measured site; frost of 36 in, so that 9 ft vinyl posts just reach."""
    return {
        "format": "firm-footing-site",
        "version": 1,
        "name": "Larch Court",
        "conditions": {"frost_depth_in": 36.0} | conditions,
        "lines": list(lines),
    }


def fence_line(
    length_in: float | Sequence[float] = 768.0, *, system: str = VINYL, **changes: Any
) -> Json:
    """Return a line of one leg, or of several with right turns between."""
    lengths = [length_in] if isinstance(length_in, int | float) else list(length_in)
    legs = [{"length_in": each, "turn_deg": 90.0 if i else 0.0} for i, each in enumerate(lengths)]
    return {"id": "A", "name": "Back line", "system": system, "legs": legs} | changes


@cache
def _catalog() -> Any:
    return reading.read_catalog(load_starter_data())


def make_laid_out_estimate(document: Json, site: JobSite | None = None, **changes: Any) -> Estimate:
    """Return an estimate with what the engine says of a document."""
    result = estimate(reading.read_site(document), _catalog())
    return make_estimate(
        site,
        document=document,
        catalog=load_starter_data(),
        result=to_plain(result),
        **changes,
    )


def make_laid_out_proposal(document: Json, site: JobSite | None = None, **changes: Any) -> Proposal:
    """Return an accepted proposal of a laid-out fence."""
    sold = make_laid_out_estimate(document, site or make_site(), **changes)
    proposal = Proposal.objects.create(
        estimate=sold,
        state=Proposal.State.ACCEPTED,
        valid_until=NOW.date(),
        price=sold.price,
        pdf_sha256="a" * 64,
    )
    Acceptance.objects.create(
        proposal=proposal,
        way=Acceptance.Way.LINK,
        signed_name="Wren Halloway",
        accepted_at=NOW,
        pdf_sha256="a" * 64,
        total=sold.price,
        cancellation_ends_at=NOW,
    )
    return proposal


def make_laid_out_job(
    document: Json, site: JobSite | None = None, *, number: int = 1001, **changes: Any
) -> FenceJob:
    """Return the job of a laid-out fence, with every phase."""
    proposal = make_laid_out_proposal(document, site, number=number)
    job = FenceJob.objects.create(**(job_values(proposal) | changes))
    JobPhase.objects.bulk_create(
        JobPhase(job=job, position=i, kind=kind, labor_hours=hours, labour_cost=cost)
        for i, (kind, hours, cost) in enumerate(PHASES)
    )
    return job
