"""A crew lead's day: the days to come, one day, and the sheet of one job on it."""

import datetime as dt

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from firm.access import requires, signed_in
from firm.selectors.languages import speaking
from scheduling.selectors.day_sheet import DaySheet, day_sheet_of
from scheduling.selectors.days import ONE_DAY, coming_days, crew_day
from scheduling.selectors.reach import crews_within_reach
from scheduling.selectors.reports import days_without_hours
from scheduling.services.day_sheet_parts import day_parts, sheet_parts
from scheduling.services.day_sheet_pdf import day_sheet_pdf as printed
from scheduling.views.languages import asked_language, language_links


@requires()
@require_safe
def my_days(request: HttpRequest) -> HttpResponse:
    """Show the days of one's own crews for a week; the office picks a crew."""
    person, now = signed_in(request), timezone.now()
    today = timezone.localdate(now)
    crews = list(crews_within_reach(person).filter(is_active=True))
    asked = request.GET.get("crew", "")
    chosen = next((crew for crew in crews if str(crew.pk) == asked), None)
    crew = chosen.pk if chosen else None
    days = coming_days(person, now=now, crew=crew)
    context = {
        "today": today,
        "tomorrow": today + ONE_DAY,
        "days_today": [day for day in days if day.date == today],
        "days_later": [day for day in days if day.date != today],
        "without_hours": days_without_hours(person, today=today, crew=crew),
        "crews": crews,
        "chosen": chosen,
        "paper_crew": chosen or (crews[0] if len(crews) == 1 else None),
        "is_free_today": not any(day.date == today for day in days),
    }
    return render(request, "scheduling/days.html", context)


@requires()
@require_safe
def day(request: HttpRequest, crew: int, date: dt.date) -> HttpResponse:
    """Show all that a crew does on one day."""
    found = crew_day(signed_in(request), crew=crew, date=date, now=timezone.now())
    if found is None:
        raise Http404
    context = {
        "day": found,
        "before": date - ONE_DAY,
        "after": date + ONE_DAY,
        "today": timezone.localdate(),
    }
    return render(request, "scheduling/day.html", context)


@requires()
@require_safe
def day_sheet(request: HttpRequest, crew: int, date: dt.date, job: int) -> HttpResponse:
    """Show the sheet of one job on a crew's day, in its newest version or in ?version=."""
    sheet = _sheet(request, crew, date, job)
    context = {
        "sheet": sheet,
        "job": sheet.job,
        "layout": sheet.layout,
        "content": sheet.content,
        # A day that is still to come has no report yet.
        "today": timezone.localdate(),
        "day_parts": day_parts(sheet),
        "sheet_parts": sheet_parts(sheet),
    } | language_links(request, sheet.language)
    with speaking(sheet.language):
        return render(request, "scheduling/day_sheet.html", context)


@requires()
@require_safe
def day_sheet_pdf(request: HttpRequest, crew: int, date: dt.date, job: int) -> HttpResponse:
    """Hand out the same sheet as it is printed."""
    sheet = _sheet(request, crew, date, job, on_paper=True)
    answer = HttpResponse(printed(sheet, now=timezone.now()), content_type="application/pdf")
    name = f"job-{sheet.job.label}-{date.isoformat()}.pdf"
    answer["Content-Disposition"] = f'inline; filename="{name}"'
    return answer


def _sheet(
    request: HttpRequest, crew: int, date: dt.date, job: int, *, on_paper: bool = False
) -> DaySheet:
    found = day_sheet_of(
        signed_in(request),
        crew=crew,
        date=date,
        job=job,
        now=timezone.now(),
        version=_asked_version(request),
        on_paper=on_paper,
        language=asked_language(request),
    )
    if found is None:
        raise Http404
    return found


def _asked_version(request: HttpRequest) -> int | None:
    asked = request.GET.get("version", "")
    if not asked:
        return None
    if not (asked.isascii() and asked.isdecimal() and len(asked) < 6):
        raise Http404
    return int(asked)
