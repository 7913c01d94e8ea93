"""How the engine writes days, moments and lists in its sentences."""

import datetime as dt
from collections.abc import Sequence

from firm.measure.said import Said, joined

MINUTES_AN_HOUR = 60
MM_PER_IN = 25.4
FREEZING_F = 32.0
F_PER_C = 1.8
A_WEEK = dt.timedelta(days=7)
WEEKDAYS = (
    Said("Monday"),
    Said("Tuesday"),
    Said("Wednesday"),
    Said("Thursday"),
    Said("Friday"),
    Said("Saturday"),
    Said("Sunday"),
)
SHORT_WEEKDAYS = (
    Said("Mon"),
    Said("Tue"),
    Said("Wed"),
    Said("Thu"),
    Said("Fri"),
    Said("Sat"),
    Said("Sun"),
)
SHORT_MONTHS = (
    Said("Jan"),
    Said("Feb"),
    Said("Mar"),
    Said("Apr"),
    Said("May"),
    Said("Jun"),
    Said("Jul"),
    Said("Aug"),
    Said("Sep"),
    Said("Oct"),
    Said("Nov"),
    Said("Dec"),
)


def day_words(day: dt.date) -> str:
    """Return a day as crews say it: 'Tue Mar 3, 2026'."""
    return Said("{weekday} {month} {day}, {year}", year=day.year, **_day(day))


def short_day_words(day: dt.date) -> str:
    """Return a day without its year: 'Mar 3'."""
    parts = _day(day)
    return Said("{month} {day}", month=parts["month"], day=parts["day"])


def weekday_words(day: dt.date) -> str:
    """Return a day of this year with its weekday: 'Tue Mar 3'."""
    return Said("{weekday} {day}", weekday=SHORT_WEEKDAYS[day.weekday()], day=short_day_words(day))


def rain_amount(rain_in: float, *, is_metric: bool) -> str:
    """Return rain as the firm measures it: '0.4 in' or '10 mm'."""
    if is_metric:
        return f"{rain_in * MM_PER_IN:.0f} mm"
    return f"{number_words(rain_in)} in"


def degrees_words(air_f: float, *, is_metric: bool) -> str:
    """Return a temperature as the firm reads it: '48 F' or '8.9 C'."""
    if is_metric:
        return f"{number_words(round((air_f - FREEZING_F) / F_PER_C, 1) + 0.0)} C"
    return f"{number_words(round(air_f, 1))} F"


def moment_words(moment: dt.datetime) -> str:
    """Return a weekday with its hour: 'Sat 14:00'."""
    return Said("{weekday} {time}", weekday=SHORT_WEEKDAYS[moment.weekday()], time=_time(moment))


def dated_words(moment: dt.datetime) -> str:
    """Return a moment with its date: 'Sat Mar 7 14:00'."""
    return Said("{weekday} {month} {day} {time}", time=_time(moment), **_day(moment))


def later_words(moment: dt.datetime, *, since: dt.datetime) -> str:
    """Return a later moment by its weekday, with the date where the weekday has come round."""
    far = moment.date() - since.date() >= A_WEEK
    return dated_words(moment) if far else moment_words(moment)


def long_later_words(moment: dt.datetime, *, since: dt.datetime) -> str:
    """Return the same with the weekday in full: 'Friday 08:00', 'Friday Mar 13 08:00'."""
    parts = _day(moment) | {"weekday": WEEKDAYS[moment.weekday()], "time": _time(moment)}
    if moment.date() - since.date() >= A_WEEK:
        return Said("{weekday} {month} {day} {time}", **parts)
    return Said("{weekday} {time}", weekday=parts["weekday"], time=parts["time"])


def number_words(value: float) -> str:
    """Return a number without a needless '.0': '52', '52.5'."""
    return f"{value:g}"


def minutes_words(hours: float) -> str:
    """Return a length of time to the minute: '25 min', '1 h 5 min'."""
    whole, minutes = divmod(round(hours * MINUTES_AN_HOUR), MINUTES_AN_HOUR)
    parts = [f"{whole} h" if whole else "", f"{minutes} min" if minutes or not whole else ""]
    return " ".join(part for part in parts if part)


def list_words(names: Sequence[str]) -> str:
    """Return names in a row: 'Gas, Water'."""
    return joined(names, ", ")


def _day(day: dt.date) -> dict[str, object]:
    return {
        "weekday": SHORT_WEEKDAYS[day.weekday()],
        "month": SHORT_MONTHS[day.month - 1],
        "day": day.day,
    }


def _time(moment: dt.datetime) -> str:
    return f"{moment:%H:%M}"
