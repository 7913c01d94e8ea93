"""Business days: which days count, and when the Nth of them after a day is."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

SATURDAY = 5
DAYS_A_WEEK = 7


@dataclass(frozen=True, kw_only=True, slots=True)
class Holiday:
    """A yearly holiday: on `day` of `month`, or on the `nth` `weekday` (0 Monday) of it.

    `nth` counts from the end of the month where it is negative.
    """

    name: str
    month: int
    day: int = 0
    nth: int = 0
    weekday: int = 0
    first_year: int = 0

    def falls_on(self, year: int) -> dt.date:
        """Return the day in that year."""
        if self.day:
            return dt.date(year, self.month, self.day)
        if self.nth > 0:
            first = dt.date(year, self.month, 1)
            ahead = (self.weekday - first.weekday()) % DAYS_A_WEEK
            return first + dt.timedelta(days=ahead + DAYS_A_WEEK * (self.nth - 1))
        last = dt.date(year + self.month // 12, self.month % 12 + 1, 1) - dt.timedelta(days=1)
        back = (last.weekday() - self.weekday) % DAYS_A_WEEK
        return last - dt.timedelta(days=back + DAYS_A_WEEK * (-self.nth - 1))


# 5 U.S.C. 6103(a). Juneteenth was added in 2021.
US_FEDERAL: tuple[Holiday, ...] = (
    Holiday(name="New Year's Day", month=1, day=1),
    Holiday(name="Birthday of Martin Luther King, Jr.", month=1, nth=3, weekday=0),
    Holiday(name="Washington's Birthday", month=2, nth=3, weekday=0),
    Holiday(name="Memorial Day", month=5, nth=-1, weekday=0),
    Holiday(name="Juneteenth", month=6, day=19, first_year=2021),
    Holiday(name="Independence Day", month=7, day=4),
    Holiday(name="Labor Day", month=9, nth=1, weekday=0),
    Holiday(name="Columbus Day", month=10, nth=2, weekday=0),
    Holiday(name="Veterans Day", month=11, day=11),
    Holiday(name="Thanksgiving Day", month=11, nth=4, weekday=3),
    Holiday(name="Christmas Day", month=12, day=25),
)


def holidays_of(year: int, holidays: Sequence[Holiday] = US_FEDERAL) -> frozenset[dt.date]:
    """Return the holidays of a year and the weekdays they are kept on.

    A holiday on a Saturday is kept on the Friday before, one on a Sunday on the Monday after
    (5 U.S.C. 6103(b) and Executive Order 11582).
    """
    days = set[dt.date]()
    # The next year's first of January may be kept on this year's last day.
    for holiday in holidays:
        for of_year in (year, year + 1):
            if of_year < holiday.first_year:
                continue
            day = holiday.falls_on(of_year)
            kept = day + dt.timedelta(days={SATURDAY: -1, SATURDAY + 1: 1}.get(day.weekday(), 0))
            days.update(one for one in (day, kept) if one.year == year)
    return frozenset(days)


def is_business_day(day: dt.date, holidays: Sequence[Holiday] = US_FEDERAL) -> bool:
    """Return whether `day` counts: no Saturday, no Sunday, no holiday.

    16 CFR 429.0 counts Saturdays too. Leaving them out can only give a customer more time.
    """
    return day.weekday() < SATURDAY and day not in holidays_of(day.year, holidays)


def add_business_days(
    day: dt.date, count: int, holidays: Sequence[Holiday] = US_FEDERAL
) -> dt.date:
    """Return the `count`th business day after `day`, which itself does not count."""
    while count > 0:
        day += dt.timedelta(days=1)
        count -= is_business_day(day, holidays)
    return day
