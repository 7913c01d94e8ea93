"""A repair priced without a layout: a customer, and typed lines."""

from django.db.models import QuerySet
from django.forms import BaseModelFormSet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from estimating.forms.estimates import RepairForm, TypedLineForm, TypedLineFormSet
from estimating.models import EstimateLine
from estimating.services.estimates import price_repair
from firm.access import requires, signed_in
from firm.errors import Refusal
from firm.forms.fields import add_refusal
from firm.models import Role

MORE_LINES = 3

Lines = BaseModelFormSet[EstimateLine, TypedLineForm]


@requires(Role.OWNER, Role.OFFICE)
@require_http_methods(["GET", "POST"])
def repair_new(request: HttpRequest) -> HttpResponse:
    status = 200
    if request.method == "GET":
        chosen = {name: request.GET[name] for name in ("customer", "site") if name in request.GET}
        form, lines = RepairForm(initial=chosen), _lines()
    elif request.POST.get("act") == "more":
        form, lines = RepairForm(initial=request.POST.dict()), _more_lines(request)
    else:
        form = RepairForm(request.POST)
        lines = TypedLineFormSet(request.POST, queryset=_none(), prefix="lines")
        # Both are checked, so that all messages show at once.
        if all([form.is_valid(), lines.is_valid()]) and (answer := _price(request, form, lines)):
            return answer
        status = 422
    return render(
        request, "estimating/repair_new.html", {"form": form, "lines": lines}, status=status
    )


def _price(
    request: HttpRequest,
    form: RepairForm,
    lines: Lines,
) -> HttpResponse | None:
    values = form.cleaned_data
    filled = [each.save(commit=False) for each in lines if each.has_changed()]
    try:
        row = price_repair(
            customer=values["customer"],
            site=values["site"],
            title=values["title"],
            notes=values["notes"],
            lines=filled,
            actor=signed_in(request),
            now=timezone.now(),
        )
    except Refusal as refusal:
        add_refusal(form, refusal)
        return None
    return redirect("estimate", pk=row.pk)


def _none() -> QuerySet[EstimateLine]:
    return EstimateLine.objects.none()


def _lines() -> Lines:
    return TypedLineFormSet(queryset=_none(), prefix="lines")


def _more_lines(request: HttpRequest) -> Lines:
    """Return the lines as typed, unchecked, and a few blank ones below them."""
    total = request.POST.get("lines-TOTAL_FORMS", "0")
    count = min(int(total) if total.isdecimal() else 0, 60)
    typed = [
        {name: request.POST.get(f"lines-{i}-{name}", "") for name in TypedLineForm.base_fields}
        for i in range(count)
    ]
    formset = TypedLineFormSet(queryset=_none(), prefix="lines", initial=typed)
    formset.extra = len(typed) + MORE_LINES
    return formset
