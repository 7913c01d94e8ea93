"""A crew's papers: all of a day in one file, and its week."""

import datetime as dt

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.views.decorators.http import require_safe

from firm.access import requires, signed_in
from scheduling.selectors.reach import crews_within_reach
from scheduling.services import crew_papers
from scheduling.views.languages import asked_language


@requires()
@require_safe
def day_papers(request: HttpRequest, crew: int, date: dt.date) -> HttpResponse:
    """Hand out the load list and all sheets of a crew's day as one PDF."""
    pdf = crew_papers.day_papers_pdf(
        signed_in(request),
        crew=crew,
        date=date,
        now=timezone.now(),
        language=asked_language(request),
    )
    if pdf is None:
        raise Http404
    return _inline(pdf, name=f"day-{crew}-{date.isoformat()}.pdf")


@requires()
@require_safe
def week_paper(request: HttpRequest, crew: int, date: dt.date) -> HttpResponse:
    """Hand out a crew's week from a day on as PDF."""
    person = signed_in(request)
    found = get_object_or_404(crews_within_reach(person).prefetch_related("members"), pk=crew)
    pdf = crew_papers.week_paper_pdf(
        person, crew=found, first=date, now=timezone.now(), language=asked_language(request)
    )
    return _inline(pdf, name=f"week-{crew}-{date.isoformat()}.pdf")


def _inline(pdf: bytes, *, name: str) -> HttpResponse:
    answer = HttpResponse(pdf, content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="{name}"'
    return answer
