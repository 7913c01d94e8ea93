"""Measures written in the units of a firm: feet, inches and yards, or metres and litres."""

import re
from decimal import Decimal

from firm.measure.lengths import (
    MM_PER_IN,
    MM_PER_M,
    PER_INCH,
    format_ft_in,
    format_in,
    format_m,
    format_mm,
)
from firm.measure.units import CUBIC_FT_PER_CUBIC_YD, IN_PER_FT, to_decimal

METRIC = "metric"
US = "us"
FREEZING_F = 32.0
F_PER_C = 1.8
M_PER_FT = MM_PER_IN * IN_PER_FT / 1000
LITRES_PER_CUBIC_FT = (M_PER_FT * 10) ** 3
CUBIC_M_PER_CUBIC_YD = M_PER_FT**3 * CUBIC_FT_PER_CUBIC_YD
FEET_WORDS = frozenset({"ft", "foot", "feet"})


def long_length(inches: float, units: str) -> str:
    """Return the length of a fence or a station on it: 7-11 13/16, or 2.434 m."""
    return format_m(inches) if units == METRIC else format_ft_in(inches)


def short_length(inches: float, units: str) -> str:
    """Return a depth, a height, a spacing or an opening: 90-13/16 in, or 2307 mm."""
    return format_mm(inches) if units == METRIC else format_in(inches)


def length_words(inches: float, units: str = US) -> str:
    """Return a length in feet and whole inches: 24 ft 3 in; or in metres to the centimetre."""
    if units == METRIC:
        return f"{to_decimal(inches * MM_PER_IN / MM_PER_M, 2)} m"
    feet, rest = divmod(round(inches), round(IN_PER_FT))
    parts = [f"{feet} ft"] if feet else []
    if rest or not feet:
        parts.append(f"{rest} in")
    return " ".join(parts)


def exact_in(inches: float, units: str = US) -> str:
    """Return inches to the sixteenth: 47 1/2 in; or millimetres."""
    if units == METRIC:
        return format_mm(inches)
    sixteenths = round(inches * PER_INCH)
    whole, part = divmod(sixteenths, PER_INCH)
    if not part:
        return f"{whole} in"
    below = PER_INCH
    while part % 2 == 0:
        part, below = part // 2, below // 2
    return f"{whole} {part}/{below} in" if whole else f"{part}/{below} in"


def how_many(count: int, noun: str) -> str:
    """Return a count with its noun: 1 bay, 2 bays."""
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"


def long_and_short(inches: float, units: str) -> str:
    """Return a length both ways it is spoken of: 4 ft 7 in (55 in), or 2.450 m (2450 mm)."""
    if units == METRIC:
        return f"{format_m(inches)} ({format_mm(inches)})"
    feet, rest = divmod(inches, IN_PER_FT)
    if not feet:
        return exact_in(inches)
    parts = [f"{feet:.0f} ft", *([exact_in(rest)] if rest else [])]
    return f"{' '.join(parts)} ({exact_in(inches)})"


def feet_of_fence(feet: float, units: str) -> str:
    """Return a length that is kept in feet: 32.5 ft, or 9.91 m."""
    if units == METRIC:
        return f"{to_decimal(feet * M_PER_FT, 2):,} m"
    rounded = to_decimal(feet, 1)
    return f"{rounded.quantize(Decimal(1)) if rounded == int(rounded) else rounded:,} ft"


def cubic_yards(yd3: float, units: str) -> str:
    """Return a volume that is bought or hauled: 1.25 yd³, or 0.96 m³."""
    if units == METRIC:
        return f"{to_decimal(yd3 * CUBIC_M_PER_CUBIC_YD, 2)} m³"
    return f"{to_decimal(yd3, 2)} yd³"


def cubic_feet(ft3: float, units: str) -> str:
    """Return a volume of concrete: 12.30 ft³, or 348 litres."""
    if units == METRIC:
        return f"{to_decimal(ft3 * LITRES_PER_CUBIC_FT, 0)} litres"
    return f"{to_decimal(ft3, 2)} ft³"


def temperature(degrees_f: float, units: str) -> str:
    """Return the air as it is told: 46 °F, or 8 °C."""
    if units == METRIC:
        return f"{to_decimal((degrees_f - FREEZING_F) / F_PER_C, 0) + 0} \N{DEGREE SIGN}C"
    return f"{round(degrees_f, 1):g} \N{DEGREE SIGN}F"


def on_reading_grid(inches: float, units: str) -> float:
    """Return a length as a tape reads it: to the sixteenth of an inch, or to the millimetre."""
    if units == METRIC:
        return round(inches * MM_PER_IN) / MM_PER_IN
    return round(inches * PER_INCH) / PER_INCH


# A length in words: 33 in, 36.0 in, 60-1/2 in, 4 1/2 in, 124.844 foot. A size of goods such as
# 5 x 5 in, and the in of "3 in the ground" or "8 in 1 bay", are none; 2 x 1 in of hinge is one.
LENGTH_IN_WORDS = re.compile(
    r"(?<![\w/.,$-])(?:(?<!\bx )|(?=\d[\d/.-]*(?: \d+/\d+)? in hinge\b))"
    r"(?:(?P<whole>\d+(?:\.\d+)?)(?:[- ](?=\d+/))?)?"
    r"(?:(?P<top>\d+)/(?P<bottom>[1-9]\d*))? (?P<unit>in|ft|foot|feet)\b"
    r"(?! (?:the|a|an|all|full|order|its|it|one|each|every|place|which|\d+ bays?)\b)"
)


# A station is written 16-8, or 7-11 13/16; so are the bays 1-3, which are none.
STATION_IN_WORDS = re.compile(
    r"(?:(?<=station )|\A)(?P<feet>\d+)-(?P<inches>\d{1,2})(?: (?P<top>\d+)/(?P<bottom>[1-9]\d*))?"
    r"(?=\Z|[^\w-])"
)


def lengths_in(text: str, units: str) -> str:
    """Return a sentence of the engine, which counts in inches and feet, in the firm's units."""
    if units != METRIC:
        return text
    return STATION_IN_WORDS.sub(_metric_station, LENGTH_IN_WORDS.sub(_metric, text))


def _metric_station(found: re.Match[str]) -> str:
    inches = int(found["feet"]) * IN_PER_FT + int(found["inches"])
    part = int(found["top"]) / int(found["bottom"]) if found["top"] else 0.0
    return format_m(inches + part)


def _metric(found: re.Match[str]) -> str:
    if found["whole"] is None and found["top"] is None:
        return found[0]
    number = float(found["whole"] or 0)
    if found["top"]:
        number += int(found["top"]) / int(found["bottom"])
    if found["unit"] == "in":
        return format_mm(number)
    return f"{to_decimal(number * M_PER_FT, 2)} m"
