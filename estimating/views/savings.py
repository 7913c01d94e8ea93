"""Savings: the page of small changes that would save posts, bays, hours or money."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST
from django.views.decorators.vary import vary_on_headers

from estimating.engine.errors import EngineError
from estimating.engine.saver_changes import UseOffcuts
from estimating.models import Estimate
from estimating.selectors.savings import Saving, saving_taken, savings_of
from estimating.services.savings import priced_version, take_saving, undo_saving
from firm.access import requires, signed_in
from firm.errors import Refusal
from firm.measure.money import format_money
from firm.models import Role
from firm.views.searching import is_part_of_page


@requires(Role.OWNER, Role.OFFICE)
@require_GET
@vary_on_headers("HX-Request")
def estimate_savings(request: HttpRequest, pk: int) -> HttpResponse:
    """Show the savings as a page, or as the part that the estimate's page asks for."""
    row = _estimate(pk)
    is_part = is_part_of_page(request)
    template = "estimating/_savings.html" if is_part else "estimating/savings.html"
    return render(request, template, _context(row) | {"is_part": is_part})


@requires(Role.OWNER, Role.OFFICE)
@require_POST
def estimate_saving_take(request: HttpRequest, pk: int) -> HttpResponse:
    row = _estimate(pk)
    try:
        saving = take_saving(
            estimate=row,
            key=request.POST.get("key", ""),
            actor=signed_in(request),
            now=timezone.now(),
        )
    except Refusal as refusal:
        context = _context(row) | {"refusal": refusal.message}
        return render(request, "estimating/savings.html", context, status=422)
    messages.success(request, f"{_done(saving)} {_way_back(saving)}")
    return redirect("estimate_savings", pk=row.pk)


@requires(Role.OWNER, Role.OFFICE)
@require_POST
def estimate_saving_undo(request: HttpRequest, pk: int) -> HttpResponse:
    row = _estimate(pk)
    try:
        version = undo_saving(estimate=row, actor=signed_in(request), now=timezone.now())
    except Refusal as refusal:
        context = _context(row) | {"refusal": refusal.message}
        return render(request, "estimating/savings.html", context, status=422)
    row.refresh_from_db(fields=["measurement"])
    kept = f", kept as version {row.measurement.version}" if row.measurement else ""
    words = f"The site stands as it did in version {version}{kept}, and is priced so."
    messages.success(request, words)
    return redirect("estimate_savings", pk=row.pk)


def _done(saving: Saving) -> str:
    words = f"{saving.change[0].lower()}{saving.change[1:]}"
    return f"Done: {words}. It saves {format_money(saving.hint.cost)}."


def _way_back(saving: Saving) -> str:
    if isinstance(saving.hint.change, UseOffcuts):
        return "To go back, drop that figure under “Set by hand” on the estimate's page."
    return "The version before stays, and can be taken up again below."


def _estimate(pk: int) -> Estimate:
    rows = Estimate.objects.select_related("customer", "site", "measurement")
    return get_object_or_404(rows, pk=pk)


def _context(row: Estimate) -> dict[str, Any]:
    """Return the savings, and why they can't be taken where they can't."""
    context: dict[str, Any] = {"estimate": row}
    try:
        context["savings"] = savings_of(row)
    except (EngineError, Refusal) as error:
        context["problem"] = str(error)
        return context
    if row.state != Estimate.State.OPEN:
        context["barred"] = (
            "This estimate went out with a proposal: make a revision of it to take a saving."
        )
        return context
    try:
        priced_version(row)
    except Refusal as refusal:
        context["barred"] = refusal.message
    else:
        context["taken"] = saving_taken(row)
    return context
