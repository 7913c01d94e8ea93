"""Notes when a customer first opened a proposal's link."""

import datetime as dt

from estimating.models import Proposal


def note_first_reading(*, proposal: Proposal, now: dt.datetime) -> None:
    """Keep the first time and no later one."""
    if proposal.first_read_at is None:
        Proposal.objects.filter(pk=proposal.pk, first_read_at__isnull=True).update(
            first_read_at=now
        )
