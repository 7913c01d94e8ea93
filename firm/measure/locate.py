"""When a locate ticket lets a crew dig, when it must be renewed and when it ends.

Where states count differently the cautious way is taken: holidays lengthen the notice but not
the ticket's life, and the first day of the life counts. The ticket's own dates always rule.
"""

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from firm.measure.business_days import US_FEDERAL, Holiday, is_business_day

ONE_DAY = dt.timedelta(days=1)
HOURS_A_DAY = 24
NO_HOLIDAYS: tuple[Holiday, ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True)
class LocateRule:
    """How a place counts: the notice, how early a call counts, the ticket's life.

    `notice` is in days or hours as `notice_kind` says; the day of the call is not counted.
    `earliest_call_days` is in the notice's kind of days; for hours, in calendar days.
    """

    notice: int
    notice_kind: Literal["working", "calendar", "hours"]
    earliest_call_days: int
    life_days: int
    life_kind: Literal["working", "calendar"]
    life_from: Literal["call", "start"]
    renew_days_before: int


@dataclass(frozen=True, kw_only=True, slots=True)
class TicketDates:
    """First day to dig, last day to renew, last day to dig."""

    clear_on: dt.date
    renew_by: dt.date
    expires_on: dt.date


@dataclass(frozen=True, kw_only=True, slots=True)
class CallWindow:
    """First and last day to call for work that starts on a given day."""

    first_on: dt.date
    last_on: dt.date


def ticket_dates(
    rule: LocateRule,
    *,
    called_on: dt.date,
    stated_start_on: dt.date | None = None,
    holidays: Sequence[Holiday] = US_FEDERAL,
) -> TicketDates:
    """Return the dates of a ticket called for on `called_on`.

    A stated start before the notice has passed counts for nothing.
    """
    notice_over_on = _notice_over_on(rule, called_on, holidays)
    clear_on = max(notice_over_on, stated_start_on or notice_over_on)
    first_on = called_on if rule.life_from == "call" else clear_on
    expires_on = _last_day_of_life(rule, first_on)
    renew_by = _step(expires_on, -rule.renew_days_before, rule.life_kind, NO_HOLIDAYS)
    return TicketDates(
        clear_on=clear_on,
        renew_by=max(renew_by, called_on),
        # A life that ends before it begins would bar every dig: the rule was typed wrongly.
        expires_on=max(expires_on, clear_on),
    )


def clear_at(
    rule: LocateRule, *, called_at: dt.datetime, holidays: Sequence[Holiday] = US_FEDERAL
) -> dt.datetime:
    """Return the moment digging may begin where the hour of the call is known.

    Hours run on working days only; days of notice end at midnight.
    """
    if rule.notice_kind != "hours":
        day = _notice_over_on(rule, called_at.date(), holidays)
        return dt.datetime.combine(day, dt.time(), tzinfo=called_at.tzinfo)
    left = dt.timedelta(hours=rule.notice)
    at = called_at
    while left > dt.timedelta(0):
        midnight = dt.datetime.combine(at.date() + ONE_DAY, dt.time(), tzinfo=at.tzinfo)
        if is_business_day(at.date(), holidays):
            step = min(left, midnight - at)
            at, left = at + step, left - step
        else:
            at = midnight
    return at


def call_window(
    rule: LocateRule, *, start_on: dt.date, holidays: Sequence[Holiday] = US_FEDERAL
) -> CallWindow:
    """Return the first and last day to call so that digging may begin on `start_on`."""
    kind: Literal["working", "calendar"] = (
        "working" if rule.notice_kind == "working" else "calendar"
    )
    first_on = _step(start_on, -rule.earliest_call_days, kind, holidays)
    last_on = start_on
    while _notice_over_on(rule, last_on, holidays) > start_on:
        last_on -= ONE_DAY
    return CallWindow(first_on=min(first_on, last_on), last_on=last_on)


def _notice_over_on(rule: LocateRule, called_on: dt.date, holidays: Sequence[Holiday]) -> dt.date:
    """Return the first day after the whole notice, the day of the call not counted."""
    if rule.notice_kind == "calendar":
        return called_on + ONE_DAY * (rule.notice + 1)
    # The hour of the call is not known here, so hours are counted from the day's end.
    days = math.ceil(rule.notice / HOURS_A_DAY) if rule.notice_kind == "hours" else rule.notice
    return _step(called_on, days + 1, "working", holidays)


def _last_day_of_life(rule: LocateRule, first_on: dt.date) -> dt.date:
    """Return the last day, `first_on` being the first of them where it counts at all."""
    if rule.life_kind == "working":
        return _step(first_on - ONE_DAY, rule.life_days, "working", NO_HOLIDAYS)
    return first_on + ONE_DAY * (rule.life_days - 1)


def _step(
    day: dt.date,
    days: int,
    kind: Literal["working", "calendar"],
    holidays: Sequence[Holiday],
) -> dt.date:
    """Go `days` days of a kind forward, or back where they are negative."""
    one = ONE_DAY if days > 0 else -ONE_DAY
    left = abs(days)
    while left > 0:
        day += one
        left -= kind == "calendar" or is_business_day(day, holidays)
    return day
