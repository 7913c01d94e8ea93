"""The buying list: what the jobs of a range of days need, and the orders drafted from it."""

import datetime as dt
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from firm.access import requires, signed_in
from firm.errors import Refusal
from firm.models import Role
from scheduling.forms.buying import BuyingForm, OrderFromListForm
from scheduling.models import FenceJob
from scheduling.selectors.buying import BuyingList, SupplierGroup, buying_list
from scheduling.services.orders import DraftLine, draft_order

USUAL_DAYS = 14
ONE_DAY = dt.timedelta(days=1)


@requires(Role.OWNER, Role.OFFICE)
@require_safe
def buying(request: HttpRequest) -> HttpResponse:
    """Show what is needed from ?first= to ?last=, the next 14 days where nothing is asked."""
    today = timezone.localdate()
    usual = {"first": today, "last": today + ONE_DAY * (USUAL_DAYS - 1), "with_unplaced": "on"}
    form = BuyingForm(request.GET if "first" in request.GET or "last" in request.GET else usual)
    found = _list(form.cleaned_data, today) if form.is_valid() else None
    context = {"form": form, "list": found, "today": today}
    return render(request, "scheduling/buying.html", context, status=200 if found else 422)


@requires(Role.OWNER, Role.OFFICE)
@require_POST
def order_new(request: HttpRequest) -> HttpResponse:
    """Draft an order of what is to be bought of one supplier."""
    form, today = OrderFromListForm(request.POST), timezone.localdate()
    if not form.is_valid():
        messages.error(request, "Choose the days and the supplier again.")
        return redirect("buying")
    values = form.cleaned_data
    back = f"{reverse('buying')}?first={values['first']}&last={values['last']}"
    back += "&with_unplaced=on" if values["with_unplaced"] else ""
    group = next(
        (each for each in _list(values, today).groups if each.key == str(values["supplier"])), None
    )
    try:
        order = _draft(request, group, values)
    except Refusal as refusal:
        messages.error(request, str(refusal))
        return redirect(back)
    messages.success(request, "The draft is made: look it over, then send it.")
    return redirect("purchase_order", pk=order)


def _list(values: dict[str, Any], today: dt.date) -> BuyingList:
    return buying_list(
        first=values["first"],
        last=values["last"],
        with_unplaced=values["with_unplaced"],
        today=today,
    )


def _draft(request: HttpRequest, group: SupplierGroup | None, values: dict[str, Any]) -> int:
    if group is None:
        raise Refusal("Nothing of this supplier is needed in these days.")
    job = next((each for each in group.sites if each.pk == values["job"]), None)
    if values["job"] and job is None:
        raise Refusal("Nothing of this supplier is to be bought for that job.")
    lines, days = _lines(group, job)
    order = draft_order(
        supplier_id=int(group.key),
        lines=lines,
        job=job,
        needed_by=max(min(days), timezone.localdate()) if days else None,
        actor=signed_in(request),
        now=timezone.now(),
    )
    return order.pk


def _lines(group: SupplierGroup, job: FenceJob | None) -> tuple[list[DraftLine], list[dt.date]]:
    """Return the lines to order, all of them or one job's, and the days they are needed."""
    lines, days = [], []
    for row in group.rows:
        uses = [use for use in row.uses if job is None or use.job.pk == job.pk]
        count = sum(use.covered.to_buy for use in uses)
        if count:
            lines.append(
                DraftLine(
                    item=row.item,
                    name=row.name,
                    unit=row.unit,
                    count=count,
                    unit_cost=row.unit_cost,
                    part_number=row.part_number,
                )
            )
            days += [use.days.first for use in uses if use.covered.to_buy and use.days]
    return lines, days
