"""The start page: what today asks for."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from estimating.selectors.home import start_page
from firm.access import requires, signed_in


@requires()
@require_GET
def home(request: HttpRequest) -> HttpResponse:
    today = timezone.localdate()
    if not signed_in(request).sees_prices:
        return render(request, "estimating/home_crew.html", {"today": today})
    context = {"today": today, "start": start_page(today=today)}
    return render(request, "estimating/home.html", context)
