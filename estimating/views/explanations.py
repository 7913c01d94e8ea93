"""Where the numbers of an estimate come from: the page, and the whole as a file."""

import json

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET

from estimating.engine.errors import EngineError
from estimating.engine.explain import Explanation
from estimating.models import Estimate
from estimating.selectors.explanations import as_json, chain_view, explanation_of
from firm.access import requires
from firm.models import Role


@requires(Role.OWNER, Role.OFFICE)
@require_GET
def estimate_where_from(request: HttpRequest, pk: int) -> HttpResponse:
    """Show the chain of one figure, named by `of`, or of all."""
    row = get_object_or_404(Estimate, pk=pk)
    explained = _explained(request, row)
    if explained is None:
        return redirect("estimate", pk=row.pk)
    key = request.GET.get("of", "")
    chain = chain_view(explained, key, row)
    if chain is None:
        # The estimate was priced again meanwhile, and this figure is no more.
        return redirect("estimate_where_from", pk=row.pk)
    context = {"estimate": row, "chain": chain, "is_one": bool(key)}
    return render(request, "estimating/where_from.html", context)


@requires(Role.OWNER, Role.OFFICE)
@require_GET
def estimate_json(request: HttpRequest, pk: int) -> HttpResponse:
    """Hand out the whole estimate, with where each figure comes from."""
    row = get_object_or_404(Estimate, pk=pk)
    explained = _explained(request, row)
    if explained is None:
        return redirect("estimate", pk=row.pk)
    whole = json.dumps(as_json(row, explained), indent=2, ensure_ascii=False) + "\n"
    answer = HttpResponse(whole, content_type="application/json")
    answer["Content-Disposition"] = f'attachment; filename="estimate-{row.label}.json"'
    return answer


def _explained(request: HttpRequest, row: Estimate) -> Explanation | None:
    """Return the chain, or say on the next page why there is none."""
    try:
        explained = explanation_of(row)
    except EngineError as error:
        messages.error(request, f"What this estimate was priced with can't be read: {error}")
        return None
    if explained is None:
        messages.error(request, "This estimate has not been priced, so nothing makes a price.")
    return explained
