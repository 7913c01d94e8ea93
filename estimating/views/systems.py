"""Pages of the fence systems."""

import json
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from estimating.engine.errors import EngineError
from estimating.forms.price_book import SystemForm, as_text
from estimating.models import FenceSystem, PriceItem
from estimating.selectors.price_book import figure_in_words
from estimating.selectors.sample_line import SAMPLE_WORDS, SampleRow, sample_rows
from estimating.services.price_book import save_system
from firm.access import requires, signed_in
from firm.errors import Refusal
from firm.models import Role
from firm.selectors.profile import firm_units


@requires(Role.OWNER, Role.OFFICE)
@require_safe
def systems(request: HttpRequest) -> HttpResponse:
    """List the fence systems."""
    return render(request, "estimating/systems.html", {"systems": FenceSystem.objects.all()})


@requires(Role.OWNER, Role.OFFICE)
@require_safe
def system(request: HttpRequest, pk: int) -> HttpResponse:
    """Show what a fence system is made of."""
    row = get_object_or_404(FenceSystem, pk=pk)
    definition: dict[str, Any] = row.definition
    names = dict(PriceItem.objects.values_list("key", "name"))
    units = firm_units()
    figures = dict(
        figure_in_words(name, value, units)
        for name, value in definition.items()
        if not isinstance(value, dict | list)
    )
    groups = {
        title: dict(
            figure_in_words(name, value, units) for name, value in definition.get(part, {}).items()
        )
        for part, title in (("hole", "Hole"), ("gate", "Gates"), ("labor", "Labour"))
    }
    wind = definition.get("wind") or {}
    groups["Posts against wind"] = dict(
        figure_in_words(name, value, units)
        for name, value in wind.items()
        if not isinstance(value, dict)
    )
    posts = [
        {"role": role, "name": names.get(post.get("item", ""), post.get("item", "")), **post}
        for role, post in definition.get("posts", {}).items()
    ]
    materials = [
        {**material, "name": names.get(material.get("item", ""), material.get("item", ""))}
        for material in definition.get("materials", [])
    ]
    context = {
        "system": row,
        "figures": figures,
        "groups": groups,
        "posts": posts,
        "materials": materials,
    }
    return render(request, "estimating/system.html", context)


@requires(Role.OWNER, Role.OFFICE)
@require_http_methods(["GET", "POST"])
def system_new(request: HttpRequest) -> HttpResponse:
    """Add a fence system, most often as a copy of another one."""
    source = FenceSystem.objects.filter(key=request.GET.get("from", "")).first()
    initial = {"definition_text": as_text(source.definition, firm_units())} if source else {}
    form = SystemForm(request.POST or None, initial=initial)
    return _saved(request, form, None)


@requires(Role.OWNER, Role.OFFICE)
@require_http_methods(["GET", "POST"])
def system_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a fence system; estimates made before keep the one they were priced with."""
    row = get_object_or_404(FenceSystem, pk=pk)
    return _saved(request, SystemForm(request.POST or None, instance=row), row)


def _saved(request: HttpRequest, form: SystemForm, row: FenceSystem | None) -> HttpResponse:
    sample: list[SampleRow] = []
    if "sample" in request.POST:
        sample = _sample(form, row)
    elif form.is_valid():
        values = form.cleaned_data
        try:
            saved = save_system(
                actor=signed_in(request),
                system=row,
                seen_changed_at=values["seen_changed_at"],
                values={
                    "name": values["name"],
                    "key": values["key"],
                    "is_active": values["is_active"],
                    "definition": values["definition_text"],
                },
                at=timezone.now(),
            )
        except Refusal as refusal:
            field = {"definition": "definition_text", "key": "key"}.get(refusal.field)
            form.add_error(field, refusal.message)
        else:
            messages.success(request, f"{saved.name} is saved.")
            return redirect("system", pk=saved.pk)
    context = {
        "form": form,
        "system_pk": row.pk if row else None,
        "sample": sample,
        "sample_words": SAMPLE_WORDS,
    }
    status = 422 if form.errors else 200
    return render(request, "estimating/system_form.html", context, status=status)


def _sample(form: SystemForm, row: FenceSystem | None) -> list[SampleRow]:
    """Return what the typed definition does to the sample line; what it can't be goes to its field.

    A copy is compared with the system it was copied from.
    """
    if not form.is_valid() and "definition_text" in form.errors:
        return []
    definition = form.cleaned_data["definition_text"]
    before = row.definition if row else _source_definition(form)
    if not isinstance(definition, dict):
        form.add_error("definition_text", "A definition is an object in braces: { ... }.")
        return []
    try:
        return sample_rows(definition, before=before, today=timezone.localdate())
    except EngineError as error:
        form.add_error("definition_text", str(error))
        return []


def _source_definition(form: SystemForm) -> dict[str, Any] | None:
    text = form.initial.get("definition_text")
    return json.loads(text) if text else None
