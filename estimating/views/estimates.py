"""Estimates: the list, the page of one, its lines and figures, pricing again, revisions."""

from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from estimating.engine.errors import EngineError
from estimating.forms.estimates import EstimateFilterForm, OverrideForm, TypedLineForm
from estimating.models import Estimate, EstimateLine, EstimateOverride
from estimating.selectors.by_hand import target_units
from estimating.selectors.estimates import (
    EstimateView,
    estimate_view,
    estimates,
    figures,
    price_differences,
    target_words,
)
from estimating.selectors.footing_advice import footing_advice
from estimating.services.estimate_parts import (
    delete_line,
    let_engine_decide,
    save_line,
    set_by_hand,
)
from estimating.services.estimates import price_site, reprice, revise
from firm.access import requires, signed_in
from firm.errors import Refusal
from firm.forms.fields import add_refusal
from firm.models import JobSite, Role

PER_PAGE = 40


@requires(Role.OWNER, Role.OFFICE)
@require_GET
def estimate_list(request: HttpRequest) -> HttpResponse:
    form = EstimateFilterForm(request.GET)
    chosen = form.cleaned_data if form.is_valid() else {}
    customer, site = chosen.get("customer"), chosen.get("site")
    rows = estimates(
        words=chosen.get("q", ""),
        customer=customer.pk if customer else None,
        site=site.pk if site else None,
        state=chosen.get("state", ""),
    )
    page = Paginator(rows, PER_PAGE).get_page(request.GET.get("page"))
    context = {"form": form, "page_obj": page, "only_for": site or customer}
    return render(request, "estimating/estimates.html", context)


@requires(Role.OWNER, Role.OFFICE)
@require_POST
def estimate_new(request: HttpRequest, pk: int) -> HttpResponse:
    """Price a site's newest version; a second estimate of it is made only when asked for."""
    site = get_object_or_404(JobSite.objects.select_related("customer"), pk=pk)
    try:
        row = price_site(
            site=site,
            actor=signed_in(request),
            now=timezone.now(),
            again=request.POST.get("again") == "yes",
        )
    except Refusal as refusal:
        return _not_priced(request, site, refusal)
    messages.success(request, f"Estimate {row.label} is priced.")
    return redirect("estimate", pk=row.pk)


def _not_priced(request: HttpRequest, site: JobSite, refusal: Refusal) -> HttpResponse:
    twins = Estimate.objects.filter(site=site, state=Estimate.State.OPEN)
    context = {"site": site, "refusal": refusal, "twins": twins}
    return render(request, "estimating/estimate_not_priced.html", context, status=409)


@requires(Role.OWNER, Role.OFFICE)
@require_GET
def estimate(request: HttpRequest, pk: int) -> HttpResponse:
    return _page(request, _estimate(pk))


@requires(Role.OWNER, Role.OFFICE)
@require_http_methods(["GET", "POST"])
def estimate_price(request: HttpRequest, pk: int) -> HttpResponse:
    """Show what today's price book would change, and change it on POST."""
    row = _estimate(pk)
    if request.method == "POST":
        try:
            reprice(estimate=row, actor=signed_in(request), now=timezone.now())
            messages.success(request, "Priced with today's price book.")
        except Refusal as refusal:
            messages.error(request, refusal.message)
        return redirect("estimate", pk=row.pk)
    context: dict[str, Any] = {"estimate": row}
    try:
        context["differences"] = price_differences(row, today=timezone.localdate())
    except EngineError as error:
        context["problem"] = str(error)
    return render(request, "estimating/estimate_price.html", context)


@requires(Role.OWNER, Role.OFFICE)
@require_POST
def estimate_revise(request: HttpRequest, pk: int) -> HttpResponse:
    row = _estimate(pk)
    try:
        new = revise(estimate=row, actor=signed_in(request), now=timezone.now())
    except Refusal as refusal:
        messages.error(request, refusal.message)
        return redirect("estimate", pk=row.pk)
    messages.success(request, f"This is revision {new.label}; {row.label} stays as it was.")
    return redirect("estimate", pk=new.pk)


