"""Pages of the suppliers."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from estimating.forms.suppliers import SupplierForm
from estimating.models import Supplier
from estimating.selectors.suppliers import suppliers_by_name
from estimating.services.suppliers import save_supplier
from firm.access import requires, signed_in
from firm.errors import Refusal
from firm.forms.fields import add_refusal
from firm.models import Role


@requires(Role.OWNER, Role.OFFICE)
@require_safe
def suppliers(request: HttpRequest) -> HttpResponse:
    """List who the firm buys from."""
    return render(request, "estimating/suppliers.html", {"suppliers": suppliers_by_name()})


@requires(Role.OWNER, Role.OFFICE)
@require_http_methods(["GET", "POST"])
def supplier_new(request: HttpRequest) -> HttpResponse:
    """Add a supplier."""
    return _supplier(request, None)


@requires(Role.OWNER, Role.OFFICE)
@require_http_methods(["GET", "POST"])
def supplier_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a supplier."""
    return _supplier(request, get_object_or_404(Supplier, pk=pk))


def _supplier(request: HttpRequest, row: Supplier | None) -> HttpResponse:
    heading = row.name if row else "Add a supplier"
    form = SupplierForm(request.POST or None, instance=row)
    if form.is_valid():
        try:
            kept = save_supplier(
                actor=signed_in(request),
                supplier=row,
                values=form.cleaned_data,
                at=timezone.now(),
            )
        except Refusal as refusal:
            add_refusal(form, refusal)
        else:
            messages.success(request, f"{kept.name} is saved.")
            return redirect("suppliers")
    status = 422 if request.method == "POST" else 200
    context = {"form": form, "heading": heading}
    return render(request, "estimating/supplier_form.html", context, status=status)
