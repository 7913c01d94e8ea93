"""Public holidays of countries and their states, by the library `holidays`.

Its tables are kept by people in many countries; this is its only importer. It is loaded at the
first question: that takes 0.1 s, which every start would wait for.
"""

import datetime as dt
import re
from collections.abc import Mapping, Sequence
from functools import cache
from typing import Any

FIRST_COUNTRIES = ("US", "CA")
ENGLISH = "en_US"


def countries() -> Sequence[tuple[str, str]]:
    """Return the countries whose holidays are known: code and name, the nearest first."""
    from holidays.registry import COUNTRIES

    found = {code: _spaced(name) for name, code, *_ in COUNTRIES.values()}
    return sorted(found.items(), key=lambda one: (_rank(one[0]), one[1]))


def _rank(code: str) -> int:
    return FIRST_COUNTRIES.index(code) if code in FIRST_COUNTRIES else len(FIRST_COUNTRIES)


def _spaced(name: str) -> str:
    return re.sub(r"(?<=[a-z])(?=[A-Z])", " ", name)


def state_code(country: str, said: str) -> str | None:
    """Return the code of a state or province named by its code or its name, or None."""
    table = _table(country)
    wanted = said.strip().casefold()
    names = {code.casefold(): code for code in table.subdivisions}
    names |= {alias.casefold(): code for alias, code in table.subdivisions_aliases.items()}
    return names.get(wanted)


def state_codes(country: str) -> Sequence[str]:
    """Return the codes of a country's states that have holidays of their own."""
    return sorted(_table(country).subdivisions)


@cache
def holidays_of_year(country: str, state: str, year: int) -> Mapping[dt.date, str]:
    """Return a year's public holidays and the weekdays they are kept on, with their names."""
    table = _table(country)
    languages = table.supported_languages
    own: str = table.default_language or ""
    language = own if own.startswith("en") or ENGLISH not in languages else ENGLISH
    found = table(
        years=[year], subdiv=state or None, language=language if languages else None, expand=False
    )
    return {day: name.replace("; ", ", ") for day, name in sorted(found.items())}


def _table(country: str) -> Any:
    import holidays

    return getattr(holidays, country)
