"""What-if pages of an estimate: scopes side by side, and what its price risks."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_GET

from estimating.engine.errors import EngineError
from estimating.models import Estimate
from estimating.selectors.risk import CONFIDENCE_PCT, risk_view
from estimating.selectors.what_if import scope_view
from firm.access import requires
from firm.models import Role


@requires(Role.OWNER, Role.OFFICE)
@require_GET
def estimate_scopes(request: HttpRequest, pk: int) -> HttpResponse:
    row = get_object_or_404(Estimate.objects.select_related("customer", "site"), pk=pk)
    context: dict[str, Any] = {"estimate": row}
    try:
        context["view"] = scope_view(row)
    except EngineError as error:
        context["problem"] = str(error)
    return render(request, "estimating/scopes.html", context)


@requires(Role.OWNER, Role.OFFICE)
@require_GET
def estimate_risk(request: HttpRequest, pk: int) -> HttpResponse:
    row = get_object_or_404(Estimate.objects.select_related("customer", "site"), pk=pk)
    context: dict[str, Any] = {"estimate": row, "confidence_pct": CONFIDENCE_PCT}
    try:
        context["view"] = risk_view(row)
    except EngineError as error:
        context["problem"] = str(error)
    return render(request, "estimating/risk.html", context)
