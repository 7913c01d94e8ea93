"""The end of a job, for its page."""

from typing import Any

from django import template
from django.utils import timezone

from estimating.selectors.invoices import contract_of
from scheduling.models import FenceJob
from scheduling.selectors.completion import job_end

register = template.Library()


@register.inclusion_tag("scheduling/_job_finish.html")
def job_finish(job: FenceJob, *, sees_prices: bool) -> dict[str, Any]:
    """Show what is to be put right and the signature; money only to those who see prices."""
    today = timezone.localdate()
    return {
        "job": job,
        "end": job_end(job),
        "is_to_do": job.state == FenceJob.State.TO_DO,
        "contract": contract_of(job.proposal_id, today=today) if sees_prices else None,
    }
