"""Which days are holidays of the firm, and on which of them it works after all."""

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from firm.models import FirmProfile
from firm.public_holidays import holidays_of_year
from scheduling.models import WorkedHoliday


@dataclass(frozen=True, kw_only=True, slots=True)
class FirmHoliday:
    """A public holiday where the firm is at home."""

    date: dt.date
    name: str
    is_worked: bool

    @property
    def words(self) -> str:
        """What the calendar says of it."""
        return f"{self.name}: crews work" if self.is_worked else self.name


def holidays_in(firm: FirmProfile, years: Iterable[int]) -> Mapping[dt.date, FirmHoliday]:
    """Return the holidays of some years; one query, and none where the firm keeps none."""
    if not firm.holiday_country:
        return {}
    asked = sorted(set(years))
    worked = set(
        WorkedHoliday.objects.filter(date__year__range=(asked[0], asked[-1])).values_list(
            "date", flat=True
        )
    )
    return {
        day: FirmHoliday(date=day, name=name, is_worked=day in worked)
        for year in asked
        for day, name in holidays_of_year(firm.holiday_country, firm.holiday_state, year).items()
    }


def no_work_words(holidays: Mapping[dt.date, FirmHoliday]) -> dict[dt.date, str]:
    """Return the days on which no crew works for a holiday, each with what is said of it."""
    return {day: f"{one.name}: no crew works" for day, one in holidays.items() if not one.is_worked}
