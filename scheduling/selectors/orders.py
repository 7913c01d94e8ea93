"""Questions about purchase orders: what stands on them, what was promised and what came."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Prefetch, QuerySet

from firm.measure.money import to_cents
from firm.models import OutgoingMail
from firm.selectors.kept_mails import kept_mail_about
from scheduling.models import OrderLine, PurchaseOrder, Receipt

State = PurchaseOrder.State


@dataclass(frozen=True, kw_only=True, slots=True)
class LineView:
    """A line with what came of it."""

    line: OrderLine
    promised_on: dt.date | None
    receipts: Sequence[Receipt]

    @property
    def amount(self) -> Decimal:
        """What the line comes to."""
        return to_cents(self.line.count * self.line.unit_cost)

    @property
    def came(self) -> int:
        """How many good ones came."""
        return sum(each.count for each in self.receipts)

    @property
    def damaged(self) -> int:
        """How many came damaged and went back."""
        return sum(each.damaged for each in self.receipts)

    @property
    def left(self) -> int:
        """How many are still to come."""
        return max(0, self.line.count - self.came)


@dataclass(frozen=True, kw_only=True, slots=True)
class OrderView:
    """An order as its page and the list show it."""

    order: PurchaseOrder
    lines: Sequence[LineView]

    @property
    def total(self) -> Decimal:
        """What the order comes to."""
        return sum((line.amount for line in self.lines), Decimal(0))

    @property
    def taken_back(self) -> frozenset[int]:
        """The receipts that were taken back: nobody does it twice."""
        rows = (row for line in self.lines for row in line.receipts)
        return frozenset(row.takes_back_id for row in rows if row.takes_back_id is not None)

    @property
    def last_receipt(self) -> int:
        """The newest receipt's key, 0 before any: what a page shows of what came."""
        return max((row.pk for line in self.lines for row in line.receipts), default=0)

    @property
    def is_all_here(self) -> bool:
        """Say whether nothing is still to come of it."""
        return all(not line.left for line in self.lines)

    @property
    def words(self) -> str:
        """How it stands, in a word or two."""
        if self.order.state != State.SENT:
            return self.order.get_state_display().lower()
        if self.is_all_here:
            return "all here"
        return "part here" if any(line.came for line in self.lines) else "on its way"

    @property
    def promised_on(self) -> dt.date | None:
        """The last day that is promised of what is still to come; None where one is without."""
        days = [line.promised_on for line in self.lines if line.left]
        known = [day for day in days if day is not None]
        return max(known) if known and len(known) == len(days) else None


def orders_with_lines() -> QuerySet[PurchaseOrder]:
    """Return all orders, the newest first, with all that their view shows."""
    lines = OrderLine.objects.select_related("promise").prefetch_related("receipts")
    return PurchaseOrder.objects.select_related(
        "supplier", "job__customer", "job__site", "created_by", "sent_by"
    ).prefetch_related(Prefetch("lines", queryset=lines.order_by("position", "pk")))


def view_of(order: PurchaseOrder) -> OrderView:
    """Return an order, read with its lines, as pages show it."""
    return OrderView(order=order, lines=tuple(_line(line) for line in order.lines.all()))


def kept_mail(order: PurchaseOrder) -> OutgoingMail | None:
    """Return the mail that would have brought the order, had a mail server been set."""
    if order.state != State.SENT:
        return None
    return kept_mail_about(kind=OutgoingMail.Kind.ORDER, about=order.pk, to=order.sent_to)


def _line(line: OrderLine) -> LineView:
    promise = getattr(line, "promise", None)
    return LineView(
        line=line,
        promised_on=promise.promised_on if promise else None,
        receipts=tuple(line.receipts.all()),
    )
