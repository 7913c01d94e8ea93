"""How the engine writes days, hours and lists in its sentences."""

import datetime as dt
from collections.abc import Sequence


def day_words(day: dt.date) -> str:
    """Return a day as crews say it: 'Tue Mar 3, 2026'."""
    return f"{day:%a %b} {day.day}, {day.year}"


def moment_words(moment: dt.datetime) -> str:
    """Return a weekday with its hour: 'Sat 14:00'."""
    return f"{moment:%a %H:%M}"


def number_words(value: float) -> str:
    """Return a number without a needless '.0': '52', '52.5'."""
    return f"{value:g}"


def list_words(names: Sequence[str]) -> str:
    """Return names in a row: 'Gas, Water'."""
    return ", ".join(names)
