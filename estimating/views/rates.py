"""Pages of production rates, which hold from a day on."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from estimating.forms.price_book import RateForm
from estimating.models import ProductionRate
from estimating.selectors.rates import listed_rate, listed_rates
from estimating.services.rates import drop_planned_rate, set_rate
from firm.access import requires, signed_in
from firm.errors import Refusal
from firm.forms.fields import add_refusal
from firm.models import Role


@requires(Role.OWNER, Role.OFFICE)
@require_safe
def rates(request: HttpRequest) -> HttpResponse:
    """List production rates with what held before and what is planned."""
    rows = listed_rates(today=timezone.localdate())
    return render(request, "estimating/rates.html", {"rows": rows})


@requires(Role.OWNER)
@require_http_methods(["GET", "POST"])
def rate_edit(request: HttpRequest, kind: str, key: str) -> HttpResponse:
    """Let a rate hold from a day on, or take back one that is planned."""
    today = timezone.localdate()
    rate = listed_rate(kind, key, today=today)
    if rate is None:
        raise Http404
    if request.POST.get("act") == "drop":
        return _drop(request, kind, key)
    form = RateForm(
        request.POST or None,
        unit=rate.unit,
        initial={
            "value": rate.current.value if rate.current else None,
            "effective_from": today,
        },
    )
    if form.is_valid():
        try:
            set_rate(
                actor=signed_in(request),
                kind=kind,
                key=key,
                value=form.cleaned_data["value"],
                effective_from=form.cleaned_data["effective_from"],
                today=today,
                at=timezone.now(),
            )
        except Refusal as refusal:
            add_refusal(form, refusal)
        else:
            messages.success(request, f"{rate.label} is saved.")
            return redirect("rates")
    status = 422 if request.method == "POST" else 200
    return render(request, "estimating/rate_form.html", {"form": form, "rate": rate}, status=status)


def _drop(request: HttpRequest, kind: str, key: str) -> HttpResponse:
    pk = request.POST.get("row", "")
    rows = ProductionRate.objects.filter(kind=kind, key=key)
    row = get_object_or_404(rows, pk=int(pk) if pk.isdecimal() and len(pk) < 10 else 0)
    try:
        drop_planned_rate(
            actor=signed_in(request), rate=row, today=timezone.localdate(), at=timezone.now()
        )
        messages.success(request, "The planned rate is taken back.")
    except Refusal as refusal:
        messages.error(request, refusal.message)
    return redirect("rate_edit", kind=kind, key=key)
