"""Lengths as people write them: read into inches, printed in feet and inches or in metres."""

import math
import re

from firm.measure.said import Said

IN_PER_FT = 12.0
IN_PER_YD = 36.0
# The international inch of 1959 is 25.4 mm exactly.
MM_PER_IN = 25.4
MM_PER_M = 1000
PER_INCH = 16
LONGEST_IN = 2 * 5280 * IN_PER_FT  # two miles: no fence of one site is longer
LONGEST_TEXT = 40
BARE = {"us": "in", "metric": "m"}  # what a number without a unit means
EXAMPLES = Said("8' 0 1/2\", 8-0 1/2, 8.5 ft, 96 in or 2.45 m")
METRIC_EXAMPLES = Said("2.45, 2.45 m, 245 cm or 2450 mm")

_UNIT_IN = {
    name: inches
    for names, inches in (
        ('in inch inches "', 1.0),
        ("ft foot feet '", IN_PER_FT),
        ("yd yds yard yards", IN_PER_YD),
        ("mm millimetre millimetres millimeter millimeters", 1 / MM_PER_IN),
        ("cm centimetre centimetres centimeter centimeters", 10 / MM_PER_IN),
        ("m metre metres meter meters", MM_PER_M / MM_PER_IN),
    )
    for name in names.split()
}
_NUMBER = r"\d+(?:\.\d*)?|\.\d+"
_FRACTION = r"(?P<top>\d+)\s*/\s*(?P<bottom>\d+)"
_ONLY_FRACTION = _FRACTION.replace("?P<", "?P<only_")
_INCHES = rf"(?:(?P<inches>{_NUMBER})(?:(?:\s*-\s*|\s+){_FRACTION})?|{_ONLY_FRACTION})"
_PLAIN = re.compile(rf"(?P<number>{_NUMBER})\s*(?P<unit>[a-z]+|'|\")?", re.ASCII)
_FRACTION_OF_FEET = re.compile(rf"(?:(?P<feet>\d+)\s+)?{_FRACTION}\s*(?:feet|foot|ft|')", re.ASCII)
_DASH_FRACTION = re.compile(r"(\d+)\s*-\s*(\d+\s*/\s*\d+)", re.ASCII)
_TWO_NUMBERS = re.compile(r"(\d+)\s+(\d+(?:\.\d*)?)", re.ASCII)
_BARE_FRACTION = re.compile(rf"(?:(?:{_NUMBER})\s+)?\d+\s*/\s*\d+", re.ASCII)
_INCHES_ONLY = re.compile(rf"{_INCHES}\s*(?:inches|inch|in|\")?", re.ASCII)
_FEET_INCHES = re.compile(
    rf"(?P<feet>\d+)\s*(?:(?:feet|foot|ft|')\s*-?|-)\s*{_INCHES}\s*(?:inches|inch|in|\")?",
    re.ASCII,
)
_MINUS_INCHES = re.compile(r"(\d+\s*(?:feet|foot|ft|'))\s+-(?=[\d.])(.*)", re.ASCII)
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


def parse_length(text: str, *, units: str = "us", bare: str = "") -> float:
    """Return a length in inches from text such as 8' 0 1/2", 8-0 1/2, 8.5 ft, 96, 2.45 m.

    Any unit is understood, whatever the firm's own. A bare number means inches, or metres where
    `units` is "metric", unless `bare` names another unit. In 8-6 the dash parts feet from inches,
    in 90-13/16 in inches from their fraction.

    Raises:
        LengthError: the text is no length from zero to two miles, or could be two of them.
    """
    plain = _plain_text(text)
    _refuse_ambiguous(plain, text.strip(), units)
    number = _PLAIN.fullmatch(plain)
    if number and (unit_in := _UNIT_IN.get(number["unit"] or bare or BARE[units])):
        return _checked(float(number["number"]) * unit_in)
    if parts := _INCHES_ONLY.fullmatch(plain):
        return _checked(_inches(parts))
    if parts := _FRACTION_OF_FEET.fullmatch(plain):
        return _checked(_fraction_of(parts["feet"], parts["top"], parts["bottom"]) * IN_PER_FT)
    if parts := _FEET_INCHES.fullmatch(plain):
        inches = _inches(parts)
        if inches >= IN_PER_FT:
            raise LengthError(
                Said("The inches after the feet in '{text}' reach 12 or more.", text=text.strip())
            )
        return _checked(float(parts["feet"]) * IN_PER_FT + inches)
    raise LengthError(
        Said(
            "'{text}' is not a length. Write it like {examples}.",
            text=text.strip(),
            examples=METRIC_EXAMPLES if units == "metric" else EXAMPLES,
        )
    )


