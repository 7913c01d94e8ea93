"""Writing down what came of a purchase order."""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.db import transaction
from django.db.models import Max, Sum
from django.utils import timezone

from firm.errors import Refusal
from firm.measure.money import share_out, to_cents
from firm.models import User
from firm.selectors.goods import told
from firm.services.saving import add_row, locked
from scheduling.models import OrderLine, PurchaseOrder, Receipt
from scheduling.selectors.material import NOTHING_OUT, outs_of
from scheduling.selectors.yard_worth import part_of
from scheduling.services.costs import write_down_delivery
from scheduling.services.material_dates import derive_dates
from scheduling.services.stock import StockItem, put_in_yard, take_from_yard


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
    extra: Decimal = Decimal(0),
    more_is_right: bool = False,
    seen: int | None = None,
    actor: User | None,
    now: dt.datetime,
) -> list[Receipt]:
    """Write down what came, by line; good ones go into the yard unless they came to a site.

    `seen` is the newest receipt that whoever writes had before them, 0 for none: a page that was
    sent twice, or from two desks, would count a delivery twice. None asks nothing. `extra` is the
    delivery's freight and tax, shared out over the good ones by what they are worth, to the cent.

    Raises:
        Refusal: what came was written down or taken back after `seen`; the order is not sent, the
            day is still to come or before it was sent, a count is below 0, nothing came at all,
            or more than was ordered and nobody says that this is right. The field is `count-` or
            `damaged-` and the line's key.
    """
    kept = locked(order)
    if kept.state != PurchaseOrder.State.SENT or kept.sent_on is None:
        raise Refusal(f"{kept} is not on its way: nothing can come of it.")
    _refuse_day(received_on, kept.sent_on, now=now)
    if not any(one.count or one.damaged for one in came.values()):
        raise Refusal("Type how many came.")
    lines = list(kept.lines.annotate(came=Sum("receipts__count"), last=Max("receipts__pk")))
    if seen is not None and seen != max((line.last or 0 for line in lines), default=0):
        raise Refusal(
            "What came of this order was changed since you opened the page, by you or by somebody "
            "else. It is shown above now: write down only what is missing there."
        )
    for line in lines:
        one = came.get(line.pk, Came())
        _refuse_counts(line, one, before=line.came or 0, more_is_right=more_is_right)
    shares = _shares(extra, lines, came)
    worths = {
        line.pk: _worth(line, line.came or 0, came.get(line.pk, Came()).count) + shares[line.pk]
        for line in lines
    }
    cost = write_down_delivery(
        order=kept,
        amount=sum(worths.values(), Decimal(0)),
        words=f"{kept}, received",
        on=received_on,
        actor=actor,
        now=now,
    )
    found = []
    for line in lines:
        one = came.get(line.pk, Came())
        if one.count or one.damaged:
            receipt = Receipt(
                line=line,
                received_on=received_on,
                count=one.count,
                damaged=one.damaged,
                extra=shares[line.pk],
                note=note.strip(),
                cost=cost if one.count else None,
                received_by=actor,
                written_at=now,
            )
            add_row(receipt, actor=actor, action="received material", at=now)
            if one.count and kept.job_id is None:
                item = StockItem(item=line.item, name=line.name, unit=line.unit)
                worth = worths[line.pk]
                put_in_yard(item=item, receipt=receipt, worth=worth, actor=actor, now=now)
            found.append(receipt)
    derive_dates(actor=actor, now=now, on=received_on)
    return found


