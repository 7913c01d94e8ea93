"""The page of a job's own timeline."""

import datetime as dt
from dataclasses import replace

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from firm.access import requires, signed_in
from firm.selectors.languages import spoken
from scheduling.drawing.timeline import Timeline, timeline_svg
from scheduling.engine.wording import weekday_words
from scheduling.selectors.jobs import job_with_clearances
from scheduling.selectors.timelines import job_timeline

# In CSS pixels: words are as large on a phone as at a desk.
NARROW, WIDE = 340.0, 860.0


def _in_words(found: Timeline) -> Timeline:
    """Return a timeline whose words are said in the language of the page."""
    return replace(
        found,
        title=spoken(found.title),
        rows=[replace(row, name=spoken(row.name), when=spoken(row.when)) for row in found.rows],
        marks=[
            replace(mark, name=spoken(mark.name), when=spoken(mark.when)) for mark in found.marks
        ],
    )


def _day_words(day: dt.date) -> str:
    return spoken(weekday_words(day))


@requires()
@require_safe
def job_timeline_page(request: HttpRequest, pk: int) -> HttpResponse:
    """Show when a job is built, as a drawing for either width and as a table."""
    job = job_with_clearances(pk, signed_in(request))
    if job is None:
        raise Http404
    found = _in_words(job_timeline(job, now=timezone.now()))
    context = {
        "job": job,
        "timeline": found,
        "narrow": timeline_svg(found, width=NARROW, key="narrow", day_words=_day_words),
        "wide": timeline_svg(found, width=WIDE, key="wide", day_words=_day_words),
    }
    return render(request, "scheduling/job_timeline.html", context)
