"""From a job's rows to the facts its margin and the signs of a job going bad are read from."""

import datetime as dt
import math
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from django.utils import timezone

from estimating.selectors.cost_basis import CostBasis
from firm.measure.money import share_out, to_cents
from scheduling.engine.margin import Margin, spread_minutes
from scheduling.engine.margin_facts import (
    BagFacts,
    ChangeFacts,
    FirmRule,
    JobFacts,
    KindFacts,
    PhaseFacts,
    Units,
)
from scheduling.engine.margin_signs import Concrete, Digging, FirstDay, SignFacts
from scheduling.models import CrewDay, DayReport, FenceJob, HoursWorked, JobCost, JobPhase

NOTHING = Decimal(0)
MINUTES_IN_HOUR = 60
PHASES_BY_POST = frozenset({JobPhase.Kind.DIG, JobPhase.Kind.SET})
NO_PHASE = 0


@dataclass(frozen=True, kw_only=True, slots=True)
class PostsDone:
    """The posts set: all of them, those with hours to them, and those with bags counted."""

    all: int
    with_hours: int
    with_bags: int


@dataclass(kw_only=True, slots=True)
class _Work:
    """Minutes and money worked, by phase."""

    minutes: dict[int, int]
    cost: dict[int, Decimal]

    def add(self, phase: int, minutes: int, cost: Decimal) -> None:
        self.minutes[phase] = self.minutes.get(phase, 0) + minutes
        self.cost[phase] = self.cost.get(phase, NOTHING) + cost


def facts_of(job: FenceJob, basis: CostBasis) -> JobFacts:
    """Return what a job's margin is worked out from."""
    phases = _phases(job, basis)
    labour = sum((phase.sold_cost for phase in phases), NOTHING)
    changes = basis.changes
    return JobFacts(
        price=job.price_before_tax,
        overhead=job.overhead,
        commission=job.commission,
        phases=phases,
        kinds=_kinds(job, basis, labour),
        changes=ChangeFacts(
            price=changes.price_before_tax,
            direct_cost=changes.direct_cost,
            hours=changes.labor_hours,
        ),
        bags=_bags(job, basis),
        rule=_rule(basis),
        is_finished=job.state == FenceJob.State.FINISHED,
    )


def _rule(basis: CostBasis) -> FirmRule | None:
    rule = basis.rule
    if rule is None:
        return None
    return FirmRule(
        crew_rate=rule.crew_rate,
        crew_size=rule.crew_size,
        hours_per_day=rule.hours_per_day,
        overhead_method=rule.overhead_method,
        overhead_rate=rule.overhead_rate,
        commission_pct=rule.commission_pct,
    )


def posts_done(job: FenceJob) -> PostsDone:
    """Return how many posts are set, as far as the reports tell."""
    reports = job.reports.all()
    with_hours = {report.pk for report in reports if report.hours.all()}
    with_bags = {report.pk for report in reports if report.bags_used is not None}
    done = [record.report_id for record in job.post_records.all() if record.set_at is not None]
    return PostsDone(
        all=len(done),
        with_hours=sum(1 for report in done if report in with_hours),
        with_bags=sum(1 for report in done if report in with_bags),
    )


def bags_used(job: FenceJob) -> Decimal:
    """Return the bags that the reports count together."""
    return sum((report.bags_used or NOTHING for report in job.reports.all()), NOTHING)


def _phases(job: FenceJob, basis: CostBasis) -> tuple[PhaseFacts, ...]:
    phases, work, done = list(job.phases.all()), _work(job), posts_done(job)
    units = Units(name="posts set", planned=basis.posts, done=done.with_hours)
    if not phases:
        return (
            PhaseFacts(
                key=JobPhase.Kind.EXTRA,
                name=JobPhase.Kind.EXTRA.label,
                sold_hours=NOTHING,
                sold_cost=NOTHING,
                worked_min=work.minutes.get(NO_PHASE, 0),
                worked_cost=work.cost.get(NO_PHASE, NOTHING),
            ),
        )
    return tuple(
        PhaseFacts(
            key=phase.kind,
            name=phase.get_kind_display(),
            sold_hours=phase.labor_hours,
            sold_cost=phase.labour_cost,
            worked_min=work.minutes.get(phase.pk, 0),
            worked_cost=work.cost.get(phase.pk, NOTHING),
            is_finished=phase.finished_on is not None,
            units=units if phase.kind in PHASES_BY_POST and basis.posts else None,
        )
        for phase in phases
    )


def _work(job: FenceJob) -> _Work:
    """Return what was worked by phase; hours without a phase are spread over their day's plan."""
    work = _Work(minutes={}, cost={})
    for report in job.reports.all():
        for row in report.hours.all():
            minutes = max(0, row.worked_min)
            cost = _cost(row, minutes)
            weights = {row.phase_id: Decimal(1)} if row.phase_id else _plan_of(job, report)
            shares = zip(
                weights,
                spread_minutes(minutes, list(weights.values())),
                share_out(cost, list(weights.values())),
                strict=True,
            )
            for phase, part, part_cost in shares:
                work.add(phase, part, part_cost)
    return work


def _cost(row: HoursWorked, minutes: int) -> Decimal:
    return to_cents(minutes * row.hourly_cost / MINUTES_IN_HOUR)


