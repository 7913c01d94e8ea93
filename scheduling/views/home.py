"""The start page: what today asks for; for a crew lead their own days."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from estimating.selectors.home import start_page
from firm.access import requires, signed_in
from scheduling.selectors.home import jobs_today, own_days


@requires()
@require_GET
def home(request: HttpRequest) -> HttpResponse:
    """Show the morning's lists to the office, and a crew lead where their crews go."""
    now, person = timezone.now(), signed_in(request)
    today = timezone.localdate(now)
    if not person.sees_prices:
        context = {"today": today, "days": own_days(person, today=today)}
        return render(request, "scheduling/home_crew.html", context)
    context = {"today": today, "start": start_page(today=today), "jobs": jobs_today(now=now)}
    return render(request, "scheduling/home.html", context)
