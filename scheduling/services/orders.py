"""Drafting purchase orders, sending them, and what suppliers promise."""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db import IntegrityError, transaction
from django.db.models import F
from django.utils import timezone

from firm.errors import Refusal
from firm.measure.sold import BY_THE_METRE
from firm.models import FirmProfile, User
from firm.selectors.goods import told
from firm.services import audit, jobs
from firm.services.saving import add_row, change_row, locked
from scheduling.models import FenceJob, LinePromise, OrderLine, PurchaseOrder
from scheduling.services.material_dates import derive_dates
from scheduling.services.order_content import build_content

PRINT_JOB = "order.print"
State = PurchaseOrder.State
NO_DRAFT = "This order was sent already: it stays as it is."
MOST_OF_ONE = 100_000


@dataclass(frozen=True, kw_only=True, slots=True)
class DraftLine:
    """One item to be ordered, at what the firm expects to pay for one."""

    item: str
    name: str
    unit: str
    count: int
    unit_cost: Decimal
    part_number: str = ""


@transaction.atomic
def draft_order(
    *,
    supplier_id: int,
    lines: Sequence[DraftLine],
    job: FenceJob | None,
    needed_by: dt.date | None,
    actor: User | None,
    now: dt.datetime,
) -> PurchaseOrder:
    """Draft an order to one supplier, to the yard or to a job's site.

    Raises:
        Refusal: nothing is to be ordered, or a draft to this supplier stands already.
    """
    if not lines:
        raise Refusal("Nothing of this supplier is to be bought in these days.")
    if job is not None and job.site_id is None:
        raise Refusal(f"{job} has no site to deliver to.", field="job")
    order = PurchaseOrder(
        supplier_id=supplier_id, job=job, needed_by=needed_by, created_by=actor, created_at=now
    )
    try:
        with transaction.atomic():
            add_row(order, actor=actor, action="drafted a purchase order", at=now)
    except IntegrityError as error:
        raise Refusal(
            "A draft to this supplier stands already: send it or throw it away first."
        ) from error
    for position, line in enumerate(lines):
        _add_line(order, line, position)
    return order


@transaction.atomic
def change_draft(
    *,
    order: PurchaseOrder,
    values: Mapping[str, Any],
    counts: Mapping[int, int],
    unit_costs: Mapping[int, Decimal],
    actor: User | None,
    now: dt.datetime,
) -> PurchaseOrder:
    """Change a draft's day and note, and its counts and costs by line; a line of 0 goes.

    Raises:
        Refusal: it was sent, it is needed before today, or a count is below 0 or too large; the
            field is `count-` and the line's key.
    """
    draft = open_draft(order)
    needed_by = values.get("needed_by")
    if needed_by and needed_by < timezone.localdate(now):
        raise Refusal("That day has passed: choose another.", field="needed_by")
    for line in draft.lines.all():
        count = counts.get(line.pk, line.count)
        _refuse_count(count, line.unit, field=f"count-{line.pk}")
        if count == 0:
            before = audit.snapshot(line)
            audit.record(
                actor=actor,
                action="took an item off a draft",
                target=draft,
                before=before,
                at=now,
            )
            line.delete()
            continue
        changes = {"count": count, "unit_cost": unit_costs.get(line.pk, line.unit_cost)}
        change_row(line, changes=changes, actor=actor, action="changed an item of a draft", at=now)
    return change_row(
        draft, changes=values, actor=actor, action="changed a draft of an order", at=now
    )


@transaction.atomic
def add_to_draft(
    *, order: PurchaseOrder, line: DraftLine, actor: User | None, now: dt.datetime
) -> OrderLine:
    """Put one more item on a draft.

    Raises:
        Refusal: it was sent, the count is no count, or the item is on it already.
    """
    draft = open_draft(order)
    if line.count < 1:
        raise Refusal("Order one or more.", field="count")
    _refuse_count(line.count, line.unit, field="count")
    if draft.lines.filter(item=line.item).exists():
        raise Refusal("It is on this order already: change its count.", field="item")
    added = _add_line(draft, line, draft.lines.count())
    audit.record(
        actor=actor,
        action="put an item on a draft",
        target=draft,
        after=audit.snapshot(added),
        at=now,
    )
    return added


@transaction.atomic
def drop_draft(*, order: PurchaseOrder, actor: User | None, now: dt.datetime) -> None:
    """Throw a draft away; it had no number, so none is missing.

    Raises:
        Refusal: it was sent already.
    """
    draft = open_draft(order)
    audit.record(
        actor=actor,
        action="dropped a draft of an order",
        target=draft,
        before=audit.snapshot(draft),
        at=now,
    )
    draft.delete()


