"""What a job's crew reported that its ground and its change orders need to know."""

from scheduling.models import FenceJob, PostRecord


def set_posts(job: FenceJob) -> frozenset[int]:
    """Return the numbers of the posts that stand in the ground."""
    rows = PostRecord.objects.filter(job=job, set_at__isnull=False)
    return frozenset(rows.values_list("number", flat=True))


def rock_posts(job: FenceJob) -> frozenset[int]:
    """Return the numbers of the posts at which rock was met."""
    rows = PostRecord.objects.filter(job=job, met_rock=True)
    return frozenset(rows.values_list("number", flat=True))
