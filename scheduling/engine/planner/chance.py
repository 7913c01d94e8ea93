"""Numbers drawn by chance, the same from the same seed; much quicker than the library's.

Each draw is a step of a 32-bit xorshift generator (G. Marsaglia, Xorshift RNGs, Journal of
Statistical Software 8/14, 2003, with the shifts 13, 17, 5), kept in the one place of `draws`, which
may not be 0. Such draws are good enough to try changes by, and for nothing else.
"""

import numpy as np

from scheduling.engine.planner.compiling import compiled
from scheduling.engine.planner.tables import Draws

BITS = 32
ALL_BITS = 2**BITS - 1


def begun_from(seed: int) -> Draws:
    """Return what draws begin from, by a seed."""
    return np.array([seed % ALL_BITS + 1], np.int64)


@compiled
def below(draws: Draws, count: int) -> int:
    """Return a number from 0 up to one below `count`, 2**31 at most, each as likely."""
    return (_next(draws) * count) >> BITS


@compiled
def part(draws: Draws) -> float:
    """Return a number above 0 and below 1."""
    return float(_next(draws) / (ALL_BITS + 1))


@compiled
def _next(draws: Draws) -> int:
    bits = draws[0]
    bits ^= (bits << 13) & ALL_BITS
    bits ^= bits >> 17
    bits ^= (bits << 5) & ALL_BITS
    draws[0] = bits
    return int(bits)
