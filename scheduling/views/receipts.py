"""The page on which a receipt that was written down wrongly is taken back."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from firm.access import requires, signed_in
from firm.errors import Refusal
from firm.forms.fields import add_refusal
from firm.models import Role
from scheduling.forms.buying import TakeBackForm
from scheduling.models import Receipt
from scheduling.services.receipts import Came, take_back


@requires(Role.OWNER, Role.OFFICE)
@require_http_methods(["GET", "POST"])
def receipt_take_back(request: HttpRequest, pk: int) -> HttpResponse:
    """Take back what did not come after all, all of it unless a smaller count is typed."""
    rows = Receipt.objects.filter(takes_back=None).select_related(
        "line__order__supplier", "line__order__job", "taken_back_by"
    )
    receipt = get_object_or_404(rows, pk=pk)
    order = receipt.line.order
    form = TakeBackForm(request.POST if request.method == "POST" else None, receipt=receipt)
    if form.is_valid():
        values = form.cleaned_data
        try:
            take_back(
                receipt=receipt,
                came=Came(count=values["count"] or 0, damaged=values.get("damaged") or 0),
                reason=values["reason"],
                actor=signed_in(request),
                now=timezone.now(),
            )
        except Refusal as refusal:
            add_refusal(form, refusal)
        else:
            messages.success(request, "It is taken back: what is still to come is counted anew.")
            return redirect("purchase_order", pk=order.pk)
    context = {
        "receipt": receipt,
        "order": order,
        "form": form,
        "is_taken_back": hasattr(receipt, "taken_back_by") and not form.is_bound,
    }
    status = 422 if request.method == "POST" else 200
    return render(request, "scheduling/receipt_take_back.html", context, status=status)
