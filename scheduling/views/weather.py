"""The pages of the weather: air and rain of days around today, the air usual in each month."""

import datetime as dt

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from firm.access import requires, signed_in
from firm.forms.fields import LIKELY_YEARS
from firm.measure.written import how_many
from firm.models import Role
from firm.views.meanwhile import say_kept_meanwhile
from scheduling.forms.weather import LowHighForms, day_lines, month_lines
from scheduling.selectors import weather as selectors
from scheduling.selectors.plan_changes import unseen_count
from scheduling.services import weather as services

DAYS_SHOWN = 14
# Concrete that was poured in the last days still hardens in the air they had.
DAYS_BEHIND = 3
ONE_DAY = dt.timedelta(days=1)


@requires(Role.OWNER, Role.OFFICE)
@require_http_methods(["GET", "POST"])
def weather(request: HttpRequest) -> HttpResponse:
    """Show and write down two weeks' air and rain, from ?from=2026-05-01 or three days ago."""
    first = _asked_day(request)
    rows = selectors.air_of_days(first, first + ONE_DAY * (DAYS_SHOWN - 1))
    rain = selectors.rain_of_days(first, first + ONE_DAY * (DAYS_SHOWN - 1))
    lines = day_lines(request.POST or None, first=first, days=DAYS_SHOWN, rows=rows, rain=rain)
    if request.method == "POST" and lines.are_valid():
        count = services.write_down_weather(
            pairs={dt.date.fromisoformat(str(line.prefix)): line.pair for line in lines.changed},
            rain=lines.rain,
            actor=signed_in(request),
            now=timezone.now(),
        )
        _say_saved(request, count, "day")
        say_kept_meanwhile(request, *lines.lines)
        return redirect(f"{request.path}?from={first.isoformat()}")
    context = {
        "lines": lines,
        "today": timezone.localdate(),
        "earlier": first - ONE_DAY * DAYS_SHOWN,
        "later": first + ONE_DAY * DAYS_SHOWN,
        "unseen": unseen_count(),
    }
    return render(request, "scheduling/weather.html", context, status=_status(lines))


@requires(Role.OWNER, Role.OFFICE)
@require_http_methods(["GET", "POST"])
def weather_months(request: HttpRequest) -> HttpResponse:
    """Show and write down what is usual in each month."""
    lines = month_lines(request.POST or None, rows=selectors.air_of_months())
    if request.method == "POST" and lines.are_valid():
        count = services.write_down_months(
            pairs={int(str(line.prefix)): line.pair for line in lines.changed},
            actor=signed_in(request),
            now=timezone.now(),
        )
        _say_saved(request, count, "month")
        say_kept_meanwhile(request, *lines.lines)
        return redirect("weather_months")
    context = {"lines": lines}
    return render(request, "scheduling/weather_months.html", context, status=_status(lines))


def _asked_day(request: HttpRequest) -> dt.date:
    usual = timezone.localdate() - ONE_DAY * DAYS_BEHIND
    try:
        asked = dt.date.fromisoformat(request.GET.get("from", ""))
    except ValueError:
        return usual
    return asked if asked.year in LIKELY_YEARS else usual


def _say_saved(request: HttpRequest, count: int, what: str) -> None:
    if count:
        words = how_many(count, what)
        messages.success(request, f"The weather of {words} is written down: the plan follows it.")
    else:
        messages.info(request, "Nothing was changed.")


def _status(lines: LowHighForms) -> int:
    return 422 if lines.error_count else 200
