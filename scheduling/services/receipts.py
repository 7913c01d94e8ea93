"""Writing down what came of a purchase order."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass

from django.db import transaction
from django.db.models import Sum
from django.utils import timezone

from firm.errors import Refusal
from firm.models import User
from firm.services.saving import add_row, locked
from scheduling.models import OrderLine, PurchaseOrder, Receipt
from scheduling.services.material_dates import derive_dates
from scheduling.services.stock import StockItem, put_in_yard


@dataclass(frozen=True, kw_only=True, slots=True)
class Came:
    """What came of one line: good ones that stay, and damaged ones that go back."""

    count: int = 0
    damaged: int = 0


@transaction.atomic
def receive(
    *,
    order: PurchaseOrder,
    came: Mapping[int, Came],
    received_on: dt.date,
    note: str = "",
    more_is_right: bool = False,
    actor: User | None,
    now: dt.datetime,
) -> list[Receipt]:
    """Write down what came, by line; good ones go into the yard unless they came to a site.

    Raises:
        Refusal: the order is not sent, the day is still to come or before it was sent, a count
            is below 0, nothing came at all, or more than was ordered and nobody says that this
            is right. The field is `count-` or `damaged-` and the line's key.
    """
    kept = locked(order)
    if kept.state != PurchaseOrder.State.SENT or kept.sent_on is None:
        raise Refusal(f"{kept} is not on its way: nothing can come of it.")
    _refuse_day(received_on, kept.sent_on, now=now)
    if not any(one.count or one.damaged for one in came.values()):
        raise Refusal("Type how many came.")
    found = []
    for line in kept.lines.annotate(came=Sum("receipts__count")):
        one = came.get(line.pk, Came())
        _refuse_counts(line, one, before=line.came or 0, more_is_right=more_is_right)
        if one.count or one.damaged:
            receipt = Receipt(
                line=line,
                received_on=received_on,
                count=one.count,
                damaged=one.damaged,
                note=note.strip(),
                received_by=actor,
                written_at=now,
            )
            add_row(receipt, actor=actor, action="received material", at=now)
            if one.count and kept.job_id is None:
                item = StockItem(item=line.item, name=line.name, unit=line.unit)
                put_in_yard(item=item, receipt=receipt, actor=actor, now=now)
            found.append(receipt)
    derive_dates(actor=actor, now=now, on=received_on)
    return found


def _refuse_day(day: dt.date, sent_on: dt.date, *, now: dt.datetime) -> None:
    if day > timezone.localdate(now):
        raise Refusal("That day is still to come.", field="received_on")
    if day < sent_on:
        raise Refusal("The order was not sent yet on that day.", field="received_on")


def _refuse_counts(line: OrderLine, one: Came, *, before: int, more_is_right: bool) -> None:
    for name, count in (("count", one.count), ("damaged", one.damaged)):
        if count < 0:
            raise Refusal("A count is 0 or more.", field=f"{name}-{line.pk}")
    if one.count and before + one.count > line.count and not more_is_right:
        earlier = f", {before} came before" if before else ""
        raise Refusal(
            f"Ordered {line.count}{earlier}. Did {one.count} really come? Tick below that more "
            "came than was ordered.",
            field=f"count-{line.pk}",
        )
