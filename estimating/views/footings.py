"""What would pass: the page that compares ways of setting an estimate's posts against wind."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_GET

from estimating.engine.errors import EngineError
from estimating.engine.footing_variants import CLOSEST_IN, DEEPEST_HOLE_IN, WIDEST_HOLE_IN
from estimating.models import Estimate
from estimating.selectors.footing_advice import passing_variants
from firm.access import requires
from firm.errors import Refusal
from firm.models import Role


@requires(Role.OWNER, Role.OFFICE)
@require_GET
def estimate_what_would_pass(request: HttpRequest, pk: int) -> HttpResponse:
    row = get_object_or_404(Estimate.objects.select_related("customer", "site"), pk=pk)
    context: dict[str, Any] = {
        "estimate": row,
        "deepest_in": DEEPEST_HOLE_IN,
        "widest_in": WIDEST_HOLE_IN,
        "closest_in": CLOSEST_IN,
    }
    try:
        context["variants"] = passing_variants(row)
    except (EngineError, Refusal) as error:
        context["problem"] = str(error)
    return render(request, "estimating/what_would_pass.html", context)
