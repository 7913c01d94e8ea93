"""What the demo firm shows of buying: suppliers, orders, the yard, what is loaded of it."""

import datetime as dt
from collections.abc import Mapping
from typing import Any

from django.utils import timezone

from estimating.selectors.suppliers import stocked_items
from estimating.services.demo import Cast
from estimating.services.suppliers import buy_items_at, save_supplier
from firm.errors import Refusal
from firm.models import User
from scheduling.models import FenceJob, JobPhase, PurchaseOrder
from scheduling.selectors.buying import buying_list
from scheduling.selectors.material import material_standing
from scheduling.services.demo_days import working_day_before
from scheduling.services.job_details import set_material
from scheduling.services.orders import (
    DraftLine,
    change_draft,
    draft_order,
    send_order,
    write_down_promises,
)
from scheduling.services.receipts import Came, receive
from scheduling.services.stock import StockItem, correct_stock, load_items

SUPPLIERS_SINCE_DAYS = 50
LOOK_AHEAD_DAYS = 60
ONE_DAY = dt.timedelta(days=1)
HANGING = (JobPhase.Kind.HANG, JobPhase.Kind.GATES)


def show_buying(demo: Mapping[str, Any], cast: Cast) -> None:
    """Write down who the firm buys of, what lies in the yard, and one order on its way."""
    for values in demo["suppliers"]:
        _add_supplier(values, cast)
    known = stocked_items()
    for key, count in demo["yard"].items():
        name, unit = known[key]
        correct_stock(
            item=StockItem(item=key, name=name, unit=unit),
            counted=count,
            seen=None,
            reason="Counted when this book was begun",
            actor=cast.office,
            now=cast.ago(demo["orders"][0]["sent_days_ago"] + 1),
        )
    for story in demo["orders"]:
        _order(story, cast)
    for story in demo["loads"]:
        _load(story, cast)


def _add_supplier(values: Mapping[str, Any], cast: Cast) -> None:
    at = cast.ago(SUPPLIERS_SINCE_DAYS)
    row = save_supplier(
        actor=cast.office,
        supplier=None,
        values={name: value for name, value in values.items() if name != "items"},
        at=at,
    )
    buy_items_at(actor=cast.office, supplier=row, beginnings=values["items"], at=at)


def _order(story: Mapping[str, Any], cast: Cast) -> None:
    sent_on = timezone.localdate(cast.ago(story["sent_days_ago"]))
    promised_on = timezone.localdate(cast.now) - ONE_DAY * story["promised_days_ago"]
    job = FenceJob.objects.get(customer__name=story["customer"], state=FenceJob.State.TO_DO)
    _leave_to_orders(job, sent_on, cast)
    draft = _draft(story, job, sent_on, promised_on, cast)
    order = send_order(order=draft, to="", actor=cast.office, now=cast.at(sent_on, 13))
    lines = list(order.lines.all())
    write_down_promises(
        order=order,
        days={line.pk: promised_on for line in lines},
        actor=cast.office,
        now=cast.at(sent_on, 15),
    )
    came_on = timezone.localdate(cast.ago(story["came_days_ago"]))
    receive(
        order=order,
        # The first lines whole, of the next one half.
        came={
            line.pk: Came(count=line.count if index < story["came_lines"] else line.count // 2)
            for index, line in enumerate(lines[: story["came_lines"] + 1])
        },
        received_on=came_on,
        actor=cast.office,
        now=cast.at(came_on, 9),
    )


def _load(story: Mapping[str, Any], cast: Cast) -> None:
    """Take from the yard what a job needs of some items, as its crew ticks it on its load list.

    Raises:
        Refusal: nothing of it lies there.
    """
    day = working_day_before(timezone.localdate(cast.now), story["days_ago"])
    job = FenceJob.objects.get(customer__name=story["customer"], state=FenceJob.State.TO_DO)
    rows = [
        row
        for row in material_standing().rows
        if row.job == job and row.item.item.startswith(tuple(story["items"]))
    ]
    counts = {
        StockItem(item=row.item.item, name=row.item.name, unit=row.item.unit): row.covered.from_yard
        for row in rows
    }
    if not any(counts.values()):
        raise Refusal(f"The demo's yard holds nothing for {job}.")
    load_items(
        job=job,
        counts=counts,
        seen={},
        moved_on=day,
        actor=User.objects.get(username=story["loaded_by"]),
        now=cast.at(day, 7),
    )


def _leave_to_orders(job: FenceJob, day: dt.date, cast: Cast) -> None:
    """Take away what was written down by hand of what hangs: the orders say it from now on."""
    hanging = job.phases.filter(kind__in=HANGING, needs_material=True).select_related("job")
    for phase in hanging:
        set_material(
            phase=phase,
            is_needed=True,
            promised_on=None,
            received_on=None,
            actor=cast.office,
            now=cast.at(day, 11),
        )


def _draft(
    story: Mapping[str, Any], job: FenceJob, sent_on: dt.date, needed_by: dt.date, cast: Cast
) -> PurchaseOrder:
    found = buying_list(
        first=sent_on,
        last=sent_on + ONE_DAY * LOOK_AHEAD_DAYS,
        with_unplaced=True,
        today=sent_on,
    )
    group = next(each for each in found.groups if each.name == story["supplier"])
    lines = [
        DraftLine(
            item=row.item,
            name=row.name,
            unit=row.unit,
            count=count,
            unit_cost=row.unit_cost,
            part_number=row.part_number,
        )
        for row in group.rows
        if (count := sum(use.covered.to_buy for use in row.uses if use.job.pk == job.pk))
    ]
    order = draft_order(
        supplier_id=int(group.key),
        lines=lines,
        job=None,
        needed_by=needed_by,
        actor=cast.office,
        now=cast.at(sent_on, 12),
    )
    return change_draft(
        order=order,
        values={"note": story["note"]},
        counts={},
        unit_costs={},
        actor=cast.office,
        now=cast.at(sent_on, 12),
    )
