"""Jurisdictions: the list, adding and changing."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from firm.access import requires, signed_in
from firm.errors import Refusal
from firm.forms.fields import add_refusal
from firm.forms.jurisdictions import JurisdictionForm
from firm.models import Jurisdiction, Role
from firm.selectors.jurisdictions import jurisdictions_with_sites
from firm.services.jurisdictions import add_jurisdiction, change_jurisdiction
from firm.views.refusing import page_with_forms


@requires(Role.OWNER, Role.OFFICE)
@require_safe
def jurisdictions(request: HttpRequest) -> HttpResponse:
    """List jurisdictions."""
    return render(request, "firm/jurisdictions.html", {"jurisdictions": jurisdictions_with_sites()})


@requires(Role.OWNER, Role.OFFICE)
@require_http_methods(["GET", "POST"])
def jurisdiction_new(request: HttpRequest) -> HttpResponse:
    """Add a jurisdiction."""
    form = JurisdictionForm(request.POST or None)
    if form.is_valid():
        try:
            added = add_jurisdiction(
                actor=signed_in(request), values=form.cleaned_data, at=timezone.now()
            )
        except Refusal as refusal:
            add_refusal(form, refusal)
        else:
            messages.success(request, f"{added} is added.")
            return redirect("jurisdictions")
    return page_with_forms(request, "firm/jurisdiction_form.html", {"form": form})


@requires(Role.OWNER, Role.OFFICE)
@require_http_methods(["GET", "POST"])
def jurisdiction_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a jurisdiction."""
    found = get_object_or_404(Jurisdiction, pk=pk)
    form = JurisdictionForm(request.POST or None, instance=found)
    if form.is_valid():
        try:
            changed = change_jurisdiction(
                actor=signed_in(request),
                jurisdiction=found,
                values=form.cleaned_data,
                at=timezone.now(),
            )
        except Refusal as refusal:
            add_refusal(form, refusal)
        else:
            messages.success(request, f"{changed} is saved.")
            return redirect("jurisdictions")
    return page_with_forms(
        request, "firm/jurisdiction_form.html", {"form": form, "jurisdiction_pk": pk}
    )
