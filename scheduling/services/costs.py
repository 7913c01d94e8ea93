"""Writing down what a job cost beside its hours; a slip is corrected, and the record keeps it."""

import datetime as dt
from collections.abc import Collection, Mapping
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.utils import timezone

from firm.errors import Refusal
from firm.models import User
from firm.selectors.goods import told
from firm.services.saving import add_row, change_row, locked, refuse_repeated
from scheduling.models import FenceJob, JobCost, PurchaseOrder, StockMove

SAME = ("job", "kind", "description", "supplier", "amount", "spent_on")
REPEATED = (
    "This very receipt was written down a moment ago. If it is a second one, tell them apart by "
    "what was bought."
)
NO_AMOUNT = "Type what it cost; goods given back with a minus."


@transaction.atomic
def add_cost(
    *,
    job: FenceJob,
    values: Mapping[str, Any],
    covers: Collection[int] = (),
    actor: User,
    now: dt.datetime,
) -> JobCost:
    """Write down a receipt of a job; what came of orders that it `covers` counts no more itself.

    Raises:
        Refusal: it is of no amount, of a day to come, the same was written down a moment ago, or
            another invoice covers one of those meanwhile.
    """
    _check(values, now=now)
    row = JobCost(**values, job=locked(job), recorded_by=actor, recorded_at=now)
    refuse_repeated(row, same=SAME, written_at="recorded_at", words=REPEATED, now=now)
    added = add_row(row, actor=actor, action="wrote down a cost of a job", at=now)
    _cover(added, covers, actor=actor, now=now)
    return added


@transaction.atomic
def correct_cost(
    *,
    cost: JobCost,
    values: Mapping[str, Any],
    covers: Collection[int] = (),
    actor: User,
    now: dt.datetime,
) -> JobCost:
    """Correct a receipt that was written down wrongly, and which deliveries it covers.

    Raises:
        Refusal: it is of no amount, of a day to come, what a delivery wrote, or another invoice
            covers one of those meanwhile.
    """
    if cost.stock_move_id is not None:
        raise Refusal("The yard wrote this: bring leftovers back, or count the yard anew.")
    if cost.order_id is not None:
        raise Refusal("A delivery wrote this: take the receipt back on the order's page.")
    _check(values, now=now)
    row = change_row(cost, changes=values, actor=actor, action="corrected a cost of a job", at=now)
    _cover(row, covers, actor=actor, now=now)
    return row


def write_down_delivery(
    *,
    order: PurchaseOrder,
    amount: Decimal,
    words: str,
    on: dt.date,
    actor: User | None,
    now: dt.datetime,
) -> JobCost | None:
    """Write to a job's costs what came to its site, or is taken back; None for the yard's goods.

    The caller holds the transaction.
    """
    if order.job is None or not amount:
        return None
    row = JobCost(
        job=order.job,
        kind=JobCost.Kind.MATERIAL,
        description=words,
        supplier=order.supplier.name[:120],
        amount=amount,
        spent_on=on,
        order=order,
        recorded_by=actor,
        recorded_at=now,
    )
    return add_row(row, actor=actor, action="wrote down a delivery as a cost", at=now)


def write_down_yard_goods(*, move: StockMove, actor: User | None, now: dt.datetime) -> None:
    """Write to a job's costs what it took from the yard, or brought back, at the move's worth.

    The caller holds the transaction.
    """
    if move.job is None or not move.worth:
        return
    count = told(abs(move.change), move.stock.unit)
    verb = "from the yard" if move.change < 0 else "back to the yard"
    row = JobCost(
        job=move.job,
        kind=JobCost.Kind.MATERIAL,
        description=f"{count} {move.stock.name}, {verb}"[:200],
        amount=-move.worth,
        spent_on=move.moved_on,
        stock_move=move,
        recorded_by=actor,
        recorded_at=now,
    )
    add_row(row, actor=actor, action="wrote down the yard's goods as a cost", at=now)


def _cover(invoice: JobCost, covers: Collection[int], *, actor: User, now: dt.datetime) -> None:
    """Let an invoice cover these deliveries of its job, and no others."""
    wanted = set(covers)
    mine = JobCost.objects.filter(job=invoice.job_id, order__isnull=False)
    rows = {row.pk: row for row in mine.select_for_update()}
    if any(key not in rows or rows[key].invoice_id not in (None, invoice.pk) for key in wanted):
        raise Refusal("Another invoice covers one of these meanwhile.", field="covers")
    for key, row in rows.items():
        if (row.invoice_id == invoice.pk) == (key in wanted):
            continue
        changes = {"invoice": invoice if key in wanted else None}
        change_row(row, changes=changes, actor=actor, action="covered by an invoice", at=now)


def _check(values: Mapping[str, Any], *, now: dt.datetime) -> None:
    if values["amount"] == Decimal(0):
        raise Refusal(NO_AMOUNT, field="amount")
    if values["spent_on"] > timezone.localdate(now):
        raise Refusal("A receipt can't be of a day to come.", field="spent_on")
