"""Frost depth by climate: a page that works out and keeps nothing."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from estimating.forms.frost import FrostForm
from estimating.selectors.frost_advice import frost_advice, frost_choices
from firm.access import requires
from firm.models import Role
from firm.selectors.profile import firm_units


@requires(Role.OWNER, Role.OFFICE)
@require_GET
def frost_depth(request: HttpRequest) -> HttpResponse:
    form = FrostForm(
        request.GET or None,
        units=firm_units(),
        soils=frost_choices("soils"),
        surfaces=frost_choices("surfaces"),
    )
    context: dict[str, Any] = {"form": form}
    status = 200
    if form.is_valid():
        context["advice"] = frost_advice(
            index_f_days=form.index_f_days,
            freezing_days=form.cleaned_data["freezing_days"],
            mean_annual_f=form.mean_annual_f,
            soil=form.cleaned_data["soil"],
            surface=form.cleaned_data["surface"],
        )
    elif form.is_bound:
        status = 422
    return render(request, "estimating/frost_depth.html", context, status=status)
