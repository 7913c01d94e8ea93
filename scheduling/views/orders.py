"""The pages of purchase orders: the list, and one order as a draft and once it is sent."""

import datetime as dt
import re
from collections.abc import Callable
from decimal import Decimal

from django import forms
from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from estimating.selectors.suppliers import cost_of
from firm.access import requires, signed_in
from firm.errors import Refusal
from firm.forms.fields import add_refusal
from firm.models import Role, User
from firm.views.meanwhile import say_kept_meanwhile
from scheduling.forms.buying import (
    AddItemForm,
    CancelForm,
    DraftOrderForm,
    MailOrderForm,
    PromisesForm,
    ReceiveForm,
    SendForm,
)
from scheduling.models import PurchaseOrder
from scheduling.selectors.orders import OrderView, kept_mail, orders_with_lines, view_of
from scheduling.services import order_pdf as printing
from scheduling.services import orders, receipts

ORDERS_PER_PAGE = 50
office = requires(Role.OWNER, Role.OFFICE)
Act = Callable[[User, dt.datetime], str]


def _order(pk: int) -> OrderView:
    return view_of(get_object_or_404(orders_with_lines(), pk=pk))


@office
@require_safe
def purchase_orders(request: HttpRequest) -> HttpResponse:
    """List the orders, the newest first."""
    page = Paginator(orders_with_lines(), ORDERS_PER_PAGE).get_page(request.GET.get("page"))
    context = {"page": page, "views": [view_of(order) for order in page]}
    return render(request, "scheduling/purchase_orders.html", context)


@office
def purchase_order(request: HttpRequest, pk: int) -> HttpResponse:
    """Show an order; a draft is changed here."""
    found = _order(pk)
    if request.method != "POST":
        return _page(request, found)
    form = DraftOrderForm(request.POST, lines=found.lines)

    def act(actor: User, now: dt.datetime) -> str:
        orders.change_draft(
            order=found.order,
            values={name: form.cleaned_data[name] for name in ("needed_by", "note")},
            counts=form.values_of("count"),
            unit_costs=form.values_of("cost"),
            actor=actor,
            now=now,
        )
        return "The draft is saved."

    return _act(request, found, form, act, "draft_form")


@office
@require_POST
def order_item_add(request: HttpRequest, pk: int) -> HttpResponse:
    """Put one more item on a draft."""
    found, form = _order(pk), AddItemForm(request.POST)

    def act(actor: User, now: dt.datetime) -> str:
        key = form.cleaned_data["item"]
        name, unit = form.items[key]
        line = orders.DraftLine(
            item=key,
            name=name,
            unit=unit,
            count=form.cleaned_data["count"],
            unit_cost=cost_of(key),
        )
        orders.add_to_draft(order=found.order, line=line, actor=actor, now=now)
        return f"{name} is on the order."

    return _act(request, found, form, act, "item_form")


@office
@require_POST
def order_send(request: HttpRequest, pk: int) -> HttpResponse:
    """Number a draft, freeze it, and have it printed and mailed."""
    found, form = _order(pk), SendForm(request.POST)

    def act(actor: User, now: dt.datetime) -> str:
        to = form.cleaned_data["to"]
        sent = orders.send_order(order=found.order, to=to, actor=actor, now=now)
        return f"{sent} is sent" + (f" to {to}." if to else ": print it and hand it over.")

    return _act(request, found, form, act, "send_form")


@office
@require_POST
def order_drop(request: HttpRequest, pk: int) -> HttpResponse:
    """Throw a draft away."""
    try:
        orders.drop_draft(order=_order(pk).order, actor=signed_in(request), now=timezone.now())
    except Refusal as refusal:
        messages.error(request, str(refusal))
        return redirect("purchase_order", pk=pk)
    messages.success(request, "The draft is gone.")
    return redirect("buying")


@office
@require_POST
def order_cancel(request: HttpRequest, pk: int) -> HttpResponse:
    """Cancel what has not come of a sent order, and why."""
    found, form = _order(pk), CancelForm(request.POST)

    def act(actor: User, now: dt.datetime) -> str:
        reason = form.cleaned_data["reason"]
        orders.cancel_order(order=found.order, reason=reason, actor=actor, now=now)
        return f"{found.order} is cancelled. Tell {found.order.supplier}."

    return _act(request, found, form, act, "cancel_form")


