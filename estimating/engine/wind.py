"""Wind on fences after ASCE 7: velocity pressure, solid walls (Cases A and C), open screens.

Forces are strength level unless the name says `asd`. The tables were seen as several agreeing
transcriptions, not in the standard itself; factors marked "from memory" want checking there.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import Literal

Exposure = Literal["B", "C", "D"]
Members = Literal["flat", "round"]

GUST = 0.85  # rigid structures
DIRECTIONALITY = 0.85  # solid walls and open signs; from memory
ASD_OF_WIND = 0.6  # section 2.4: strength-level wind in an allowable-stress combination
LEAST_PSF = 16.0  # other structures, section 29.7 in 7-16; from memory
SOLID_FROM = 0.7  # less solid than this is an open screen
ARM_OF_SOLID = 0.55  # s/h = 1: the resultant acts 0.05 h above mid-height; from memory
ARM_OF_OPEN = 0.5
CASE_C_FROM = 2.0  # B/s
RETURN_COUNTS_FROM = 5.0  # B/s

# Kz by height in ft; flat below 15 ft. Exposure B at 40 ft is 7-16's figure.
_HEIGHTS_FT = (15.0, 20.0, 25.0, 30.0, 40.0)
_KZ = {
    "B": (0.57, 0.62, 0.66, 0.70, 0.76),
    "C": (0.85, 0.90, 0.94, 0.98, 1.04),
    "D": (1.03, 1.08, 1.12, 1.16, 1.22),
}

# Fig. 29.3-1, Cases A and B: force coefficient by s/h (rows) and B/s (columns).
_B_OVER_S = (0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 4.0, 5.0, 10.0, 20.0, 30.0, 45.0)
_S_OVER_H = (0.16, 0.2, 0.3, 0.5, 0.7, 0.9, 1.0)
_CASE_A = {
    1.0: (1.80, 1.70, 1.65, 1.55, 1.45, 1.40, 1.35, 1.35, 1.30, 1.30, 1.30, 1.30),
    0.9: (1.85, 1.75, 1.70, 1.60, 1.55, 1.50, 1.45, 1.45, 1.40, 1.40, 1.40, 1.40),
    0.7: (1.90, 1.85, 1.75, 1.70, 1.65, 1.60, 1.60, 1.55, 1.55, 1.55, 1.55, 1.55),
    0.5: (1.95, 1.85, 1.80, 1.75, 1.75, 1.70, 1.70, 1.70, 1.70, 1.70, 1.70, 1.75),
    0.3: (1.95, 1.90, 1.85, 1.80, 1.80, 1.80, 1.80, 1.80, 1.80, 1.85, 1.85, 1.85),
    0.2: (1.95, 1.90, 1.85, 1.80, 1.80, 1.80, 1.80, 1.80, 1.85, 1.90, 1.90, 1.95),
    0.16: (1.95, 1.90, 1.85, 1.85, 1.80, 1.80, 1.85, 1.85, 1.85, 1.90, 1.90, 1.95),
}

# Case C: zones by distance from the windward end, in multiples of s, and B/s (columns). A wall
# too short to have a zone carries the figure of its last one on, which is the larger.
ZONE_STARTS = (0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 10.0)
_ZONE_ENDS = (*ZONE_STARTS[1:], float("inf"))
_CASE_C_COLUMNS = (2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0, 13.0, 45.0)
_CASE_C = (
    (2.25, 2.60, 2.90, 3.10, 3.30, 3.40, 3.55, 3.65, 3.75, 4.00, 4.30),
    (1.50, 1.70, 1.90, 2.00, 2.15, 2.25, 2.30, 2.35, 2.45, 2.60, 2.55),
    (1.50, 1.15, 1.30, 1.45, 1.55, 1.65, 1.70, 1.75, 1.85, 2.00, 1.95),
    (1.50, 1.15, 1.10, 1.05, 1.05, 1.05, 1.05, 1.00, 0.95, 1.50, 1.85),
    (1.50, 1.15, 1.10, 1.05, 1.05, 1.05, 1.05, 1.00, 0.95, 1.35, 1.85),
    (1.50, 1.15, 1.10, 1.05, 1.05, 1.05, 1.05, 1.00, 0.95, 0.90, 1.10),
    (1.50, 1.15, 1.10, 1.05, 1.05, 1.05, 1.05, 1.00, 0.95, 0.55, 0.55),
)
# Return corner's length over s, and what the end zone's coefficient is multiplied by.
_RETURN_LENGTHS = (0.0, 0.3, 1.0, 2.0)
_RETURN_FACTORS = (1.0, 0.90, 0.75, 0.60)

# Fig. 29.4-2, open signs and lattice: under this solidity, flat, slim round, thick round.
_OPEN = (
    (0.1, 2.0, 1.2, 0.8),
    (0.3, 1.8, 1.3, 0.9),
    (SOLID_FROM, 1.6, 1.5, 1.1),
)
_SLIM_TO = 2.5  # D x sqrt(q), ft and psf


@dataclass(frozen=True, kw_only=True, slots=True)
class Screen:
    """The infill as the wind sees it: solid area over gross, and what it is made of."""

    solidity: float
    members: Members = "flat"
    member_in: float = 0.0

    @property
    def is_solid(self) -> bool:
        return self.solidity >= SOLID_FROM


@dataclass(frozen=True, kw_only=True, slots=True)
class Leg:
    """One straight leg of a fence; a return is the leg round the corner, 0 at a free end."""

    length_ft: float
    height_ft: float
    return_at_start_ft: float = 0.0
    return_at_end_ft: float = 0.0


@dataclass(frozen=True, kw_only=True, slots=True)
class WindLoad:
    """The strength-level force on a stretch of a leg, and which rule gave it."""

    force_lb: float
    arm_ft: float
    rule: str


def kz(exposure: Exposure, height_ft: float) -> float:
    """Return the exposure coefficient, interpolated in the table by height."""
    return _interpolate(_HEIGHTS_FT, _KZ[exposure], height_ft)


def velocity_pressure_psf(
    speed_mph: float, exposure: Exposure, height_ft: float, *, topography: float = 1.0
) -> float:
    """Return q with the directionality factor in it; the elevation factor is taken as 1."""
    return 0.00256 * kz(exposure, height_ft) * topography * DIRECTIONALITY * speed_mph**2


@lru_cache(maxsize=1024)
def case_a_coefficient(b_over_s: float, s_over_h: float = 1.0) -> float:
    """Return the force coefficient of the whole wall, interpolated both ways."""
    rows = [_interpolate(_B_OVER_S, _CASE_A[ratio], b_over_s) for ratio in _S_OVER_H]
    return _interpolate(_S_OVER_H, rows, s_over_h)


@lru_cache(maxsize=1024)
def case_c_coefficients(b_over_s: float, s_over_h: float = 1.0) -> tuple[float, ...]:
    """Return the coefficient of each zone of ZONE_STARTS from the windward end.

    Near the ground (s/h over 0.8) all are reduced by 1.8 - s/h. Return corners are not in yet.
    """
    reduction = 1.8 - s_over_h if s_over_h > 0.8 else 1.0
    return tuple(reduction * _interpolate(_CASE_C_COLUMNS, row, b_over_s) for row in _CASE_C)


def return_factor(return_over_s: float) -> float:
    """Return what a return corner of this length leaves of the end zone's coefficient."""
    return _interpolate(_RETURN_LENGTHS, _RETURN_FACTORS, return_over_s)


