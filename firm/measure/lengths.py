"""Lengths as people write them: read into inches, printed in feet and inches or in metres."""

import math
import re

IN_PER_FT = 12.0
IN_PER_YD = 36.0
# The international inch of 1959 is 25.4 mm exactly.
MM_PER_IN = 25.4
MM_PER_M = 1000
PER_INCH = 16
LONGEST_TEXT = 40
EXAMPLES = "8' 0 1/2\", 8-0 1/2, 8.5 ft, 96 in or 2.45 m"
METRIC_EXAMPLES = "2.45, 2.45 m, 245 cm or 2450 mm"

_UNIT_IN = {
    "in": 1.0,
    "inch": 1.0,
    "inches": 1.0,
    '"': 1.0,
    "ft": IN_PER_FT,
    "foot": IN_PER_FT,
    "feet": IN_PER_FT,
    "'": IN_PER_FT,
    "yd": IN_PER_YD,
    "yds": IN_PER_YD,
    "mm": 1 / MM_PER_IN,
    "cm": 10 / MM_PER_IN,
    "m": 1000 / MM_PER_IN,
}
_NUMBER = r"\d+(?:\.\d*)?|\.\d+"
_FRACTION = r"(?P<top>\d+)\s*/\s*(?P<bottom>\d+)"
_ONLY_FRACTION = _FRACTION.replace("?P<", "?P<only_")
_INCHES = rf"(?:(?P<inches>{_NUMBER})(?:(?:\s*-\s*|\s+){_FRACTION})?|{_ONLY_FRACTION})"
_PLAIN = re.compile(rf"(?P<number>{_NUMBER})\s*(?P<unit>[a-z]+|'|\")?", re.ASCII)
_INCHES_ONLY = re.compile(rf"{_INCHES}\s*(?:inches|inch|in|\")?", re.ASCII)
_FEET_INCHES = re.compile(
    rf"(?P<feet>\d+)\s*(?:(?:feet|foot|ft|')\s*-?|-)\s*{_INCHES}\s*(?:inches|inch|in|\")?",
    re.ASCII,
)
_ABBREVIATION_DOT = re.compile(r"(ft|in|yd|cm|mm)\.")
_LIKE = {
    "\u2032": "'",  # prime
    "\u2019": "'",  # right single quotation mark
    "\u2018": "'",  # left single quotation mark
    "″": '"',
    "”": '"',
    "“": '"',
    "''": '"',
    "\u2013": "-",  # en dash
    "½": " 1/2",
    "¼": " 1/4",
    "¾": " 3/4",
    "⅛": " 1/8",
    "⅜": " 3/8",
    "⅝": " 5/8",
    "⅞": " 7/8",
}


class LengthError(ValueError):
    """Raised for a text that is no length; the message is a sentence for the user."""


def parse_length(text: str, *, units: str = "us") -> float:
    """Return a length in inches from text such as 8' 0 1/2", 8-0 1/2, 8.5 ft, 96, 2.45 m.

    A bare number means inches, or metres where `units` is "metric". In 8-6 the dash parts feet
    from inches, in 90-13/16 inches from their fraction.

    Raises:
        LengthError: the text is no length of zero or more.
    """
    plain = _plain_text(text)
    number = _PLAIN.fullmatch(plain)
    if number and (unit_in := _unit(number["unit"], units)):
        return _checked(float(number["number"]) * unit_in)
    for pattern in (_INCHES_ONLY, _FEET_INCHES):
        parts = pattern.fullmatch(plain)
        if parts:
            feet = float(parts.groupdict().get("feet") or 0)
            inches = _inches(parts)
            if pattern is _FEET_INCHES and inches >= IN_PER_FT:
                raise LengthError(
                    f"The inches after the feet in '{text.strip()}' reach 12 or more."
                )
            return _checked(feet * IN_PER_FT + inches)
    raise LengthError(
        f"'{text.strip()}' is not a length. "
        f"Write it like {METRIC_EXAMPLES if units == 'metric' else EXAMPLES}."
    )


def _plain_text(text: str) -> str:
    if len(text) > LONGEST_TEXT:
        raise LengthError(f"A length takes at most {LONGEST_TEXT} characters.")
    plain = text.strip().lower()
    for mark, replacement in _LIKE.items():
        plain = plain.replace(mark, replacement)
    plain = _ABBREVIATION_DOT.sub(r"\1", plain).strip()
    if not plain:
        raise LengthError("Enter a length.")
    if re.fullmatch(r"-\s*[\d.].*", plain):
        raise LengthError(f"A length can't be negative: '{text.strip()}'.")
    return plain


def _unit(name: str | None, units: str) -> float | None:
    if name is None:
        return _UNIT_IN["m" if units == "metric" else "in"]
    return _UNIT_IN.get(name)


def _inches(parts: re.Match[str]) -> float:
    only = parts["only_top"] is not None
    top, bottom = (
        (parts["only_top"], parts["only_bottom"]) if only else (parts["top"], parts["bottom"])
    )
    whole = 0.0 if only else float(parts["inches"])
    if top is None:
        return whole
    if int(bottom) == 0:
        raise LengthError("A fraction can't have 0 below the stroke.")
    return whole + int(top) / int(bottom)


def _checked(inches: float) -> float:
    if not math.isfinite(inches):
        raise LengthError("That length is too large.")
    return inches


def format_in(inches: float) -> str:
    """Return a length in inches to the nearest 1/16, such as 90-13/16 in."""
    sign, sixteenths = _sixteenths(inches)
    whole, rest = divmod(sixteenths, PER_INCH)
    return f"{sign}{_mixed(whole, rest)} in"


def format_ft_in(inches: float) -> str:
    """Return a length in feet and inches to the nearest 1/16, such as 7-11 13/16."""
    sign, sixteenths = _sixteenths(inches)
    feet, rest = divmod(sixteenths, int(IN_PER_FT) * PER_INCH)
    whole, rest = divmod(rest, PER_INCH)
    fraction = f" {_fraction(rest)}" if rest else ""
    return f"{sign}{feet}-{whole}{fraction}"


def format_m(inches: float) -> str:
    """Return a length in metres to the millimetre, such as 2.434 m."""
    sign, mm = _millimetres(inches)
    return f"{sign}{mm // MM_PER_M}.{mm % MM_PER_M:03d} m"


def format_mm(inches: float) -> str:
    """Return a length in whole millimetres, such as 2307 mm."""
    sign, mm = _millimetres(inches)
    return f"{sign}{mm} mm"


def _millimetres(inches: float) -> tuple[str, int]:
    mm = math.floor(abs(inches) * MM_PER_IN + 0.5)
    return ("-" if inches < 0 and mm else "", mm)


def _sixteenths(inches: float) -> tuple[str, int]:
    sixteenths = math.floor(abs(inches) * PER_INCH + 0.5)
    return ("-" if inches < 0 and sixteenths else "", sixteenths)


def _mixed(whole: int, rest: int) -> str:
    if not rest:
        return str(whole)
    return f"{whole}-{_fraction(rest)}" if whole else _fraction(rest)


def _fraction(rest: int) -> str:
    common = math.gcd(rest, PER_INCH)
    return f"{rest // common}/{PER_INCH // common}"
