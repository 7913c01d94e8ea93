"""The changes of a job, for its page."""

from typing import Any

from django import template

from estimating.selectors.changes import change_rows, contract_of
from estimating.selectors.grounds import ground_versions
from estimating.services.change_orders import rock_posts_in_orders
from scheduling.models import FenceJob
from scheduling.selectors.ground import rock_posts

register = template.Library()


@register.inclusion_tag("scheduling/_job_changes.html")
def job_changes(job: FenceJob, *, sees_prices: bool) -> dict[str, Any]:
    """Show change orders and the ground's versions; amounts only to those who see prices."""
    rows = change_rows(job.proposal_id)
    is_to_do = job.state == FenceJob.State.TO_DO
    rock = sorted(rock_posts(job)) if sees_prices and is_to_do else []
    if rock:
        rock = sorted(set(rock) - rock_posts_in_orders(job.proposal_id))
    return {
        "job": job,
        "rows": rows if sees_prices else [row for row in rows if row.state in {"draft", "signed"}],
        "contract": contract_of(job.proposal_id, rows) if sees_prices else None,
        "newest": ground_versions(job.proposal_id)[0],
        "rock_posts": rock,
        "is_to_do": is_to_do,
        "sees_prices": sees_prices,
    }