@requires(Role.OWNER, Role.OFFICE)
@require_POST
def estimate_line_add(request: HttpRequest, pk: int) -> HttpResponse:
    row = _estimate(pk)
    form = TypedLineForm(request.POST, prefix="line")
    if form.is_valid():
        try:
            save_line(
                estimate=row,
                values=form.cleaned_data,
                actor=signed_in(request),
                now=timezone.now(),
            )
            return redirect(f"{reverse('estimate', args=[row.pk])}#lines")
        except Refusal as refusal:
            add_refusal(form, refusal)
    return _page(request, row, line_form=form, status=422)


@requires(Role.OWNER, Role.OFFICE)
@require_http_methods(["GET", "POST"])
def estimate_line(request: HttpRequest, pk: int, line_pk: int) -> HttpResponseBase:
    """Change a typed line, or take it out."""
    row = _estimate(pk)
    line = get_object_or_404(EstimateLine, pk=line_pk, estimate=row)
    if request.POST.get("act") == "delete":
        try:
            delete_line(line=line, actor=signed_in(request), now=timezone.now())
            messages.success(request, f"“{line.description}” is taken out.")
        except Refusal as refusal:
            messages.error(request, refusal.message)
        return redirect(f"{reverse('estimate', args=[row.pk])}#lines")
    form = TypedLineForm(request.POST or None, instance=line, prefix="line")
    if request.method == "POST" and form.is_valid():
        try:
            save_line(
                estimate=row,
                line=EstimateLine.objects.get(pk=line.pk),
                values=form.cleaned_data,
                actor=signed_in(request),
                now=timezone.now(),
            )
            return redirect(f"{reverse('estimate', args=[row.pk])}#lines")
        except Refusal as refusal:
            add_refusal(form, refusal)
    context = {"estimate": row, "line": line, "form": form}
    status = 422 if request.method == "POST" else 200
    return render(request, "estimating/estimate_line.html", context, status=status)


@requires(Role.OWNER, Role.OFFICE)
@require_POST
def estimate_override(request: HttpRequest, pk: int) -> HttpResponse:
    row = _estimate(pk)
    view = estimate_view(row)
    form = _override_form(view, request.POST) if view else None
    if form is not None and form.is_valid():
        try:
            set_by_hand(
                estimate=row,
                target=form.cleaned_data["target"],
                value=form.cleaned_data["value"],
                reason=form.cleaned_data["reason"],
                actor=signed_in(request),
                now=timezone.now(),
            )
            return redirect(f"{reverse('estimate', args=[row.pk])}#by-hand")
        except Refusal as refusal:
            form.add_error("value", refusal.message)
    return _page(request, row, override_form=form, status=422)


@requires(Role.OWNER, Role.OFFICE)
@require_POST
def estimate_override_drop(request: HttpRequest, pk: int, override_pk: int) -> HttpResponse:
    row = _estimate(pk)
    override = get_object_or_404(EstimateOverride, pk=override_pk, estimate=row)
    try:
        let_engine_decide(override=override, actor=signed_in(request), now=timezone.now())
    except Refusal as refusal:
        messages.error(request, refusal.message)
    return redirect(f"{reverse('estimate', args=[row.pk])}#by-hand")


def _estimate(pk: int) -> Estimate:
    rows = Estimate.objects.select_related(
        "customer", "site", "measurement__site", "replaces", "created_by"
    )
    return get_object_or_404(rows, pk=pk)


def _override_form(view: EstimateView, data: Any = None) -> OverrideForm:
    return OverrideForm(
        data,
        prefix="override",
        words=target_words(view.result),
        own=figures(view.estimate, view.result),
        sold_by=target_units(view.result),
    )


def _page(
    request: HttpRequest,
    row: Estimate,
    *,
    line_form: TypedLineForm | None = None,
    override_form: OverrideForm | None = None,
    status: int = 200,
) -> HttpResponse:
    row = _estimate(row.pk) if status != 200 else row
    view = estimate_view(row)
    context: dict[str, Any] = {"estimate": row, "view": view}
    if view:
        context |= {
            "result": view.result,
            "advice": footing_advice(view.estimate, view.result),
            "money": view.result.money,
            "findings": view.findings,
            "line_form": line_form or TypedLineForm(prefix="line"),
            "override_form": override_form or _override_form(view),
        }
    return render(request, "estimating/estimate.html", context, status=status)