def opening_factor(solidity: float) -> float:
    """Return the reduction for openings in a wall that is at least 70 % solid."""
    return float(1 - (1 - solidity) ** 1.5)


def open_coefficient(screen: Screen, pressure_psf: float) -> float:
    """Return the force coefficient of an open screen, on its solid area."""
    flat, slim, thick = next((row[1:] for row in _OPEN if screen.solidity < row[0]), _OPEN[-1][1:])
    if screen.members == "flat":
        return flat
    is_slim = screen.member_in / 12 * pressure_psf**0.5 <= _SLIM_TO
    return slim if is_slim else thick


def mesh_solidity(mesh_in: float, wire_in: float) -> float:
    """Return how solid a woven mesh is, by its clear opening and its wire."""
    return float(1 - (mesh_in / (mesh_in + wire_in)) ** 2)


def load_on(
    leg: Leg, screen: Screen, pressure_psf: float, *, from_ft: float, to_ft: float
) -> WindLoad:
    """Return the largest force that the wind puts on a stretch of a leg.

    A solid leg is judged by Case A and, where it is at least twice as long as high, by Case C
    with the wind from either end; an open one by its solid area. Never less than 16 psf of the
    area that meets the wind.
    """
    area_ft2 = leg.height_ft * (to_ft - from_ft)
    if not screen.is_solid:
        solid_ft2 = area_ft2 * screen.solidity
        psf = pressure_psf * GUST * open_coefficient(screen, pressure_psf)
        arm_ft = ARM_OF_OPEN * leg.height_ft
        return _greatest(((psf * solid_ft2, "open screen"), _least(solid_ft2)), arm_ft)
    unit_psf = pressure_psf * GUST * opening_factor(screen.solidity)
    b_over_s = leg.length_ft / leg.height_ft
    found = [(unit_psf * case_a_coefficient(b_over_s) * area_ft2, "Case A"), _least(area_ft2)]
    if b_over_s >= CASE_C_FROM:
        from_start = _along_zones(leg, from_ft, to_ft)
        from_end = _along_zones(_turned(leg), leg.length_ft - to_ft, leg.length_ft - from_ft)
        found.append((unit_psf * leg.height_ft * max(from_start, from_end), "Case C"))
    return _greatest(found, ARM_OF_SOLID * leg.height_ft)


def _along_zones(leg: Leg, from_ft: float, to_ft: float) -> float:
    """Return the coefficient added up over a stretch, the wind from the leg's start, in ft."""
    b_over_s = leg.length_ft / leg.height_ft
    total = 0.0
    for place, coefficient in enumerate(case_c_coefficients(b_over_s)):
        start_ft = max(from_ft, ZONE_STARTS[place] * leg.height_ft)
        end_ft = min(to_ft, _ZONE_ENDS[place] * leg.height_ft)
        if end_ft <= start_ft:
            continue
        if place == 0 and b_over_s >= RETURN_COUNTS_FROM:
            coefficient *= return_factor(leg.return_at_start_ft / leg.height_ft)
        total += coefficient * (end_ft - start_ft)
    return total


def _turned(leg: Leg) -> Leg:
    return Leg(
        length_ft=leg.length_ft,
        height_ft=leg.height_ft,
        return_at_start_ft=leg.return_at_end_ft,
        return_at_end_ft=leg.return_at_start_ft,
    )


def _least(area_ft2: float) -> tuple[float, str]:
    return LEAST_PSF * area_ft2, "least load"


def _greatest(found: Sequence[tuple[float, str]], arm_ft: float) -> WindLoad:
    force_lb, rule = max(found)
    return WindLoad(force_lb=force_lb, arm_ft=arm_ft, rule=rule)


def _interpolate(at: Sequence[float], values: Sequence[float], where: float) -> float:
    """Return the value at a place between two columns; beyond the ends, the end's own."""
    if where <= at[0]:
        return values[0]
    for (low, value), (high, following) in pairwise(zip(at, values, strict=True)):
        if where <= high:
            return value + (following - value) * (where - low) / (high - low)
    return values[-1]
