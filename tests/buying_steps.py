"""What tests of buying do by the services: draft, send, promise, receive, and read the list."""

import datetime as dt
from decimal import Decimal

from estimating.models import Supplier
from scheduling.models import (
    FenceJob,
    OrderLine,
    PurchaseOrder,
)
from scheduling.selectors.buying import BuyingList, ItemRow, buying_list
from scheduling.services import orders
from scheduling.services.receipts import Came, receive
from scheduling.services.stock import (
    StockItem,
)
from tests.buying_cast import (
    BAG,
    POST,
    RAIL,
)
from tests.crew_cast import may
from tests.factories import NOW, TODAY

END_OF_MAY = may(31)


def the_list(
    first: dt.date = TODAY, last: dt.date = END_OF_MAY, *, unplaced: bool = True
) -> BuyingList:
    return buying_list(first=first, last=last, with_unplaced=unplaced, today=TODAY)


def row_of(item: StockItem, found: BuyingList | None = None) -> ItemRow:
    groups = (found or the_list()).groups
    return next(row for group in groups for row in group.rows if row.item == item.item)


def draft(supplier: Supplier, *, job: FenceJob | None = None, **counts: int) -> PurchaseOrder:
    names = {one.item: one for one in (POST, BAG, RAIL)}
    return orders.draft_order(
        supplier_id=supplier.pk,
        lines=[
            orders.DraftLine(
                item=item,
                name=names[item].name,
                unit=names[item].unit,
                count=count,
                unit_cost=Decimal("38.00"),
            )
            for item, count in counts.items()
        ],
        job=job,
        needed_by=may(8),
        actor=None,
        now=NOW,
    )


def sent(supplier: Supplier, *, job: FenceJob | None = None, **counts: int) -> PurchaseOrder:
    return orders.send_order(order=draft(supplier, job=job, **counts), to="", actor=None, now=NOW)


def line_of(order: PurchaseOrder, item: StockItem) -> OrderLine:
    return order.lines.get(item=item.item)


def comes(order: PurchaseOrder, item: StockItem, count: int, *, damaged: int = 0) -> None:
    came = {line_of(order, item).pk: Came(count=count, damaged=damaged)}
    receive(order=order, came=came, received_on=TODAY, actor=None, now=NOW)


def promise(order: PurchaseOrder, day: dt.date) -> None:
    days = {line.pk: day for line in order.lines.all()}
    orders.write_down_promises(order=order, days=days, actor=None, now=NOW)


def days_of(job: FenceJob, kind: str) -> tuple[dt.date | None, dt.date | None]:
    phase = job.phases.get(kind=kind)
    return phase.material_promised_on, phase.material_received_on
