"""Pages of the fence systems."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe
from django.views.decorators.vary import vary_on_headers

from estimating.engine.errors import EngineError
from estimating.forms.sample import SampleForm
from estimating.forms.system_form import SystemForm, place_of
from estimating.models import FenceSystem, PriceItem, ProductionRate
from estimating.selectors.sample_line import (
    KEY,
    SAMPLE_WORDS,
    Sample,
    SampleAsked,
    sample_of,
)
from estimating.selectors.system_facts import system_facts
from estimating.services.price_book import save_system
from firm.access import requires, signed_in
from firm.errors import Refusal
from firm.measure.written import FEET_WORDS, lengths_in
from firm.models import Role
from firm.selectors.profile import firm_units
from firm.views.searching import is_part_of_page


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
    names, in_feet = _items()
    facts = system_facts(row.definition, names, firm_units(), in_feet)
    return render(request, "estimating/system.html", {"system": row, "facts": facts})


@requires(Role.OWNER, Role.OFFICE)
@require_http_methods(["GET", "POST"])
@vary_on_headers("HX-Request")
def system_new(request: HttpRequest) -> HttpResponse:
    """Add a fence system, most often as a copy of another one."""
    source = FenceSystem.objects.filter(key=request.GET.get("from", "")).first()
    return _answer(request, None, source)


@requires(Role.OWNER, Role.OFFICE)
@require_http_methods(["GET", "POST"])
@vary_on_headers("HX-Request")
def system_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a fence system; estimates made before keep the one they were priced with."""
    row = get_object_or_404(FenceSystem, pk=pk)
    return _answer(request, row, row)


def _answer(
    request: HttpRequest, row: FenceSystem | None, shown: FenceSystem | None
) -> HttpResponse:
    """Save what was typed, try it on the sample line, or show `shown` for a change."""
    (names, in_feet), units = _items(), firm_units()
    form = SystemForm(
        request.POST or None,
        base=shown.definition if shown else {},
        names=names,
        in_feet=in_feet,
        rates=set(
            ProductionRate.objects.filter(kind=ProductionRate.Kind.HOURS).values_list(
                "key", flat=True
            )
        ),
        instance=row or FenceSystem(),
    )
    sample: Sample | None = None
    sample_form = SampleForm(request.POST or None, units=units)
    if request.method == "POST" and "sample" in request.POST:
        sample = _sample(form, sample_form.asked)
    elif form.is_valid():
        saved = _saved(request, form, row)
        if saved:
            messages.success(request, f"{saved.name} is saved.")
            return redirect("system", pk=saved.pk)
    context = {
        "form": form,
        "row": row,
        "source": None if row else shown,
        "items": names,
        "sample": sample,
        "sample_form": sample_form,
        "sample_words": lengths_in(SAMPLE_WORDS, units),
    }
    if is_part_of_page(request):
        # What is wrong is the answer here, so that the page takes it in.
        return render(request, "estimating/_system_sample.html", context)
    status = 422 if form.errors else 200
    return render(request, "estimating/system_form.html", context, status=status)


def _saved(request: HttpRequest, form: SystemForm, row: FenceSystem | None) -> FenceSystem | None:
    """Save the system, or put the refusal at the field it belongs to."""
    values = form.cleaned_data
    try:
        return save_system(
            actor=signed_in(request),
            system=row,
            seen_changed_at=values["seen_changed_at"],
            values={name: values[name] for name in ("name", "key", "is_active", "definition")},
            at=timezone.now(),
        )
    except Refusal as refusal:
        part, _, path = refusal.field.partition(".")
        if part == "definition":
            form.add_engine_error(refusal.message, path)
        else:
            form.add_error(part or None, refusal.message)
    return None


def _sample(form: SystemForm, asked: SampleAsked) -> Sample | None:
    """Return what the typed definition does to the sample line; what it can't be goes to its field.

    A copy is compared with the system it was copied from.
    """
    definition = form.definition_to_try()
    if definition is None:
        return None
    try:
        return sample_of(
            definition,
            before=form.base or None,
            today=timezone.localdate(),
            units=firm_units(),
            asked=asked,
        )
    except EngineError as error:
        path = place_of(error, KEY)
        form.add_engine_error(str(error).replace(error.field, path), path)
        return None


def _items() -> tuple[dict[str, str], frozenset[str]]:
    """Return the names of the price book's items, and which of them are counted in feet."""
    rows = list(
        PriceItem.objects.filter(is_active=True).order_by("name").values_list("key", "name", "unit")
    )
    in_feet = frozenset(key for key, _, unit in rows if unit in FEET_WORDS)
    return {key: name for key, name, _ in rows}, in_feet
