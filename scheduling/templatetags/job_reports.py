"""Shows what crews reported of a job on the page of the job."""

from typing import Any

from django import template
from django.http import HttpRequest

from firm.models import User
from scheduling.models import FenceJob
from scheduling.selectors.reports import reported

register = template.Library()


@register.inclusion_tag("scheduling/_job_reports.html", takes_context=True)
def job_reports(context: template.Context, job: FenceJob) -> dict[str, Any]:
    """Show a job's reports, rock and photos as far as the person who is logged in may see them."""
    request = context.get("request")
    person = request.user if isinstance(request, HttpRequest) else None
    return {"job": job, "reported": reported(job, person) if isinstance(person, User) else None}
