"""Moving what lies in the yard: every change is a move that is kept, and none goes below zero.

Each move carries its worth. What goes out goes at the average of what lies there, the last of it
with every cent that is left, so that the moves of an item always add up to what lies there.
"""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from django.db import transaction
from django.db.models import F
from django.utils import timezone

from firm.errors import Refusal
from firm.measure.said import Said
from firm.models import User
from firm.selectors.goods import told
from firm.services.saving import add_row
from scheduling.models import FenceJob, Receipt, StockMove, YardStock
from scheduling.selectors.material import NOTHING_OUT, outs_of
from scheduling.selectors.yard_worth import part_of, worth_at_job, worth_of_found
from scheduling.services.costs import write_down_yard_goods
from scheduling.services.material_dates import derive_dates

Kind = StockMove.Kind


@dataclass(frozen=True, kw_only=True, slots=True)
class StockItem:
    """An item as the yard knows it."""

    item: str
    name: str
    unit: str


@dataclass(frozen=True, kw_only=True, slots=True)
class _Move:
    kind: str
    change: int
    moved_on: dt.date
    job: FenceJob | None = None
    receipt: Receipt | None = None
    reason: str = ""
    # None for what goes out or is found: at what lies there, see `_worth`.
    worth: Decimal | None = None


@transaction.atomic
def load_items(
    *,
    job: FenceJob,
    counts: Mapping[StockItem, int],
    seen: Mapping[str, int] | None = None,
    moved_on: dt.date,
    actor: User | None,
    now: dt.datetime,
) -> list[StockMove]:
    """Take what was loaded for a job from the yard's stock.

    `seen` is by item what the person's page showed as loaded already.

    Raises:
        Refusal: a count is below 0, or more than lies there, or someone loaded it meanwhile;
            `field` is the item.
    """
    _refuse_closed(job)
    out = outs_of([job.pk])
    moves = []
    for item, count in counts.items():
        _refuse_below_zero(count, field=item.item)
        on_truck = out.get((job.pk, item.item), NOTHING_OUT).net_loaded
        if count and seen is not None and seen.get(item.item, 0) != on_truck:
            words = Said(
                "Someone loaded it meanwhile: {number} are on the truck.",
                number=told(on_truck, item.unit),
            )
            raise Refusal(words, field=item.item)
        if count:
            move = _Move(kind=Kind.LOADED, change=-count, moved_on=moved_on, job=job)
            made = _move(item, move, field=item.item, actor=actor, now=now)
            write_down_yard_goods(move=made, actor=actor, now=now)
            moves.append(made)
    derive_dates(actor=actor, now=now)
    return moves


@transaction.atomic
def return_leftovers(
    *,
    job: FenceJob,
    counts: Mapping[StockItem, int],
    limits: Mapping[str, int],
    moved_on: dt.date,
    actor: User | None,
    now: dt.datetime,
) -> list[StockMove]:
    """Bring back to the yard what a job did not use, by count, at the price it went out for.

    `limits` are what may still come back of items without a load on record: their take-off.

    Raises:
        Refusal: a count is below 0, or more comes back than went out; `field` is the item.
    """
    # Held until the commit: two phones together must not bring back twice what went out.
    FenceJob.objects.select_for_update().get(pk=job.pk)
    out = outs_of([job.pk])
    moves = []
    for item, count in counts.items():
        _refuse_below_zero(count, field=item.item)
        went = out.get((job.pk, item.item), NOTHING_OUT)
        most = limits.get(item.item, 0)
        if went.loaded or went.delivered:
            most = went.can_return
        if count > most:
            words = Said(
                "Only {most} of it went out to {job} and did not come back.",
                most=told(most, item.unit),
                job=job.said,
            )
            raise Refusal(words, field=item.item)
        if count:
            worth = worth_at_job(job, item.item, count)
            move = _Move(kind=Kind.RETURNED, change=count, moved_on=moved_on, job=job, worth=worth)
            made = _move(item, move, field=item.item, actor=actor, now=now)
            write_down_yard_goods(move=made, actor=actor, now=now)
            moves.append(made)
    derive_dates(actor=actor, now=now)
    return moves


