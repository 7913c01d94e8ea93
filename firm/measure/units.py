"""Conversion factors, and rounding up that a hair's breadth of float error can't upset."""

import math
from decimal import ROUND_HALF_UP, Decimal

IN_PER_FT = 12.0
CUBIC_IN_PER_CUBIC_FT = 1728.0
CUBIC_FT_PER_CUBIC_YD = 27.0
ROUND_UP_TOLERANCE = 1e-9


def round_up(value: float) -> int:
    """Return the smallest whole number not below `value`, give or take 1e-9.

    4.0000000001 rolls are 4 rolls: sums of floats miss a whole number by about that much.
    """
    return math.ceil(value - ROUND_UP_TOLERANCE)


def round_up_to_half(value: float) -> float:
    """Return the smallest multiple of one half not below `value`, give or take 1e-9."""
    return round_up(value * 2) / 2


def to_decimal(value: float, places: int) -> Decimal:
    """Return a measured figure as a Decimal, rounded half-up to `places`.

    Goes by way of twelve decimals, so that 1.005, held as 1.00499..., becomes 1.01.
    """
    return Decimal(f"{value:.12f}").quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_UP)
