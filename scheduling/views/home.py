"""The start page: what today asks for; a crew lead begins at their own days."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET

from estimating.selectors.home import start_page
from firm.access import requires, signed_in
from scheduling.selectors.home import jobs_today
from scheduling.selectors.plan_changes import unseen_changes


@requires()
@require_GET
def home(request: HttpRequest) -> HttpResponse:
    """Show the morning's lists to the office; a crew lead begins at the crews' days."""
    if not signed_in(request).sees_prices:
        return redirect("my_days")
    now = timezone.now()
    today = timezone.localdate(now)
    context = {
        "today": today,
        "start": start_page(today=today),
        "jobs": jobs_today(now=now),
        "changes": unseen_changes(now=now),
    }
    return render(request, "scheduling/home.html", context)
