"""The holidays of a year, and on which of them crews work."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from firm.access import requires, signed_in
from firm.errors import Refusal
from firm.forms.fields import add_refusal
from firm.models import Role
from firm.selectors.profile import firm_profile
from scheduling.forms.holidays import HolidaysForm
from scheduling.selectors.holidays import holidays_in
from scheduling.services.holidays import work_on_holidays

YEARS_ROUND = 5


@requires(Role.OWNER, Role.OFFICE)
@require_http_methods(["GET", "POST"])
def holidays(request: HttpRequest) -> HttpResponse:
    """Show the holidays of this year, or of ?year=2027, and take those on which crews work."""
    this_year, firm = timezone.localdate().year, firm_profile()
    year = _asked_year(request.GET.get("year", ""), this_year)
    known = holidays_in(firm, [year])
    form = HolidaysForm(request.POST if request.method == "POST" else None, holidays=known.values())
    if form.is_valid():
        try:
            work_on_holidays(
                actor=signed_in(request),
                year=year,
                days=form.cleaned_data["worked"],
                at=timezone.now(),
            )
        except Refusal as refusal:
            add_refusal(form, refusal)
        else:
            messages.success(request, f"The holidays of {year} are saved.")
            return redirect(f"{reverse('holidays')}?year={year}")
    context = {
        "form": form,
        "firm": firm,
        "year": year,
        "has_holidays": bool(known),
        "years": range(this_year - 1, this_year + 3),
    }
    status = 422 if form.errors else 200
    return render(request, "scheduling/holidays.html", context, status=status)


def _asked_year(text: str, this_year: int) -> int:
    if not text:
        return this_year
    if not text.isascii() or not text.isdigit() or abs(int(text[:6]) - this_year) > YEARS_ROUND:
        raise Http404
    return int(text)
