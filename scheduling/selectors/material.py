"""What every job to be done still needs, and what covers it: read once for all pages of buying."""

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Max, Min, QuerySet, Sum

from estimating.selectors.material import SoldItem, material_of
from scheduling.engine.buying import Covered, Incoming, Need, cover
from scheduling.models import (
    CrewDay,
    FenceJob,
    JobPhase,
    MaterialDates,
    OrderLine,
    PurchaseOrder,
    Receipt,
    StockMove,
    YardStock,
)

JobItem = tuple[int, str]
# The first and the last day by job and kind of phase.
Placed = Mapping[JobItem, "PhaseDays"]


@dataclass(frozen=True, kw_only=True, slots=True)
class Out:
    """What of an item is at a job: loaded in the yard, delivered to the site, brought back."""

    loaded: int = 0
    delivered: int = 0
    returned: int = 0

    @property
    def net_loaded(self) -> int:
        """What was loaded and not brought back."""
        return max(0, self.loaded - self.returned)

    @property
    def at_site(self) -> int:
        """What was delivered to the site and not brought back."""
        return max(0, self.delivered - max(0, self.returned - self.loaded))

    @property
    def can_return(self) -> int:
        """What can still come back."""
        return max(0, self.loaded + self.delivered - self.returned)


NOTHING_OUT = Out()


@dataclass(frozen=True, kw_only=True, slots=True)
class PhaseDays:
    """The first and the last crew day of a phase."""

    first: dt.date
    last: dt.date


@dataclass(frozen=True, kw_only=True, slots=True)
class NeedRow:
    """What a job's phase needs of an item, and what covers what was not loaded yet."""

    job: FenceJob
    phase: JobPhase | None
    days: PhaseDays | None
    item: SoldItem
    out: Out
    covered: Covered

    @property
    def cost_to_buy(self) -> Decimal:
        """What is still to be bought comes to, at the estimate's own cost."""
        return self.item.unit_cost * self.covered.to_buy

    def is_in(self, first: dt.date, last: dt.date) -> bool:
        """Say whether its phase is worked on in a range of days."""
        return bool(self.days and self.days.first <= last and self.days.last >= first)