@transaction.atomic
def send_order(
    *, order: PurchaseOrder, to: str, actor: User | None, now: dt.datetime
) -> PurchaseOrder:
    """Number a draft and freeze it; a job prints it and, with an address, mails it.

    Of two who send it at once one does: the other is told that it was sent.

    Raises:
        Refusal: it was sent already, or nothing stands on it.
    """
    draft = open_draft(order)
    if not draft.lines.exists():
        raise Refusal("Nothing stands on this order.")
    number, today = _claim_number(), timezone.localdate(now)
    content = build_content(draft, number=number, sent_on=today)
    sent = PurchaseOrder.objects.filter(pk=draft.pk, state=State.DRAFT).update(
        state=State.SENT,
        number=number,
        sent_on=today,
        sent_at=now,
        sent_by=actor,
        sent_to=to,
        content=content,
    )
    if not sent:
        raise Refusal(NO_DRAFT)
    row = PurchaseOrder.objects.select_related("supplier", "job").get(pk=draft.pk)
    audit.record(
        actor=actor,
        action="sent a purchase order",
        target=row,
        after={"number": number, "to": to, "supplier": row.supplier.name},
        at=now,
    )
    print_order(order=row, actor=actor, now=now)
    derive_dates(actor=actor, now=now)
    return row


@transaction.atomic
def print_order(*, order: PurchaseOrder, actor: User | None, now: dt.datetime) -> None:
    """Queue the job that prints and mails a sent order; also when it failed before."""
    arguments = {"order_id": order.pk, "actor_id": actor.pk if actor else None}
    jobs.enqueue(kind=PRINT_JOB, arguments=arguments, now=now)


@transaction.atomic
def cancel_order(
    *, order: PurchaseOrder, reason: str, actor: User | None, now: dt.datetime
) -> PurchaseOrder:
    """Cancel what has not come of a sent order; it keeps its number and what came of it.

    Raises:
        Refusal: no reason is given, or it is not a sent one.
    """
    if not reason.strip():
        raise Refusal("Write down why: somebody will ask.", field="reason")
    changed = PurchaseOrder.objects.filter(pk=order.pk, state=State.SENT).update(
        state=State.CANCELLED, cancelled_at=now, cancelled_reason=reason.strip()
    )
    if not changed:
        raise Refusal("Only a sent order can be cancelled.", field="reason")
    row = PurchaseOrder.objects.get(pk=order.pk)
    audit.record(
        actor=actor,
        action="cancelled a purchase order",
        target=row,
        before={"state": State.SENT},
        after={"state": row.state, "reason": row.cancelled_reason},
        at=now,
    )
    derive_dates(actor=actor, now=now)
    return row


@transaction.atomic
def write_down_promises(
    *,
    order: PurchaseOrder,
    days: Mapping[int, dt.date | None],
    actor: User | None,
    now: dt.datetime,
) -> int:
    """Write down for which day each line is promised, as the supplier says; count the changed.

    Raises:
        Refusal: the order is not sent, or a day is before it was; the field is `promise-` and
            the line's key.
    """
    kept = locked(order)
    if kept.state != State.SENT or kept.sent_on is None:
        raise Refusal("Only a sent order has promised days.")
    changed = 0
    for line in kept.lines.select_related("promise"):
        day = days.get(line.pk)
        standing = getattr(line, "promise", None)
        before = standing.promised_on if standing else None
        if line.pk not in days or day == before:
            continue
        if day is not None and day < kept.sent_on:
            raise Refusal(
                f"The order went out on {kept.sent_on:%b} {kept.sent_on.day}: nothing is promised "
                "for a day before.",
                field=f"promise-{line.pk}",
            )
        _keep_promise(line, day, now)
        changed += 1
        audit.record(
            actor=actor,
            action="wrote a promised day down",
            target=line,
            before={"promised_on": before},
            after={"promised_on": day},
            at=now,
        )
    derive_dates(actor=actor, now=now)
    return changed


def open_draft(order: PurchaseOrder) -> PurchaseOrder:
    """Return the draft as it now stands, held against others' changes.

    Raises:
        Refusal: it was sent, or dropped.
    """
    row = PurchaseOrder.objects.select_for_update().filter(pk=order.pk).first()
    if row is None:
        raise Refusal("This draft was thrown away.")
    if row.state != State.DRAFT:
        raise Refusal(NO_DRAFT)
    return row


def _keep_promise(line: OrderLine, day: dt.date | None, now: dt.datetime) -> None:
    if day is None:
        LinePromise.objects.filter(line=line).delete()
        return
    LinePromise.objects.update_or_create(line=line, defaults={"promised_on": day, "heard_at": now})


def _add_line(order: PurchaseOrder, line: DraftLine, position: int) -> OrderLine:
    return OrderLine.objects.create(
        order=order,
        position=position,
        item=line.item,
        name=line.name,
        unit=line.unit,
        part_number=line.part_number,
        count=line.count,
        unit_cost=line.unit_cost,
    )


def most_of_one(unit: str) -> int:
    """Return the largest count that can be right: of centimetres, that of as many metres."""
    return MOST_OF_ONE * (100 if unit == BY_THE_METRE else 1)


def _refuse_count(count: int, unit: str, *, field: str) -> None:
    if count < 0:
        raise Refusal("A count is 0 or more; 0 takes the item off.", field=field)
    if count > most_of_one(unit):
        raise Refusal(f"{told(count, unit)} of one item can't be right.", field=field)


def _claim_number() -> int:
    """Return the next order number; two at once never get the same one."""
    profile = FirmProfile.objects.select_for_update().first()
    if profile is None:
        raise Refusal("Set the firm up first: orders are numbered from its settings.")
    FirmProfile.objects.update(next_order_number=F("next_order_number") + 1)
    return profile.next_order_number
