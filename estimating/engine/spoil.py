"""Soil from the holes: how it swells when dug, how many loads it makes and what it weighs."""

from firm.measure.units import CUBIC_FT_PER_CUBIC_YD, round_up


def loose_volume(bank: float, swell_pct: float) -> float:
    """Return the loose volume of soil that took up `bank` in the ground, in the same unit."""
    return bank * (1 + swell_pct / 100)


def load_factor(swell_pct: float) -> float:
    """Return what a loose cubic yard took up in the ground, in cubic yards."""
    return 1 / (1 + swell_pct / 100)


def loads(loose_yd3: float, *, load_yd3: float) -> int:
    """Return the loads that a truck or trailer of `load_yd3` takes."""
    return round_up(loose_yd3 / load_yd3)


def weight_lb(bank_yd3: float, lb_ft3: float) -> float:
    """Return the weight of soil by its volume and density in the ground."""
    return bank_yd3 * CUBIC_FT_PER_CUBIC_YD * lb_ft3
