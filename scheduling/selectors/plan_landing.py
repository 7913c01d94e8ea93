"""Where a plan that was taken is looked at first."""

import datetime as dt

from django.utils import timezone

from scheduling.models import CrewDay

Standing = frozenset[tuple[dt.date, int, int, object, object]]


def blocks_ahead(*, now: dt.datetime) -> Standing:
    """Return what stands where after today."""
    rows = CrewDay.objects.filter(date__gt=timezone.localdate(now))
    return frozenset(rows.values_list("date", "phase", "crew", "hours", "start"))


def first_day_changed(before: Standing, after: Standing) -> dt.date | None:
    """Return the day of the first block that is new or moved, else of the first that went."""
    changed = after - before or before - after
    return min((date for date, *_ in changed), default=None)
