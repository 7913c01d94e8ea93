"""What the engine counts by the foot, as a metric firm reads it: by the metre.

Rates and quantities for a foot are stored so; a metric firm sees and types what a metre takes.
"""

import re

from firm.measure import loads
from firm.measure.loads import plain_number
from firm.measure.written import CUBIC_M_PER_CUBIC_YD, FEET_WORDS, M_PER_FT, METRIC, cubic_yards

DRIVER_WORDS = {
    "post": "post",
    "bay": "bay",
    "cut_bay": "cut bay",
    "foot": "foot of fence",
    "section": "section",
    "section_end": "end of a section",
    "wall_end": "end at a wall",
    "corner": "corner",
    "terminal": "terminal post",
    "gate": "gate",
    "leaf": "gate leaf",
    "leaf_ft": "foot of gate leaf",
    "third_hinge": "leaf that wants a third hinge",
    "square_end": "end of a bay, square to its post",
    "swivel_end": "end of a bay that swivels at a corner",
    "height_ft": "foot of height, at each end",
    "board": "board of each bay",
    "rail_stock": "length of rail, section by section",
    "rail_row": "row of rails in a section",
    "run_board": "board along a section",
    "bay_picket": "picket of each bay",
    "concrete": "hole",
    "job": "job",
}


METRIC_DRIVER_WORDS = {
    "foot": "metre of fence",
    "leaf_ft": "metre of gate leaf",
    "height_ft": "metre of height, at each end",
}
_RATE = re.compile(r"(?:^|[._])(?:ft|foot)(?:[._]|$)")
_YARD_RATE = re.compile(r"(?:^|[._])yd3(?:[._]|$)")
_HOURS = re.compile(r"(?P<feet>\d[\d.]*) x (?P<hours>\d[\d.]*(?:e-\d+)?) h\b")
_COUNTED = re.compile(r"(?P<each>\d[\d.]*) x (?P<feet>\d[\d.]*)(?: foot| height ft)?")
_LINE = re.compile(r"(?<=: )(?P<feet>\d[\d.]*)\Z")
_BOUGHT = re.compile(r"(?P<feet>\d[\d.]*) \+ (?P<waste>[\d.]+ %) -> (?P<whole>\d+), packs of (.*)")


def is_by_foot(rate: str) -> bool:
    """Say whether a production rate is for one foot, by its key: layout.foot, hang.wire_ft."""
    return bool(_RATE.search(rate))


def is_by_yard(rate: str) -> bool:
    """Say whether a production rate is for one cubic yard, by its key: spoil.spread_yd3."""
    return bool(_YARD_RATE.search(rate))


def for_one(driver: str, units: str, *, is_length: bool) -> float:
    """Return what to multiply a count for each metre by, to have the one that is kept.

    It is 1 but for a metric firm's item by the foot. What is itself counted in feet is as long
    as what it covers, by the foot as by the metre.
    """
    is_by_the_metre = units == METRIC and driver in METRIC_DRIVER_WORDS and not is_length
    return M_PER_FT if is_by_the_metre else 1.0


def shown_for_one(count: float, kept_in_one: float) -> float:
    """Return a count for each foot as one for each metre: 0.5 as 1.6404; others as they are."""
    return count if kept_in_one == 1 else float(plain_number(count / kept_in_one, 4))


def counted_by(driver: str, units: str) -> str:
    """Return by what an item is counted: foot of fence, or metre of it."""
    said = DRIVER_WORDS.get(driver, driver)
    return METRIC_DRIVER_WORDS.get(driver, said) if units == METRIC else said


def hours_words(rate: str, inputs: str, units: str) -> str:
    """Return how hours come about: 135 x 0.01 h, or 41.15 m x 0.0328 h; yards as cubic metres."""
    if units == METRIC and is_by_yard(rate):
        return loads.in_units(_HOURS.sub(_by_cubic_metre, inputs, count=1), units)
    if units != METRIC or not is_by_foot(rate):
        return loads.in_units(inputs, units)
    return _HOURS.sub(
        lambda found: f"{_metres(found['feet'])} x {_for_metre(found['hours'])} h", inputs, count=1
    )


def counted_words(rule: str, *, unit: str, units: str, driver: str = "") -> str:
    """Return how an item is counted: 0.5 x 124.8 foot, or 1.64 x 38.05 m.

    An item that is itself counted in feet is as long as what it covers, in any unit.
    """
    is_feet = driver in METRIC_DRIVER_WORDS or bool(
        re.search(r" x \d[\d.]* (?:foot|height ft)", rule)
    )
    if units != METRIC or not (is_feet or (unit in FEET_WORDS and not driver)):
        return loads.in_units(rule, units)

    def metric(found: re.Match[str]) -> str:
        each = found["each"] if unit in FEET_WORDS else _for_metre(found["each"])
        return f"{each} x {_metres(found['feet'])}"

    return loads.in_units(_COUNTED.sub(metric, rule, count=1), units)


def amount_words(inputs: str, *, unit: str, units: str) -> str:
    """Return what a step comes to: line A: 124.8, or line A: 38.05 m for an item in feet."""
    if units != METRIC or unit not in FEET_WORDS:
        return loads.in_units(inputs, units)
    if found := _BOUGHT.fullmatch(inputs):
        feet, waste, whole, pack = found.groups()
        return f"{_metres(feet)} + {waste} -> {_metres(whole)}, packs of {_metres(pack)}"
    return _LINE.sub(lambda found: _metres(found["feet"]), inputs)


def _by_cubic_metre(found: re.Match[str]) -> str:
    hours = plain_number(float(found["hours"]) / CUBIC_M_PER_CUBIC_YD, 4)
    return f"{cubic_yards(float(found['feet']), METRIC)} x {hours} h"


def _metres(feet: str) -> str:
    return f"{float(feet) * M_PER_FT:.2f} m"


def _for_metre(for_foot: str) -> str:
    return plain_number(float(for_foot) / M_PER_FT, 4)
