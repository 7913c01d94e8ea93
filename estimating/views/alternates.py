"""Alternates of an estimate: compared together, added, taken out, made estimates of their own."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from estimating.engine.errors import EngineError
from estimating.forms.alternates import AlternateForm
from estimating.models import Estimate, EstimateAlternate, Proposal
from estimating.selectors.alternates import alternate_rows, places, system_names
from estimating.services.alternates import add_alternate, drop_alternate, estimate_of_alternate
from firm.access import requires, signed_in
from firm.errors import Refusal
from firm.forms.fields import add_refusal
from firm.models import Role


@requires(Role.OWNER, Role.OFFICE)
@require_http_methods(["GET", "POST"])
def estimate_alternates(request: HttpRequest, pk: int) -> HttpResponse:
    """Compare the alternates; add one on POST."""
    row = get_object_or_404(Estimate.objects.select_related("customer", "site"), pk=pk)
    form = AlternateForm(request.POST or None, places=places(row), systems=system_names(row))
    if form.is_valid():
        try:
            add_alternate(
                estimate=row,
                name=form.cleaned_data["name"],
                swaps=form.swaps(),
                actor=signed_in(request),
                now=timezone.now(),
            )
        except Refusal as refusal:
            add_refusal(form, refusal)
        else:
            return redirect("estimate_alternates", pk=row.pk)
    context: dict[str, Any] = {
        "estimate": row,
        "form": form,
        "is_open": row.state == Estimate.State.OPEN,
        "has_lines": bool(places(row)),
    }
    try:
        context["rows"] = alternate_rows(row)
    except EngineError as error:
        context["problem"] = str(error)
    status = 422 if request.method == "POST" else 200
    return render(request, "estimating/alternates.html", context, status=status)


@requires(Role.OWNER, Role.OFFICE)
@require_POST
def estimate_alternate_drop(request: HttpRequest, pk: int, alternate_pk: int) -> HttpResponse:
    alternate = _alternate(pk, alternate_pk)
    try:
        drop_alternate(alternate=alternate, actor=signed_in(request), now=timezone.now())
        messages.success(request, f"“{alternate.name}” is taken out.")
    except Refusal as refusal:
        messages.error(request, refusal.message)
    return redirect("estimate_alternates", pk=pk)


@requires(Role.OWNER, Role.OFFICE)
@require_POST
def estimate_alternate_take(request: HttpRequest, pk: int, alternate_pk: int) -> HttpResponse:
    """Make an alternate an estimate of its own."""
    alternate = _alternate(pk, alternate_pk)
    try:
        new = estimate_of_alternate(
            alternate=alternate, actor=signed_in(request), now=timezone.now()
        )
    except Refusal as refusal:
        messages.error(request, refusal.message)
        return redirect("estimate_alternates", pk=pk)
    old = alternate.estimate
    messages.success(request, f"Estimate {new.label} is “{alternate.name}” by itself.")
    if old.proposals.filter(state=Proposal.State.SENT).exists():
        messages.warning(
            request,
            f"The proposal of estimate {old.label} is still out: withdraw it before you send this "
            "one's, or the customer can accept both.",
        )
    return redirect("estimate", pk=new.pk)


def _alternate(pk: int, alternate_pk: int) -> EstimateAlternate:
    rows = EstimateAlternate.objects.select_related("estimate")
    found = get_object_or_404(rows, pk=alternate_pk)
    if found.estimate_id != pk:
        raise Http404
    return found