@transaction.atomic
def take_back(
    *, receipt: Receipt, came: Came, reason: str, actor: User | None, now: dt.datetime
) -> Receipt:
    """Take back what was written down as having come and did not; the receipt itself stays.

    The yard's stock, what is still to come, the phases' days and the job's cost follow.

    Raises:
        Refusal: no reason, nothing, or more than was received; it was taken back before, or is
            a taking back itself; or it left the yard or the site since. The field is `count`,
            `damaged` or `reason`.
    """
    order = locked(receipt.line.order)
    first = Receipt.objects.select_related("line").get(pk=receipt.pk)
    line = order.lines.annotate(came=Sum("receipts__count")).get(pk=first.line_id)
    _refuse_taking_back(first, came, reason)
    # What did not come bore no freight either.
    extra = -part_of(first.extra, first.count, came.count) if came.count else Decimal(0)
    worth = _worth(line, line.came or 0, -came.count) + extra
    cost = write_down_delivery(
        order=order,
        amount=worth,
        words=f"{order}, taken back",
        on=timezone.localdate(now),
        actor=actor,
        now=now,
    )
    row = Receipt(
        line=line,
        received_on=timezone.localdate(now),
        count=-came.count,
        damaged=-came.damaged,
        extra=extra,
        takes_back=first,
        note=reason.strip(),
        cost=cost,
        received_by=actor,
        written_at=now,
    )
    add_row(row, actor=actor, action="took a receipt back", at=now)
    item = StockItem(item=line.item, name=line.name, unit=line.unit)
    if came.count and order.job_id is None:
        take_from_yard(item=item, receipt=row, worth=worth, actor=actor, now=now)
    elif came.count:
        _refuse_gone_from_site(order, line)
    derive_dates(actor=actor, now=now)
    return row


def _shares(
    extra: Decimal, lines: Sequence[OrderLine], came: Mapping[int, Came]
) -> dict[int, Decimal]:
    """Return each line's share of what came on top, nothing for lines of which nothing good came.

    Raises:
        Refusal: it is below nothing, or nothing good came that could bear it.
    """
    shares = {line.pk: Decimal(0) for line in lines}
    if extra < 0:
        raise Refusal("Freight and tax are nothing or more.", field="extra")
    good = [line for line in lines if came.get(line.pk, Came()).count]
    if extra and not good:
        raise Refusal("Nothing good came that could bear it.", field="extra")
    weights = [came[line.pk].count * line.unit_cost for line in good]
    for line, share in zip(good, share_out(extra, weights), strict=True):
        shares[line.pk] = share
    return shares


def _worth(line: OrderLine, before: int, change: int) -> Decimal:
    """Return what a change of what came is worth at the order's price.

    The changes of a line always add up to what all that came of it is worth, to the cent.
    """
    after = before + change
    return to_cents(after * line.unit_cost) - to_cents(before * line.unit_cost)


def _refuse_taking_back(first: Receipt, came: Came, reason: str) -> None:
    if first.takes_back_id is not None:
        raise Refusal("This takes a receipt back itself: write down anew what came.")
    if Receipt.objects.filter(takes_back=first).exists():
        raise Refusal("This was taken back before: write down anew what really came.")
    for name, count, most in (
        ("count", came.count, first.count),
        ("damaged", came.damaged, first.damaged),
    ):
        if not 0 <= count <= most:
            raise Refusal(
                f"From 0 to {told(most, first.line.unit)}: no more was written down.", field=name
            )
    if not (came.count or came.damaged):
        raise Refusal("Type how many did not come.", field="count")
    if not reason.strip():
        raise Refusal("Write down why: somebody will ask.", field="reason")


def _refuse_gone_from_site(order: PurchaseOrder, line: OrderLine) -> None:
    """Refuse where more came back from the site than is now left of what went there."""
    out = outs_of([order.job_id or 0]).get((order.job_id or 0, line.item), NOTHING_OUT)
    if out.returned > out.loaded + out.delivered:
        raise Refusal(
            f"{told(out.returned, line.unit)} of it came back from the site to the yard: so many "
            "were there.",
            field="count",
        )


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
        earlier = f", {told(before, line.unit)} came before" if before else ""
        raise Refusal(
            f"Ordered {told(line.count, line.unit)}{earlier}. Did {told(one.count, line.unit)} "
            "really come? Tick below that more came than was ordered.",
            field=f"count-{line.pk}",
        )
