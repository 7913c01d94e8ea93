"""Questions about jobs: which there are, whether their crew may dig, and what stands in the way."""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Prefetch, QuerySet
from django.utils import timezone

from estimating.selectors.accepted import accepted_plan
from firm.models import Clearance
from scheduling import mapping
from scheduling.engine.readiness import Condition, Kind, conditions, dig_block
from scheduling.models import FenceJob, JobPhase

DIGGING = frozenset({JobPhase.Kind.REMOVAL, JobPhase.Kind.DIG})
NAMES = {
    Kind.SIGNED: "Signature",
    Kind.CANCELLATION: "Time to cancel",
    Kind.DEPOSIT: "Deposit",
    Kind.PINS: "Property line",
    Kind.EASEMENT: "Right of way and easements",
    Kind.PERMIT: "Permit",
    Kind.ASSOCIATION: "Association",
    Kind.LOCATE: "Locate ticket",
}


@dataclass(frozen=True, kw_only=True, slots=True)
class JobRow:
    """A job in the list, and the one thing that bars its dig, if any."""

    job: FenceJob
    block: Condition | None


@dataclass(frozen=True, kw_only=True, slots=True)
class ShownCondition:
    """One condition under its name, and the page where it is mended, if there is one."""

    condition: Condition
    name: str
    mend_page: str = ""
    mend_pk: int | None = None
    mend_words: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class JobView:
    """Everything the page of one job shows; `twins` are open jobs of the same number."""

    job: FenceJob
    block: ShownCondition | None
    conditions: list[ShownCondition]
    phases: list[JobPhase]
    labor_hours: Decimal
    labour_cost: Decimal
    digs: bool
    plan: str
    twins: list[FenceJob]


def jobs_in_state(state: str) -> QuerySet[FenceJob]:
    """Return the jobs in a state with all that says whether they may be dug."""
    return _with_clearances().filter(state=state)


def job_rows(jobs: Iterable[FenceJob], *, now: dt.datetime) -> list[JobRow]:
    """Return jobs with what bars each one's dig at this moment."""
    here = timezone.localtime(now)
    return [JobRow(job=job, block=dig_block(mapping.standing_of(job), on=here)) for job in jobs]


def job_with_clearances(pk: int) -> FenceJob | None:
    """Return one job with its customer, its site and the site's clearances."""
    return _with_clearances().filter(pk=pk).first()


def job_view(job: FenceJob, *, now: dt.datetime) -> JobView:
    """Return what a job's page shows."""
    standing, here = mapping.standing_of(job), timezone.localtime(now)
    block = dig_block(standing, on=here)
    rows = list(job.site.clearances.all()) if job.site else []
    phases = list(job.phases.all())
    return JobView(
        job=job,
        block=_shown(block, job, rows) if block else None,
        conditions=[
            _shown(each, job, rows) for each in conditions(standing, on=here) if each.kind in NAMES
        ],
        phases=phases,
        labor_hours=sum((phase.labor_hours for phase in phases), Decimal(0)),
        labour_cost=sum((phase.labour_cost for phase in phases), Decimal(0)),
        digs=any(phase.kind in DIGGING for phase in phases),
        plan=accepted_plan(job.proposal_id),
        twins=list(
            FenceJob.objects.filter(number=job.number, state=FenceJob.State.TO_DO)
            .exclude(pk=job.pk)
            .order_by("pk")
        ),
    )


def _with_clearances() -> QuerySet[FenceJob]:
    clearances = Clearance.objects.order_by("pk").prefetch_related("answers")
    return FenceJob.objects.select_related("customer", "site__jurisdiction").prefetch_related(
        Prefetch("site__clearances", queryset=clearances), "phases"
    )


def _shown(condition: Condition, job: FenceJob, rows: Sequence[Clearance]) -> ShownCondition:
    page, pk, words = _mended_at(condition.kind, job, rows)
    return ShownCondition(
        condition=condition,
        name=NAMES[condition.kind],
        mend_page=page,
        mend_pk=pk,
        mend_words=words,
    )


def _mended_at(kind: Kind, job: FenceJob, rows: Sequence[Clearance]) -> tuple[str, int | None, str]:
    """Return the page that mends a condition, its row, and what its link says."""
    if kind in {Kind.SIGNED, Kind.CANCELLATION}:
        return "proposal", job.proposal_id, "Proposal"
    if job.site is None:
        return "", None, ""
    mine = [row.pk for row in rows if row.kind == kind]
    if not mine:
        return "clearance_add", job.site.pk, "Write it down"
    # Of several the site's page shows which one it is.
    return ("clearance_edit", mine[0], "Open") if len(mine) == 1 else ("site", job.site.pk, "Open")