@dataclass(frozen=True, kw_only=True, slots=True)
class ByHand:
    """A phase whose material a person wrote down: neither counted nor bought here."""

    job: FenceJob
    phase: JobPhase
    days: PhaseDays | None
    items: tuple[SoldItem, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Material:
    """All needs of the jobs to be done, in the order they are built."""

    rows: tuple[NeedRow, ...]
    by_hand: tuple[ByHand, ...]


def material_standing(placed: Placed | None = None) -> Material:
    """Return what the jobs to be done still need; as many queries for one job as for all.

    It is told of the calendar as it stands, or as it would with these days of each job's phases.
    """
    jobs = list(_jobs())
    days = _days_of(jobs) if placed is None else _days_in(jobs, placed)
    out = outs_of(job.pk for job in jobs)
    sold = material_of([job.proposal_id for job in jobs])
    needs: dict[JobItem, tuple[FenceJob, JobPhase | None, SoldItem, Need]] = {}
    by_hand: dict[int, list[SoldItem]] = {}
    phase_rows: dict[int, tuple[FenceJob, JobPhase]] = {}
    for job in jobs:
        phases = {phase.kind: phase for phase in job.phases.all()}
        for item in sold.get(job.proposal_id, ()):
            phase = _phase_for(item, phases)
            if phase is not None and phase.finished_on:
                continue
            if phase is not None and is_by_hand(phase):
                by_hand.setdefault(phase.pk, []).append(item)
                phase_rows[phase.pk] = job, phase
                continue
            need = _need(job, phase, item, out, days)
            needs[job.pk, item.item] = job, phase, item, need
    covered = cover(
        (need for *_, need in needs.values()),
        yard=yard_counts(),
        at_sites={key: one.at_site for key, one in out.items()},
        incoming=incoming(),
    )
    return Material(
        rows=tuple(_row(each, needs, out, days) for each in covered),
        by_hand=tuple(
            ByHand(job=job, phase=phase, days=days.get(key), items=tuple(by_hand[key]))
            for key, (job, phase) in phase_rows.items()
        ),
    )


def is_anything_bought() -> bool:
    """Say whether the firm buys here at all: something lies in the yard or was ever ordered."""
    return (
        YardStock.objects.filter(count__gt=0).exists()
        or PurchaseOrder.objects.filter(state=PurchaseOrder.State.SENT).exists()
        or MaterialDates.objects.exists()
    )


def is_by_hand(phase: JobPhase) -> bool:
    """Say whether a person, and not the orders, said when a phase's material is there."""
    said = getattr(phase, "order_dates", None)
    if phase.material_received_on:
        return said is None or said.received_on != phase.material_received_on
    if phase.material_promised_on:
        return said is None or said.promised_on != phase.material_promised_on
    return False


def outs_of(job_ids: Iterable[int]) -> dict[JobItem, Out]:
    """Return what is at jobs, by job and item; two queries."""
    keys = list(job_ids)
    sums: dict[JobItem, dict[str, int]] = {}
    moves = StockMove.objects.filter(job__in=keys).values_list("job", "stock__item", "kind")
    for job, item, kind, change in moves.annotate(sum=Sum("change")).order_by():
        sums.setdefault((job, item), {})[kind] = abs(change)
    came = Receipt.objects.filter(line__order__job__in=keys)
    for job, item, count in (
        came.values_list("line__order__job", "line__item").annotate(sum=Sum("count")).order_by()
    ):
        sums.setdefault((job, item), {})["delivered"] = count
    return {
        key: Out(
            loaded=one.get(StockMove.Kind.LOADED, 0),
            delivered=one.get("delivered", 0),
            returned=one.get(StockMove.Kind.RETURNED, 0),
        )
        for key, one in sums.items()
    }


def yard_counts() -> Mapping[str, int]:
    """Return what lies in the yard, by item."""
    return dict(YardStock.objects.filter(count__gt=0).values_list("item", "count"))


def incoming() -> Sequence[Incoming]:
    """Return what is still to come of sent orders; one query."""
    lines = OrderLine.objects.filter(order__state=PurchaseOrder.State.SENT)
    counted = lines.annotate(came=Sum("receipts__count")).values_list(
        "pk", "item", "count", "came", "promise__promised_on", "order__job"
    )
    return [
        Incoming(line=pk, item=item, count=count - (came or 0), promised_on=promised_on, job=job)
        for pk, item, count, came, promised_on, job in counted.order_by()
        if count > (came or 0)
    ]


def _jobs() -> QuerySet[FenceJob]:
    jobs = FenceJob.objects.filter(state=FenceJob.State.TO_DO).select_related("customer", "site")
    return jobs.prefetch_related("phases__order_dates").order_by("signed_at", "pk")


def _days_of(jobs: Iterable[FenceJob]) -> Mapping[int, PhaseDays]:
    rows = CrewDay.objects.filter(job__in=list(jobs)).order_by().values_list("phase")
    found = rows.annotate(first=Min("date"), last=Max("date"))
    return {phase: PhaseDays(first=first, last=last) for phase, first, last in found}


def _days_in(jobs: Iterable[FenceJob], placed: Placed) -> Mapping[int, PhaseDays]:
    phases = (phase for job in jobs for phase in job.phases.all())
    found = ((phase.pk, placed.get((phase.job_id, phase.kind))) for phase in phases)
    return {pk: days for pk, days in found if days is not None}


def _phase_for(item: SoldItem, phases: Mapping[str, JobPhase]) -> JobPhase | None:
    """Return the phase that builds with an item: its own, else one that needs material, else any.

    Goods that are sold without building have none.
    """
    own = phases.get(item.phase)
    with_material = (phase for phase in phases.values() if phase.needs_material)
    return own or next(with_material, None) or next(iter(phases.values()), None)


def _need(
    job: FenceJob,
    phase: JobPhase | None,
    item: SoldItem,
    out: Mapping[JobItem, Out],
    days: Mapping[int, PhaseDays],
) -> Need:
    worked = days.get(phase.pk) if phase else None
    loaded = out.get((job.pk, item.item), NOTHING_OUT).net_loaded
    return Need(
        job=job.pk,
        phase=phase.kind if phase else "",
        item=item.item,
        count=max(0, item.count - loaded),
        day=worked.first if worked else None,
        number=job.number,
    )


def _row(
    covered: Covered,
    needs: Mapping[JobItem, tuple[FenceJob, JobPhase | None, SoldItem, Need]],
    out: Mapping[JobItem, Out],
    days: Mapping[int, PhaseDays],
) -> NeedRow:
    key = covered.need.job, covered.need.item
    job, phase, item, _ = needs[key]
    return NeedRow(
        job=job,
        phase=phase,
        days=days.get(phase.pk) if phase else None,
        item=item,
        out=out.get(key, NOTHING_OUT),
        covered=covered,
    )
