"""Questions about the yard's stock and about what jobs can bring back."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import QuerySet, Sum

from estimating.selectors.material import material_of
from firm.selectors.goods import told
from scheduling.models import FenceJob, OrderLine, PurchaseOrder, StockMove, YardStock
from scheduling.selectors.material import NOTHING_OUT, is_by_hand, material_standing, outs_of

MOVES_SHOWN = 50


@dataclass(frozen=True, kw_only=True, slots=True)
class Leftover:
    """An item that can come back from a job, and how many at most."""

    item: str
    name: str
    unit: str
    most: int


def yard_rows() -> QuerySet[YardStock]:
    """Return all items that ever lay in the yard."""
    return YardStock.objects.order_by("name", "item")


def latest_moves() -> QuerySet[StockMove]:
    """Return the latest moves with what they name."""
    rows = StockMove.objects.select_related(
        "stock", "job", "receipt__line__order__supplier", "moved_by"
    )
    return rows.order_by("-written_at", "-pk")[:MOVES_SHOWN]


def where_counted(item: str) -> str:
    """Return where purchase units of an item are counted now, for a sentence, or nothing."""
    found = [
        f"{told(row.count, row.unit)} of it lie in the yard"
        for row in YardStock.objects.filter(item=item, count__gt=0)
    ]
    lines = OrderLine.objects.filter(item=item).select_related("order__supplier")
    lines = lines.annotate(came=Sum("receipts__count"))
    for line in lines.exclude(order__state=PurchaseOrder.State.CANCELLED).order_by(
        "order__pk", "pk"
    ):
        left = line.count - (line.came or 0)
        if left > 0:
            # A draft has no number; each supplier has one at most.
            name = str(line.order) if line.order.number else f"the draft to {line.order.supplier}"
            found.append(f"{told(left, line.unit)} stand on {name}")
    needed_by = {row.job.pk for row in material_standing().rows if row.item.item == item}
    if needed_by:
        jobs = "1 job is" if len(needed_by) == 1 else f"{len(needed_by)} jobs are"
        found.append(f"{jobs} to be built with it")
    return ", and ".join([", ".join(found[:-1]), found[-1]] if len(found) > 1 else found)


def leftovers_of(job: FenceJob) -> Sequence[Leftover]:
    """Return what a job can bring back: what went out to it and did not come back.

    Where the yard's book does not count a phase's material, its take-off is the most.
    """
    out = outs_of([job.pk])
    counted = {
        phase.kind
        for phase in job.phases.select_related("order_dates")
        if getattr(phase, "order_dates", None) is not None and not is_by_hand(phase)
    }
    found = []
    for item in material_of([job.proposal_id]).get(job.proposal_id, ()):
        went = out.get((job.pk, item.item), NOTHING_OUT)
        most = went.can_return
        if not went.loaded and not went.delivered and item.phase not in counted:
            most = max(0, item.count - went.returned)
        if most:
            found.append(Leftover(item=item.item, name=item.name, unit=item.unit, most=most))
    return found
