"""Pages of what the firm is not sure of: the rows that the risk of an estimate is drawn from."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from estimating.forms.uncertain import UncertainForm
from estimating.models import UncertainRow
from estimating.services.uncertain import save_uncertain
from firm.access import requires, signed_in
from firm.errors import Refusal
from firm.forms.fields import add_refusal
from firm.models import Role


@requires(Role.OWNER, Role.OFFICE)
@require_safe
def uncertain_rows(request: HttpRequest) -> HttpResponse:
    rows = UncertainRow.objects.order_by("-is_active", "target", "name")
    return render(request, "estimating/uncertain.html", {"rows": rows})


@requires(Role.OWNER)
@require_http_methods(["GET", "POST"])
def uncertain_new(request: HttpRequest) -> HttpResponse:
    return _row(request, None)


@requires(Role.OWNER)
@require_http_methods(["GET", "POST"])
def uncertain_edit(request: HttpRequest, pk: int) -> HttpResponse:
    return _row(request, get_object_or_404(UncertainRow, pk=pk))


def _row(request: HttpRequest, row: UncertainRow | None) -> HttpResponse:
    heading = row.name if row else "Add what is uncertain"
    form = UncertainForm(request.POST or None, instance=row)
    if form.is_valid():
        try:
            kept = save_uncertain(
                actor=signed_in(request), row=row, values=form.cleaned_data, at=timezone.now()
            )
        except Refusal as refusal:
            add_refusal(form, refusal)
        else:
            messages.success(request, f"{kept.name} is saved.")
            return redirect("uncertain_rows")
    status = 422 if request.method == "POST" else 200
    context = {"form": form, "heading": heading}
    return render(request, "estimating/uncertain_form.html", context, status=status)
