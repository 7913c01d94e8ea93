"""The week per crew, and the buttons that give jobs their days."""

import datetime as dt

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from firm.access import requires, signed_in
from firm.errors import Refusal
from firm.forms.fields import LIKELY_YEARS
from firm.models import Role
from scheduling.models import FenceJob
from scheduling.selectors.calendar import monday_of, week_view
from scheduling.selectors.month import month_view
from scheduling.selectors.plan_changes import unseen_count
from scheduling.services.placing import place_all, place_job

# Each is a sentence or two above the week; the list beside it holds the others.
MOST_REASONS = 5


@requires(Role.OWNER, Role.OFFICE)
@require_safe
def week(request: HttpRequest) -> HttpResponse:
    """Show a week of all crews: this one, ?week=2026-W23, or the one of ?from=2026-06-03."""
    now = timezone.now()
    view = week_view(monday=_asked_monday(request), now=now)
    this_monday = monday_of(timezone.localdate(now))
    context = {
        "view": view,
        "is_this_week": view.monday == this_monday,
        "unseen": unseen_count(),
    }
    return render(request, "scheduling/week.html", context)


@requires(Role.OWNER, Role.OFFICE)
@require_safe
def month(request: HttpRequest) -> HttpResponse:
    """Show a month of all crews: this one, or ?month=2026-06."""
    now = timezone.now()
    this_month = timezone.localdate(now).replace(day=1)
    asked = request.GET.get("month", "")
    view = month_view(first=_first_of(asked) if asked else this_month, now=now)
    context = {"view": view, "is_this_month": view.first == this_month}
    return render(request, "scheduling/month.html", context)


@requires(Role.OWNER, Role.OFFICE)
@require_POST
def week_place(request: HttpRequest, pk: int) -> HttpResponse:
    """Give a job's phases their days, and show the week of the first."""
    job = get_object_or_404(FenceJob, pk=pk)
    try:
        placed = place_job(job=job, actor=signed_in(request), now=timezone.now())
    except Refusal as refusal:
        messages.error(request, f"{job} is not placed. {refusal}")
        return redirect(_week_address(request.POST.get("from", "")))
    if not placed:
        messages.info(request, f"{job}: nothing was left to place.")
        return redirect(_week_address(request.POST.get("from", "")))
    first, last = min(block.date for block in placed), max(block.date for block in placed)
    messages.success(request, f"{job} is placed from {_day(first)} to {_day(last)}.")
    return redirect(_week_address(first.isoformat()))


@requires(Role.OWNER, Role.OFFICE)
@require_POST
def week_place_all(request: HttpRequest) -> HttpResponse:
    """Give all jobs to be done their days, in the order they were signed."""
    summary = place_all(actor=signed_in(request), now=timezone.now())
    count = len(summary.placed)
    if count:
        jobs = "1 job has its days" if count == 1 else f"{count} jobs have their days"
        messages.success(request, f"{jobs} on the calendar.")
    for job, why in summary.waiting[:MOST_REASONS]:
        messages.warning(request, f"{job} is not placed. {why}")
    left = len(summary.waiting) - MOST_REASONS
    if left > 0:
        messages.warning(request, f"{left} more wait: see the list of those without a day.")
    if not count and not summary.waiting:
        messages.info(request, "No job is to be placed.")
    return redirect(_week_address(request.POST.get("from", "")))


def _week_address(from_day: str) -> str:
    """Return the address of a day's week, or of this one."""
    try:
        day = dt.date.fromisoformat(from_day)
    except ValueError:
        return reverse("week")
    return f"{reverse('week')}?from={day.isoformat()}"


def _asked_monday(request: HttpRequest) -> dt.date:
    """Return the Monday that is asked for; a week the calendar lacks is no page."""
    asked_week, asked_day = request.GET.get("week", ""), request.GET.get("from", "")
    if not asked_week and not asked_day:
        return monday_of(timezone.localdate())
    try:
        if asked_week:
            day = dt.datetime.strptime(f"{asked_week}-1", "%G-W%V-%u").date()  # noqa: DTZ007
        else:
            day = dt.date.fromisoformat(asked_day)
    except ValueError as error:
        raise Http404("There is no such week.") from error
    if day.year not in LIKELY_YEARS:
        raise Http404("There is no such week.")
    return monday_of(day)


def _first_of(asked: str) -> dt.date:
    """Return the first day of the month that is asked for; one the calendar lacks is no page."""
    try:
        day = dt.date.fromisoformat(f"{asked}-01")
    except ValueError as error:
        raise Http404("There is no such month.") from error
    if day.year not in LIKELY_YEARS:
        raise Http404("There is no such month.")
    return day


def _day(day: dt.date) -> str:
    return f"{day:%a %b} {day.day}"