@transaction.atomic
def correct_stock(
    *,
    item: StockItem,
    counted: int,
    seen: int | None,
    reason: str,
    actor: User | None,
    now: dt.datetime,
) -> StockMove | None:
    """Write down what a person counted in the yard, and why it differs.

    `seen` is the count the person's page showed. None where nothing differs.

    Raises:
        Refusal: the count is below 0, no reason is given, or someone moved the item meanwhile.
    """
    _refuse_below_zero(counted, field="counted")
    if not reason.strip():
        raise Refusal("Write down why: somebody will ask.", field="reason")
    row = _locked(item)
    if seen is not None and row.count != seen:
        raise Refusal(
            f"It says {told(row.count, item.unit)} by now, not {told(seen, item.unit)}: someone "
            "moved it meanwhile. Count again.",
            field="counted",
        )
    if counted == row.count:
        return None
    move = _Move(
        kind=Kind.CORRECTED,
        change=counted - row.count,
        moved_on=timezone.localdate(now),
        reason=reason.strip(),
    )
    made = _move(item, move, field="counted", actor=actor, now=now)
    derive_dates(actor=actor, now=now)
    return made


def put_in_yard(
    *, item: StockItem, receipt: Receipt, worth: Decimal, actor: User | None, now: dt.datetime
) -> StockMove:
    """Put what came into the yard; the caller holds the transaction and derives the dates."""
    move = _Move(
        kind=Kind.RECEIVED,
        change=receipt.count,
        moved_on=receipt.received_on,
        receipt=receipt,
        worth=worth,
    )
    return _move(item, move, field="", actor=actor, now=now)


def take_from_yard(
    *, item: StockItem, receipt: Receipt, worth: Decimal, actor: User | None, now: dt.datetime
) -> StockMove:
    """Take what never came out of the yard again, as a receipt that takes one back says.

    The caller holds the transaction and derives the dates.

    Raises:
        Refusal: less of it lies in the yard; the field is `count`.
    """
    move = _Move(
        kind=Kind.TAKEN_BACK,
        change=receipt.count,
        moved_on=receipt.received_on,
        receipt=receipt,
        reason=receipt.note,
        worth=worth,
    )
    return _move(item, move, field="count", actor=actor, now=now)


def _move(
    item: StockItem, move: _Move, *, field: str, actor: User | None, now: dt.datetime
) -> StockMove:
    """Change the count and keep the move beside it, or refuse with what lies there."""
    row = _locked(item)
    if row.count + move.change < 0:
        here = told(row.count, item.unit)
        raise Refusal(Said("Only {count} of it lie in the yard.", count=here), field=field)
    worth = _worth(row, move)
    YardStock.objects.filter(pk=row.pk).update(
        count=F("count") + move.change,
        # The row is locked: SQLite adds decimals up as floats, Python to the cent.
        worth=row.worth + worth,
    )
    return add_row(
        StockMove(
            stock=row,
            kind=move.kind,
            change=move.change,
            worth=worth,
            job=move.job,
            receipt=move.receipt,
            moved_on=move.moved_on,
            reason=move.reason,
            moved_by=actor,
            written_at=now,
        ),
        actor=actor,
        action="moved stock",
        at=now,
    )


def _worth(row: YardStock, move: _Move) -> Decimal:
    """Return what a move of a row brings in or takes out.

    Whatever empties the row takes all its worth. A receipt taken back takes what it brought; where
    less lies there, since some was loaded at the average meanwhile, it goes at the average too.
    """
    if move.change > 0:
        return worth_of_found(row, move.change) if move.worth is None else move.worth
    if move.worth is None or row.count + move.change == 0 or -move.worth > row.worth:
        return -part_of(row.worth, row.count, -move.change)
    return move.worth


def _locked(item: StockItem) -> YardStock:
    YardStock.objects.get_or_create(item=item.item, defaults={"name": item.name, "unit": item.unit})
    # Of what is used up the price book may have another purchase unit by now.
    YardStock.objects.filter(item=item.item, count=0).exclude(unit=item.unit).update(unit=item.unit)
    return YardStock.objects.select_for_update().get(item=item.item)


def _refuse_below_zero(count: int, *, field: str) -> None:
    if count < 0:
        raise Refusal(Said("A count is 0 or more."), field=field)


def _refuse_closed(job: FenceJob) -> None:
    kept = FenceJob.objects.select_for_update().get(pk=job.pk)
    if kept.state != FenceJob.State.TO_DO:
        raise Refusal(
            Said(
                "{job} is {state}: nothing is loaded for it.",
                job=kept.said,
                state=Said(kept.get_state_display().lower()),
            )
        )
