"""Saying on which public holidays the firm works after all."""

import datetime as dt
from collections.abc import Collection, Iterator, Mapping
from contextlib import contextmanager
from typing import Any

from django.db import transaction

from firm.errors import Refusal
from firm.models import FirmProfile, User
from firm.selectors.profile import firm_profile
from firm.services.audit import record
from scheduling.models import PlanChange, WorkedHoliday
from scheduling.selectors.holidays import FirmHoliday, holidays_in
from scheduling.services.broken_blocks import noting_broken_blocks

# Whose holidays the firm keeps.
HOLIDAYS_OF = ("holiday_country", "holiday_state")


@contextmanager
def noting_other_holidays(
    profile: FirmProfile, changes: Mapping[str, Any], actor: User, at: dt.datetime
) -> Iterator[None]:
    """Write down which blocks fall on a holiday once the firm keeps those of another place."""
    kept = {name: getattr(profile, name) for name in HOLIDAYS_OF}
    if all(changes.get(name, value) == value for name, value in kept.items()):
        yield
        return
    with noting_broken_blocks(cause=PlanChange.Cause.HOLIDAY, actor=actor, now=at):
        yield


@transaction.atomic
def work_on_holidays(
    *, actor: User, year: int, days: Collection[dt.date], at: dt.datetime
) -> list[dt.date]:
    """Work on these holidays of a year, and on no other of it; return the days that changed.

    Raises:
        Refusal: one of the days is no holiday where the firm is at home.
    """
    known = holidays_in(firm_profile(), [year])
    for day in days:
        if day not in known:
            raise Refusal(f"{day:%b} {day.day}, {day.year} is no holiday here.", field="worked")
    cause = PlanChange.Cause.HOLIDAY
    with noting_broken_blocks(cause=cause, actor=actor, now=at):
        return _work_on(known, year, days, actor=actor, at=at)


def _work_on(
    known: Mapping[dt.date, FirmHoliday],
    year: int,
    days: Collection[dt.date],
    *,
    actor: User,
    at: dt.datetime,
) -> list[dt.date]:
    rows = {row.date: row for row in WorkedHoliday.objects.filter(date__year=year)}
    for day in sorted(set(days) - rows.keys()):
        row = WorkedHoliday.objects.create(date=day, name=known[day].name[:120])
        record(actor=actor, action="works on a holiday", target=row, at=at)
    for day in sorted(rows.keys() - set(days)):
        record(actor=actor, action="keeps a holiday again", target=rows[day], at=at)
        rows[day].delete()
    return sorted(set(days) ^ rows.keys())
