"""What the start page shows of the jobs: where the crews are, and what must not be forgotten."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import groupby

from django.db.models import QuerySet
from django.utils import timezone

from firm.measure.business_days import add_business_days
from firm.models import Clearance
from scheduling.models import CrewDay, FenceJob, JobPhase
from scheduling.selectors.cure_spans import plan_around
from scheduling.selectors.planning import cure_spans
from scheduling.selectors.unplaced import unplaced_jobs

MOST = 8
TICKET_DAYS = 5
ONE_DAY = dt.timedelta(days=1)
DIGGING = (JobPhase.Kind.REMOVAL, JobPhase.Kind.DIG)


@dataclass(frozen=True, kw_only=True, slots=True)
class CrewToday:
    """Where a crew is today, in the order of the day."""

    crew: str
    blocks: list[CrewDay]


@dataclass(frozen=True, kw_only=True, slots=True)
class EndingTicket:
    """A ticket that ends soon while its job has still to be dug; `last_dig` is the last planned."""

    job: FenceJob
    ticket: Clearance
    last_dig: dt.date | None

    @property
    def is_too_late(self) -> bool:
        """Say whether digging is planned after the ticket's last day."""
        return bool(
            self.last_dig and self.ticket.expires_on and self.last_dig > self.ticket.expires_on
        )


@dataclass(frozen=True, kw_only=True, slots=True)
class WaitOver:
    """Something may hang on a job's posts from today on."""

    job: FenceJob
    words: str


@dataclass(frozen=True, kw_only=True, slots=True)
class JobsToday:
    """The lists of the start page that come from the jobs, each cut to its first few rows."""

    crews: list[CrewToday]
    may_dig: list[FenceJob]
    tickets: list[EndingTicket]
    waits_over: list[WaitOver]


def jobs_today(*, now: dt.datetime) -> JobsToday:
    """Return what the owner and the office look at in the morning."""
    today = timezone.localdate(now)
    return JobsToday(
        crews=_crews_on(today),
        may_dig=[
            one.job
            for one in unplaced_jobs(now=now)
            if one.block is None and any(phase.kind in DIGGING for phase in one.phases)
        ][:MOST],
        tickets=_ending_tickets(today)[:MOST],
        waits_over=_waits_over(today, now=now)[:MOST],
    )


def _named(rows: QuerySet[CrewDay]) -> QuerySet[CrewDay]:
    named = rows.select_related("job__customer", "job__site", "phase", "crew", "machine")
    return named.order_by("date", "crew__name", "position", "pk")


def _crews_on(day: dt.date) -> list[CrewToday]:
    rows = _named(CrewDay.objects.filter(date=day))
    return [
        CrewToday(crew=name, blocks=list(blocks))
        for name, blocks in groupby(rows, key=lambda one: one.crew.name)
    ]


def _ending_tickets(today: dt.date) -> list[EndingTicket]:
    last = add_business_days(today, TICKET_DAYS)
    tickets = Clearance.objects.filter(
        kind=Clearance.Kind.LOCATE, expires_on__gte=today, state=Clearance.State.CLEAR
    )
    ends: dict[int, Clearance] = {}
    # Of several tickets of a site the one that ends last counts.
    for ticket in tickets.order_by("expires_on", "pk"):
        ends[ticket.site_id] = ticket
    soon = {site: row for site, row in ends.items() if row.expires_on and row.expires_on <= last}
    open_digs = JobPhase.objects.filter(
        kind__in=DIGGING,
        finished_on=None,
        job__state=FenceJob.State.TO_DO,
        job__site__in=soon,
    )
    found = [
        EndingTicket(job=job, ticket=soon[job.site_id], last_dig=_last_day(phases))
        for job, phases in groupby(
            open_digs.select_related("job__customer", "job__site")
            .prefetch_related("crew_days")
            .order_by("job", "position"),
            key=lambda phase: phase.job,
        )
        if job.site_id is not None
    ]
    return sorted(found, key=lambda one: (one.ticket.expires_on or today, one.job.number))


def _last_day(phases: Iterable[JobPhase]) -> dt.date | None:
    return max((row.date for phase in phases for row in phase.crew_days.all()), default=None)


def _waits_over(today: dt.date, *, now: dt.datetime) -> list[WaitOver]:
    plan = plan_around(today, today, now=now)
    over = [
        span
        for key in plan.facts.jobs
        for span in cure_spans(plan, int(key))
        if span.ready_at and timezone.localdate(span.ready_at) == today
    ]
    jobs = FenceJob.objects.select_related("customer").in_bulk({span.job_id for span in over})
    return [
        WaitOver(
            job=jobs[span.job_id],
            words=f"{span.work} from {timezone.localtime(span.ready_at):%H:%M}",
        )
        for span in sorted(over, key=lambda one: one.ready_at or now)
    ]
