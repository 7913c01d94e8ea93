"""What goods are counted and sold in: by the foot or cubic yard as kept, by the metre as shown.

What a metric firm buys by the metre is kept in whole centimetres, so that a length stays as it was
typed and costs what it shows: 10 m are 1,000 cm. What was kept by the foot before stays so.

A price for a foot is kept to eight places, so that one typed for a metre, to the hundredth of a
cent, is kept whole: a metre is 1 / 0.3048 ft exactly (NIST SP 811, edition 2008, appendix B).
"""

from decimal import ROUND_HALF_UP, ROUND_UP, Decimal

from firm.measure.loads import in_units
from firm.measure.written import FEET_WORDS, METRIC

M_PER_FT = Decimal("0.3048")
M3_PER_YD3 = (M_PER_FT * 3) ** 3
CUBIC_M = "m\N{SUPERSCRIPT THREE}"
SHOWN_METRIC = {"m": "ft", CUBIC_M: "yd3"}
TYPED_METRIC = SHOWN_METRIC | {"metre": "ft", "metres": "ft", "meter": "ft", "meters": "ft"}
TYPED_METRIC |= {"m3": "yd3", "cubic metre": "yd3", "cubic meter": "yd3"}
# What is bought by the metre is kept by it; its own unit, in which it is needed, stays the foot.
BY_THE_METRE = "cm"
M_PER_CM = Decimal("0.01")
KEPT_PLACES, SHOWN_PLACES = Decimal("1e-8"), Decimal("1e-4")
CM = Decimal("0.01")


def metric_in_one(unit: str, units: str) -> Decimal:
    """Return the metres in a foot, or cubic metres in a yard, of a metric firm; else 1."""
    if units != METRIC:
        return Decimal(1)
    if unit in FEET_WORDS:
        return M_PER_FT
    if unit == BY_THE_METRE:
        return M_PER_CM
    return M3_PER_YD3 if unit == "yd3" else Decimal(1)


def unit_words(unit: str, units: str) -> str:
    """Return the unit as a firm reads it: ft, or m; roll of 50 ft, or roll of 15.24 m."""
    if metric_in_one(unit, units) == 1:
        return in_units(unit, units)
    return CUBIC_M if unit == "yd3" else "m"


def kept_unit(typed: str, units: str) -> str:
    """Return the unit that a typed one is kept as: a metric firm's m as ft."""
    return TYPED_METRIC.get(typed.lower(), typed) if units == METRIC else typed


def kept_purchase_unit(typed: str, units: str) -> str:
    """Return the unit that what is bought by a typed one is counted in: a metric firm's m in cm."""
    kept = kept_unit(typed, units)
    return BY_THE_METRE if kept != typed and kept in FEET_WORDS else kept


def feet_by_the_metre(cost: Decimal, pack: float) -> tuple[Decimal, float]:
    """Return what a centimetre costs and holds, of what a foot does."""
    cm_in_one = M_PER_FT / M_PER_CM
    return (cost / cm_in_one).quantize(KEPT_PLACES), pack / float(cm_in_one)


def cost_shown(cost: Decimal, unit: str, units: str) -> Decimal:
    """Return what one costs in the firm's unit, to four places, of what one kept unit costs."""
    worth = metric_in_one(unit, units)
    return cost if worth == 1 else (cost / worth).quantize(SHOWN_PLACES)


def cost_kept(cost: Decimal, unit: str, units: str) -> Decimal:
    """Return what one kept unit costs, of what one costs in the firm's unit."""
    worth = metric_in_one(unit, units)
    return cost if worth == 1 else (cost * worth).quantize(KEPT_PLACES)


def count_shown(count: Decimal, unit: str, units: str) -> Decimal:
    """Return a count of purchase units in the firm's unit: 4 ft as 1.22 m."""
    worth = metric_in_one(unit, units)
    return count if worth == 1 else (count * worth).quantize(CM)


def count_kept(count: Decimal, unit: str, units: str) -> Decimal:
    """Return the whole units bought for a length: of feet 4 for 1.22 m and 5 for 1.23 m."""
    worth = metric_in_one(unit, units)
    if worth == 1:
        return count
    whole = (count / worth).to_integral_value()
    if count_shown(whole, unit, units) == count:
        return whole
    return (count / worth).to_integral_value(rounding=ROUND_UP)


def count_nearest(count: Decimal, unit: str, units: str) -> Decimal:
    """Return the whole units nearest to a length: 1 m is 3 ft; a little is one, not none."""
    worth = metric_in_one(unit, units)
    if worth == 1 or not count:
        return count
    nearest = (count / worth).to_integral_value(rounding=ROUND_HALF_UP)
    return nearest or Decimal(1).copy_sign(count)


def count_words(count: Decimal | float, unit: str, units: str) -> str:
    """Return a count of purchase units with its unit: 4 ft, 1.22 m, 2 roll of 15.24 m."""
    if metric_in_one(unit, units) == 1:
        return f"{count} {unit_words(unit, units)}"
    return f"{count_shown(Decimal(str(count)), unit, units):,} {unit_words(unit, units)}"


def count_told(count: int, unit: str, units: str) -> str:
    """Return a count for a sentence: 4 of whole pieces, 1.22 m of what is sold by the metre."""
    return str(count) if metric_in_one(unit, units) == 1 else count_words(count, unit, units)