@office
@require_POST
def order_mail(request: HttpRequest, pk: int) -> HttpResponse:
    """Mail the very same PDF."""
    found, form = _order(pk), MailOrderForm(request.POST)

    def act(actor: User, now: dt.datetime) -> str:
        to = form.cleaned_data["to"]
        printing.mail_order_again(order=found.order, to=to, actor=actor, now=now)
        return f"Mailed to {to}."

    return _act(request, found, form, act, "mail_form")


@office
@require_POST
def order_promises(request: HttpRequest, pk: int) -> HttpResponse:
    """Write down for which day each line is promised."""
    found = _order(pk)
    form = PromisesForm(request.POST, lines=found.lines)

    def act(actor: User, now: dt.datetime) -> str:
        days = form.values_of("promise")
        orders.write_down_promises(order=found.order, days=days, actor=actor, now=now)
        return "The promised days are written down."

    return _act(request, found, form, act, "promises_form")


@office
@require_POST
def order_receive(request: HttpRequest, pk: int) -> HttpResponse:
    """Write down what came."""
    found = _order(pk)
    form = ReceiveForm(request.POST, lines=found.lines, today=timezone.localdate())

    def act(actor: User, now: dt.datetime) -> str:
        counts, damaged = form.values_of("count"), form.values_of("damaged")
        receipts.receive(
            order=found.order,
            came={
                key: receipts.Came(count=counts[key] or 0, damaged=damaged[key] or 0)
                for key in counts
            },
            received_on=form.cleaned_data["received_on"],
            note=form.cleaned_data["note"],
            extra=form.cleaned_data["extra"] or Decimal(0),
            more_is_right=form.cleaned_data["more_is_right"],
            seen=_seen(request),
            actor=actor,
            now=now,
        )
        return "What came is written down."

    return _act(request, found, form, act, "receive_form")


@office
@require_safe
def order_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    """Show the PDF: the one that was sent, or a preview of the draft."""
    order = _order(pk).order
    is_draft = order.state == PurchaseOrder.State.DRAFT
    pdf = printing.preview_pdf(order, now=timezone.now()) if is_draft else printing.order_pdf(order)
    answer = HttpResponse(pdf, content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="{printing.pdf_name(order)}"'
    return answer


def _seen(request: HttpRequest) -> int | None:
    """Return the newest receipt on the page that was sent; None where it tells none."""
    told = request.POST.get("seen", "")
    return int(told) if re.fullmatch(r"[0-9]{1,18}", told) else None


def _act(
    request: HttpRequest, found: OrderView, form: forms.Form, act: Act, name: str
) -> HttpResponse:
    """Carry out one of the forms of an order's page; what is refused is shown on it."""
    pk = found.order.pk
    if form.is_valid():
        try:
            said = act(signed_in(request), timezone.now())
        except Refusal as refusal:
            add_refusal(form, refusal)
        else:
            messages.success(request, said)
            say_kept_meanwhile(request, form)
            return redirect("purchase_order", pk=pk)
    return _page(request, _order(pk), status=422, **{name: form})


def _page(
    request: HttpRequest, found: OrderView, *, status: int = 200, **bound: forms.Form
) -> HttpResponse:
    order, lines = found.order, found.lines
    is_draft = order.state == PurchaseOrder.State.DRAFT
    initial = {"needed_by": order.needed_by, "note": order.note}
    to = {"to": order.sent_to or order.supplier.email}
    context = {
        "view": found,
        "order": order,
        "is_draft": is_draft,
        "kept_mail": kept_mail(order),
        "is_sent": order.state == PurchaseOrder.State.SENT,
        "draft_form": DraftOrderForm(lines=lines, initial=initial),
        "item_form": AddItemForm() if is_draft else None,
        "send_form": SendForm(initial=to),
        "mail_form": MailOrderForm(initial=to),
        "cancel_form": CancelForm(),
        "promises_form": PromisesForm(lines=[line for line in lines if line.left]),
        "receive_form": ReceiveForm(
            lines=[line for line in lines if line.left], today=timezone.localdate()
        ),
        **bound,
    }
    return render(request, "scheduling/purchase_order.html", context, status=status)
