"""How the engine writes days, moments and lists in its sentences."""

import datetime as dt
from collections.abc import Sequence

MINUTES_AN_HOUR = 60
A_WEEK = dt.timedelta(days=7)


def day_words(day: dt.date) -> str:
    """Return a day as crews say it: 'Tue Mar 3, 2026'."""
    return f"{day:%a %b} {day.day}, {day.year}"


def moment_words(moment: dt.datetime) -> str:
    """Return a weekday with its hour: 'Sat 14:00'."""
    return f"{moment:%a %H:%M}"


def dated_words(moment: dt.datetime) -> str:
    """Return a moment with its date: 'Sat Mar 7 14:00'."""
    return f"{moment:%a %b} {moment.day} {moment:%H:%M}"


def later_words(moment: dt.datetime, *, since: dt.datetime) -> str:
    """Return a later moment by its weekday, with the date where the weekday has come round."""
    far = moment.date() - since.date() >= A_WEEK
    return dated_words(moment) if far else moment_words(moment)


def long_later_words(moment: dt.datetime, *, since: dt.datetime) -> str:
    """Return the same with the weekday in full: 'Friday 08:00', 'Friday Mar 13 08:00'."""
    far = moment.date() - since.date() >= A_WEEK
    return f"{moment:%A %b} {moment.day} {moment:%H:%M}" if far else f"{moment:%A %H:%M}"


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
    return ", ".join(names)