def _refuse_ambiguous(plain: str, typed: str, units: str) -> None:
    """Refuse what two people would read as two lengths, with how to write either."""
    if re.search(r"\d,\d", plain):
        raise LengthError(
            Said(
                "A comma in '{typed}' could part thousands or stand for the decimal point. "
                "Write 2.45 m or 2450 mm, with a point or nothing.",
                typed=typed,
            )
        )
    if parts := _DASH_FRACTION.fullmatch(plain):
        whole, fraction = parts.groups()
        raise LengthError(
            Said(
                "'{typed}' could be {whole} {fraction} in or {whole} ft {fraction} in. "
                "Write {whole} {fraction} in, or {whole}' {fraction}\".",
                typed=typed,
                whole=whole,
                fraction=fraction,
            )
        )
    if parts := _MINUS_INCHES.fullmatch(plain):
        feet, inches = parts.groups()
        raise LengthError(
            Said(
                "'{typed}' reads as feet less inches, or as both together. "
                "Write {feet} {inches} for both together.",
                typed=typed,
                feet=feet,
                inches=inches,
            )
        )
    if parts := _TWO_NUMBERS.fullmatch(plain):
        first, second = parts.groups()
        raise LengthError(
            Said(
                "'{typed}' could be two lengths or one. Write {first}' {second}\" or "
                "{first}-{second} for feet and inches, or one number with its unit such as "
                "{examples}.",
                typed=typed,
                first=first,
                second=second,
                examples=EXAMPLES,
            )
        )
    if units == "metric" and _BARE_FRACTION.fullmatch(plain):
        raise LengthError(
            Said(
                "'{typed}' has a fraction and no unit. Write {plain} in, or {examples}.",
                typed=typed,
                plain=plain,
                examples=METRIC_EXAMPLES,
            )
        )


def _plain_text(text: str) -> str:
    if len(text) > LONGEST_TEXT:
        raise LengthError(Said("A length takes at most {most} characters.", most=LONGEST_TEXT))
    plain = text.strip().lower()
    for mark, replacement in _LIKE.items():
        plain = plain.replace(mark, replacement)
    plain = _ABBREVIATION_DOT.sub(r"\1", plain).strip()
    if not plain:
        raise LengthError(Said("Enter a length."))
    if re.fullmatch(r"-\s*[\d.].*", plain):
        raise LengthError(Said("A length can't be negative: '{text}'.", text=text.strip()))
    return plain


def _inches(parts: re.Match[str]) -> float:
    if parts["only_top"] is not None:
        return _fraction_of(None, parts["only_top"], parts["only_bottom"])
    return _fraction_of(parts["inches"], parts["top"], parts["bottom"])


def _fraction_of(whole: str | None, top: str | None, bottom: str | None) -> float:
    """Return a whole number and a fraction of it as one number; either may be missing."""
    number = float(whole or 0)
    if top is None or bottom is None:
        return number
    if int(bottom) == 0:
        raise LengthError(Said("A fraction can't have 0 below the stroke."))
    return number + int(top) / int(bottom)


def _checked(inches: float) -> float:
    if not inches <= LONGEST_IN:
        raise LengthError(
            Said("That is more than two miles (3.2 km): no fence of one site is so long.")
        )
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
