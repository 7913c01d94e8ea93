"""The rows of the calendar under its lock, and taking them off it."""

import datetime as dt
from collections.abc import Iterable

from django.db import transaction
from django.db.models import Exists, OuterRef
from django.utils import timezone

from firm.models import User
from firm.services import audit
from scheduling.models import Crew, CrewDay, DayReport, FenceJob


def lock_calendar() -> None:
    """Make who places at the same time wait: all crews' rows, always in one order."""
    list(Crew.objects.select_for_update().order_by("pk").values_list("pk", flat=True))


@transaction.atomic
def clear_future_blocks(*, job: FenceJob, actor: User | None, now: dt.datetime) -> None:
    """Take a job off the calendar from today on; a day that was reported stands."""
    reported = DayReport.objects.filter(
        job=OuterRef("job"), crew=OuterRef("crew"), date=OuterRef("date")
    )
    rows = CrewDay.objects.filter(job=job, date__gte=timezone.localdate(now))
    remove_blocks(rows.exclude(Exists(reported)), actor=actor, now=now)


def remove_blocks(rows: Iterable[CrewDay], *, actor: User | None, now: dt.datetime) -> None:
    """Take blocks off the calendar, each with its record."""
    for row in rows:
        audit.record(
            actor=actor,
            action="took a block off the calendar",
            target=row,
            before=audit.snapshot(row),
            at=now,
        )
        row.delete()
