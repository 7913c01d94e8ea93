"""How deep a post must stand: the building code's pole formula (IBC 1807.3), iterated.

An advisory figure for comparison; the soil values are the code's presumptive ones.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from math import sqrt

from estimating.engine.errors import EngineError

DEEPEST_FT = 12.0  # 1807.3.2.1: d is not over 12 ft where lateral pressure is worked out
CLOSE_ENOUGH_FT = 1e-6

# Table 1806.2: allowable lateral bearing in psf for each foot of depth.
LATERAL_PSF_PER_FT = {
    "bedrock": 1200.0,
    "rock": 400.0,
    "gravel": 200.0,
    "sand": 150.0,
    "clay": 100.0,
}
CLASS_WORDS = {
    "bedrock": "crystalline bedrock",
    "rock": "sedimentary or foliated rock",
    "gravel": "sandy gravel or gravel",
    "sand": "sand, silty or clayey sand or gravel",
    "clay": "clay, silt, sandy or silty clay",
}


@dataclass(frozen=True, kw_only=True, slots=True)
class Pole:
    """A pole pushed sideways: `height_ft` from the ground to the force; `width_ft` in the ground.

    `soil_psf_per_ft` is the table's value; `soil_factor` 2 where half an inch of movement at the
    ground harms nothing (1806.3.4), else 1.
    """

    force_lb: float
    height_ft: float
    width_ft: float
    soil_psf_per_ft: float
    soil_factor: float = 1.0


class TooDeepError(EngineError):
    """No depth up to 12 ft is enough: a licensed engineer has to look at it."""


def a_term_ft(force_lb: float, pressure_psf: float, width_ft: float) -> float:
    """Return A of the formula at a lateral pressure S1."""
    return 2.34 * force_lb / (pressure_psf * width_ft)


def free_depth_at_ft(pole: Pole, pressure_psf: float) -> float:
    """Return the depth of a pole free at the ground for one value of S1 (equation 18-1)."""
    a_ft = a_term_ft(pole.force_lb, pressure_psf, pole.width_ft)
    return 0.5 * a_ft * (1 + sqrt(1 + 4.36 * pole.height_ft / a_ft))


def pressure_at_psf(pole: Pole, depth_ft: float) -> float:
    """Return the allowable lateral pressure at a depth, which the limit of 12 ft caps."""
    return pole.soil_factor * pole.soil_psf_per_ft * min(depth_ft, DEEPEST_FT)


@lru_cache(maxsize=4096)  # most posts of a fence stand alike
def free_depth_ft(pole: Pole) -> float:
    """Return the least depth of a pole that nothing holds at the ground.

    The pressure counts at a third of the depth that is sought, so it is found by halving.

    Raises:
        TooDeepError: it would be over 12 ft.
    """
    return _least_depth(
        lambda depth_ft: free_depth_at_ft(pole, pressure_at_psf(pole, depth_ft / 3)), pole
    )


def held_depth_ft(pole: Pole) -> float:
    """Return the least depth of a pole held at the ground by a slab or pavement (18-2).

    Raises:
        TooDeepError: it would be over 12 ft.
    """
    return _least_depth(
        lambda depth_ft: sqrt(
            4.25
            * pole.force_lb
            * pole.height_ft
            / (pressure_at_psf(pole, depth_ft) * pole.width_ft)
        ),
        pole,
    )


def force_held_lb(pole: Pole, *, depth_ft: float) -> float:
    """Return the force that a free pole at a depth can take: equation 18-1 solved for P.

    From d = A/2 (1 + sqrt(1 + 4.36 h/A)) follows A = d2 / (d + 1.09 h).
    """
    a_ft = depth_ft**2 / (depth_ft + 1.09 * pole.height_ft)
    return a_ft * pressure_at_psf(pole, depth_ft / 3) * pole.width_ft / 2.34


def width_for_ft(pole: Pole, *, depth_ft: float) -> float:
    """Return the width in the ground that makes a depth enough: the force held grows with it."""
    return pole.width_ft * pole.force_lb / force_held_lb(pole, depth_ft=depth_ft)


def _least_depth(asked: Callable[[float], float], pole: Pole) -> float:
    """Return the depth that the formula gives back unchanged; what it asks falls with depth."""
    if pole.force_lb <= 0:
        return 0.0
    if asked(DEEPEST_FT) > DEEPEST_FT:
        raise TooDeepError(
            f"A force of {pole.force_lb:,.0f} lb at {pole.height_ft:.1f} ft wants a depth over "
            f"{DEEPEST_FT:g} ft, where the formula ends: this needs engineering."
        )
    low_ft, high_ft = 0.0, DEEPEST_FT
    while high_ft - low_ft > CLOSE_ENOUGH_FT:
        middle_ft = (low_ft + high_ft) / 2
        if asked(middle_ft) > middle_ft:
            low_ft = middle_ft
        else:
            high_ft = middle_ft
    return high_ft