def _plan_of(job: FenceJob, report: DayReport) -> Mapping[int, Decimal]:
    """Return what a crew's day was planned for, by phase.

    Without a plan it is the phases that were not finished before that day, by their hours.
    """
    planned: dict[int, Decimal] = {}
    for block in job.crew_days.all():
        if (block.crew_id, block.date) == (report.crew_id, report.date):
            planned[block.phase_id] = planned.get(block.phase_id, NOTHING) + block.hours
    if planned:
        return planned
    phases = list(job.phases.all())
    unfinished = [
        phase for phase in phases if phase.finished_on is None or phase.finished_on >= report.date
    ]
    left = {phase.pk: phase.labor_hours for phase in unfinished or phases}
    return left or {NO_PHASE: Decimal(1)}


def _kinds(job: FenceJob, basis: CostBasis, labour: Decimal) -> tuple[KindFacts, ...]:
    """Return the kinds beside labour; what is in none of the estimate's kinds is other cost."""
    sold = dict(basis.cost_by_kind)
    sold[JobCost.Kind.OTHER] = job.direct_cost - labour - sum(sold.values(), NOTHING)
    receipts: dict[str, list[Decimal]] = {}
    for cost in job.costs.all():
        if cost.counts:
            receipts.setdefault(cost.kind, []).append(cost.amount)
    kinds = [
        KindFacts(
            key=kind.value,
            name=str(kind.label),
            sold=sold.get(kind, NOTHING),
            receipts=tuple(receipts.get(kind, ())),
        )
        for kind in JobCost.Kind
    ]
    return tuple(
        kind for kind in kinds if kind.key == JobCost.Kind.MATERIAL or kind.sold or kind.receipts
    )


def _bags(job: FenceJob, basis: CostBasis) -> BagFacts:
    done = posts_done(job).with_bags
    is_set = any(
        phase.kind == JobPhase.Kind.SET and phase.finished_on for phase in job.phases.all()
    )
    is_over = is_set or job.state == FenceJob.State.FINISHED
    return BagFacts(
        planned=basis.bags,
        used=bags_used(job),
        done=done,
        left=0 if is_over else max(0, basis.posts - done),
        cost_of_one=basis.bag_cost,
    )


def sign_facts(job: FenceJob, basis: CostBasis, margin: Margin, *, today: dt.date) -> SignFacts:
    """Return what the signs of a job going bad are read from."""
    done, used = posts_done(job), bags_used(job)
    is_to_do = job.state == FenceJob.State.TO_DO
    noted = sum(1 for report in job.reports.all() if report.extra_work.strip())
    has_changes = bool(basis.changes.count or basis.drafts)
    return SignFacts(
        today=today,
        posts=basis.posts,
        first_day=_first_day(job, today) if is_to_do else None,
        concrete=Concrete(planned=basis.bags, used=used, posts_done=done.with_bags),
        digging=_digging(job, margin, posts_left=max(0, basis.posts - done.all)),
        trips_planned=_days_planned(basis, margin),
        trips_made=len({report.date for report in job.reports.all()}),
        drafts=basis.drafts,
        extras_noted=0 if has_changes else noted,
        received=basis.received,
        committed=_committed(job, margin),
        finished_on=timezone.localdate(job.finished_at) if job.finished_at else None,
        invoiced_on=basis.invoiced_on,
        owed=basis.owed,
    )


def _first_day(job: FenceJob, today: dt.date) -> FirstDay | None:
    """Return the first day posts were to be set, once it is over and while some are to be set."""
    setting = {
        phase.pk
        for phase in job.phases.all()
        if phase.kind == JobPhase.Kind.SET and phase.finished_on is None
    }
    blocks: list[CrewDay] = [each for each in job.crew_days.all() if each.phase_id in setting]
    if not blocks:
        return None
    day = min(block.date for block in blocks)
    if day >= today:
        return None
    first = sum((block.hours for block in blocks if block.date == day), NOTHING)
    return FirstDay(
        day=day,
        planned_part=first / sum((block.hours for block in blocks), NOTHING),
        posts_set=sum(
            1
            for record in job.post_records.all()
            if record.set_at is not None and timezone.localdate(record.set_at) <= day
        ),
    )


def _digging(job: FenceJob, margin: Margin, *, posts_left: int) -> Digging | None:
    going_on = any(
        phase.kind == JobPhase.Kind.DIG and phase.finished_on is None for phase in job.phases.all()
    )
    if not going_on or job.state != FenceJob.State.TO_DO:
        return None
    row = next(each for each in margin.phases if each.key == JobPhase.Kind.DIG)
    return Digging(
        planned_hours=row.hours.estimated, worked_hours=row.hours.actual, posts_left=posts_left
    )


def _days_planned(basis: CostBasis, margin: Margin) -> int:
    """Return the most days out that the estimate's hours and visits can take."""
    if margin.crew_days is None or not basis.trips:
        return 0
    return math.ceil(margin.crew_days.estimated) + basis.trips - 1


def _committed(job: FenceJob, margin: Margin) -> Decimal:
    """Return the material bought by the receipts, or all of it once it is ordered."""
    material = next(each for each in margin.kinds if each.key == JobCost.Kind.MATERIAL).cost
    is_ordered = any(
        phase.material_promised_on or phase.material_received_on for phase in job.phases.all()
    )
    return max(material.actual, material.estimated if is_ordered else NOTHING)
