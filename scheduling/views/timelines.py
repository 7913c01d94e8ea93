"""The page of a job's own timeline."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from firm.access import requires, signed_in
from scheduling.drawing.timeline import timeline_svg
from scheduling.selectors.jobs import job_with_clearances
from scheduling.selectors.timelines import job_timeline

# In CSS pixels: words are as large on a phone as at a desk.
NARROW, WIDE = 340.0, 860.0


@requires()
@require_safe
def job_timeline_page(request: HttpRequest, pk: int) -> HttpResponse:
    """Show when a job is built, as a drawing for either width and as a table."""
    job = job_with_clearances(pk, signed_in(request))
    if job is None:
        raise Http404
    found = job_timeline(job, now=timezone.now())
    context = {
        "job": job,
        "timeline": found,
        "narrow": timeline_svg(found, width=NARROW, key="narrow"),
        "wide": timeline_svg(found, width=WIDE, key="wide"),
    }
    return render(request, "scheduling/job_timeline.html", context)
