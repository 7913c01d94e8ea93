"""The office's pages about change orders."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from estimating.forms.changes import ChangeOrderForm, DeclineChangeForm, PaperChangeForm
from estimating.models import ChangeOrder, Proposal
from estimating.selectors.changes import (
    change_rows,
    change_view,
    changes_for_office,
    contract_of,
)
from estimating.services import change_orders as service
from estimating.services.change_order_pdf import change_order_pdf_name, render_change_order_pdf
from firm.access import requires, signed_in
from firm.errors import Refusal
from firm.forms.fields import add_refusal
from firm.models import Role
from firm.services.signatures import signature_path

office = requires(Role.OWNER, Role.OFFICE)


def _order(pk: int) -> ChangeOrder:
    return get_object_or_404(changes_for_office(), pk=pk)


def _sold(pk: int) -> Proposal:
    rows = Proposal.objects.select_related("estimate__customer").filter(acceptance__isnull=False)
    return get_object_or_404(rows, pk=pk)


@office
@require_safe
def change_orders(request: HttpRequest, pk: int) -> HttpResponse:
    """List the change orders of what was sold, and what the contract comes to."""
    proposal, rows = _sold(pk), change_rows(pk)
    context = {"proposal": proposal, "rows": rows, "contract": contract_of(pk, rows)}
    return render(request, "estimating/change_orders.html", context)


@office
def change_order_new(request: HttpRequest, pk: int) -> HttpResponse:
    """Draft a change order by hand."""
    proposal = _sold(pk)
    form = ChangeOrderForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            order = service.add_change_order(
                proposal_id=pk, text=form.text(), actor=signed_in(request), now=timezone.now()
            )
        except Refusal as refusal:
            add_refusal(form, refusal)
        else:
            messages.success(request, f"Change order {order.number} is drafted.")
            return redirect("change_order", pk=order.pk)
    status = 422 if request.method == "POST" else 200
    context = {"proposal": proposal, "form": form}
    return render(request, "estimating/change_order_new.html", context, status=status)


@office
def change_order(request: HttpRequest, pk: int) -> HttpResponse:
    """Show a change order; a draft is changed here."""
    order = _order(pk)
    if request.method != "POST":
        return _page(request, order)
    form = ChangeOrderForm(request.POST)
    if form.is_valid():
        try:
            service.edit_change_order(
                order=order, text=form.text(), actor=signed_in(request), now=timezone.now()
            )
        except Refusal as refusal:
            add_refusal(form, refusal)
        else:
            messages.success(request, "The draft has been saved.")
            return redirect("change_order", pk=pk)
    return _page(request, _order(pk), form=form, status=422)


def _page(
    request: HttpRequest,
    order: ChangeOrder,
    *,
    form: ChangeOrderForm | None = None,
    decline_form: DeclineChangeForm | None = None,
    paper_form: PaperChangeForm | None = None,
    status: int = 200,
) -> HttpResponse:
    seen = {"seen": service.fingerprint(order), "signed_on": timezone.localdate()}
    context = {
        "order": order,
        "proposal": order.proposal,
        "view": change_view(order),
        "is_draft": order.state == ChangeOrder.State.DRAFT,
        "is_signed": order.state == ChangeOrder.State.SIGNED,
        "drawn": signature_path(order.strokes) if order.strokes else "",
        "form": form or ChangeOrderForm(initial=ChangeOrderForm.initial_of(order)),
        "decline_form": decline_form or DeclineChangeForm(),
        "paper_form": paper_form or PaperChangeForm(initial=seen),
    }
    return render(request, "estimating/change_order.html", context, status=status)


@office
@require_POST
def change_order_drop(request: HttpRequest, pk: int) -> HttpResponse:
    """Drop a draft that nobody is to sign."""
    order = _order(pk)
    try:
        service.drop_change_order(order=order, actor=signed_in(request), now=timezone.now())
    except Refusal as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, f"Change order {order.number} is dropped.")
    return redirect("change_order", pk=pk)


@office
@require_POST
def change_order_decline(request: HttpRequest, pk: int) -> HttpResponse:
    """Record that the customer said no."""
    order, form = _order(pk), DeclineChangeForm(request.POST)
    if form.is_valid():
        try:
            service.decline_change_order(
                order=order,
                note=form.cleaned_data["note"],
                actor=signed_in(request),
                now=timezone.now(),
            )
        except Refusal as refusal:
            add_refusal(form, refusal)
        else:
            messages.success(request, "Recorded as declined.")
            return redirect("change_order", pk=pk)
    return _page(request, _order(pk), decline_form=form, status=422)


@office
@require_POST
def change_order_paper(request: HttpRequest, pk: int) -> HttpResponse:
    """Record a signature on paper."""
    order, form = _order(pk), PaperChangeForm(request.POST)
    if form.is_valid():
        data = form.cleaned_data
        signature = service.ChangeSignature(
            name=data["signed_name"],
            way=ChangeOrder.Way.PAPER,
            seen=data["seen"],
            signed_on=data["signed_on"],
        )
        try:
            service.sign_change_order(
                order=order, signature=signature, actor=signed_in(request), now=timezone.now()
            )
        except Refusal as refusal:
            add_refusal(form, refusal)
        else:
            messages.success(request, "The signature on paper was recorded.")
            return redirect("change_order", pk=pk)
    return _page(request, _order(pk), paper_form=form, status=422)


@office
@require_safe
def change_order_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    """Show the change order as it is printed."""
    order = _order(pk)
    if not hasattr(order.proposal, "acceptance"):
        raise Http404
    answer = HttpResponse(render_change_order_pdf(order), content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="{change_order_pdf_name(order)}"'
    return answer
