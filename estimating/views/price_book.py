"""Pages of the price book."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from estimating.forms.price_book import PriceItemForm
from estimating.models import PriceItem
from estimating.selectors.price_book import is_stale, listed_prices
from estimating.services.price_book import confirm_price, save_price_item
from firm.access import requires, signed_in
from firm.errors import Refusal
from firm.forms.fields import add_refusal
from firm.models import Role
from firm.views.refusing import page_with_forms


@requires(Role.OWNER, Role.OFFICE)
@require_safe
def price_book(request: HttpRequest) -> HttpResponse:
    """List prices; old ones are flagged."""
    words = request.GET.get("q", "").replace("\x00", "").strip()[:100]
    kind = request.GET.get("kind", "")
    only_stale = request.GET.get("stale") == "1"
    today = timezone.localdate()
    rows = listed_prices(
        today=today,
        words=words,
        kind=kind if kind in PriceItem.Kind.values else "",
        only_stale=only_stale,
    )
    return render(
        request,
        "estimating/price_book.html",
        {
            "rows": rows,
            "words": words,
            "kind": kind,
            "kinds": PriceItem.Kind.choices,
            "only_stale": only_stale,
            "stale_count": sum(row.is_stale and row.item.is_active for row in rows),
        },
    )


@requires(Role.OWNER, Role.OFFICE)
@require_http_methods(["GET", "POST"])
def price_item_new(request: HttpRequest) -> HttpResponse:
    """Add a row to the price book."""
    return _price_item(request, None)


@requires(Role.OWNER, Role.OFFICE)
@require_http_methods(["GET", "POST"])
def price_item_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a row of the price book."""
    return _price_item(request, get_object_or_404(PriceItem, pk=pk))


def _price_item(request: HttpRequest, item: PriceItem | None) -> HttpResponse:
    today = timezone.localdate()
    initial = {} if item else {"checked_on": today}
    # The service reads the row again; the form may change its own copy.
    stale = item is not None and is_stale(item, today=today)
    form = PriceItemForm(request.POST or None, instance=item, initial=initial, today=today)
    if form.is_valid():
        try:
            row = save_price_item(
                actor=signed_in(request),
                item=item,
                values=form.cleaned_data,
                at=timezone.now(),
            )
        except Refusal as refusal:
            add_refusal(form, refusal)
        else:
            messages.success(request, f"{row.name} is saved.")
            return redirect("price_book")
    context = {"form": form, "item_pk": item.pk if item else None, "is_stale": stale}
    return page_with_forms(request, "estimating/price_item_form.html", context)


@requires(Role.OWNER, Role.OFFICE)
@require_POST
def price_item_checked(request: HttpRequest, pk: int) -> HttpResponse:
    """Note that the price was looked at today and still stands."""
    item = get_object_or_404(PriceItem, pk=pk)
    confirm_price(
        actor=signed_in(request), item=item, today=timezone.localdate(), at=timezone.now()
    )
    messages.success(request, f"{item.name}: checked today, price unchanged.")
    return redirect("price_book")
