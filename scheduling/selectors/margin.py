"""Questions about what jobs leave: the owner's alone to ask."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Prefetch, Q, QuerySet
from django.utils import timezone

from estimating.selectors.changes import SignedChanges
from estimating.selectors.cost_basis import cost_bases
from scheduling.engine.margin import Margin, margin_of
from scheduling.engine.margin_signs import Sign, signs_of
from scheduling.models import DayReport, FenceJob, JobCost
from scheduling.selectors.margin_rows import bags_used, facts_of, posts_done, sign_facts

SHOWN_FOR = dt.timedelta(days=90)


@dataclass(frozen=True, kw_only=True, slots=True)
class JobMargin:
    """A job with its margin and the signs that it goes bad."""

    job: FenceJob
    margin: Margin
    signs: tuple[Sign, ...]
    changes: SignedChanges
    posts: int
    posts_set: int
    bags_planned: int
    bags_used: Decimal

    @property
    def is_forecast(self) -> bool:
        """Say whether the job still goes on: what is finished is known."""
        return self.job.state == FenceJob.State.TO_DO


def job_margin(pk: int, *, now: dt.datetime) -> JobMargin | None:
    """Return one job's margin, or None where there is no such job."""
    return next(iter(_margins(_rows().filter(pk=pk), now=now)), None)


def margins(*, now: dt.datetime) -> list[JobMargin]:
    """Return the jobs to do and those finished lately, the worst margin first."""
    shown = Q(state=FenceJob.State.TO_DO) | Q(
        state=FenceJob.State.FINISHED, finished_at__gte=now - SHOWN_FOR
    )
    return sorted(_margins(_rows().filter(shown), now=now), key=_worst_first)


def costs_of(job: FenceJob) -> QuerySet[JobCost]:
    """Return a job's receipts, the latest first."""
    return job.costs.select_related("recorded_by", "invoice").order_by("-spent_on", "-pk")


def deliveries_among(costs: Iterable[JobCost]) -> list[JobCost]:
    """Return what came to the site of orders, or was taken back, the first of it first."""
    found = (cost for cost in costs if cost.order_id is not None)
    return sorted(found, key=lambda cost: (cost.spent_on, cost.pk))


def _worst_first(row: JobMargin) -> tuple[bool, Decimal, int]:
    """Order by the forecast per cent; jobs without a price come last."""
    pct = row.margin.pct
    return (pct is None, pct.forecast if pct else Decimal(0), row.job.pk)


def _margins(jobs: Iterable[FenceJob], *, now: dt.datetime) -> list[JobMargin]:
    found, today = list(jobs), timezone.localdate(now)
    bases = cost_bases([job.proposal_id for job in found], today=today)
    rows = []
    for job in found:
        basis = bases[job.proposal_id]
        margin = margin_of(facts_of(job, basis))
        is_off = job.state == FenceJob.State.CALLED_OFF
        facts = sign_facts(job, basis, margin, today=today)
        rows.append(
            JobMargin(
                job=job,
                margin=margin,
                signs=() if is_off else signs_of(facts),
                changes=basis.changes,
                posts=basis.posts,
                posts_set=posts_done(job).all,
                bags_planned=basis.bags,
                bags_used=bags_used(job),
            )
        )
    return rows


def _rows() -> QuerySet[FenceJob]:
    reports = DayReport.objects.order_by("date", "pk").prefetch_related("hours")
    return FenceJob.objects.select_related("customer", "site").prefetch_related(
        "phases", "costs", "crew_days", "post_records", Prefetch("reports", queryset=reports)
    )
