"""What a post bears in bending at the top of its concrete: timber, steel pipe, stiffened vinyl.

Quick checks for comparison, not a design. Reference values of timber and the yield of pipe stand
in the fence system's data; they are from memory until the firm checks them in the supplement or
on the mill's sheet.
"""

import math
from dataclasses import dataclass
from typing import Literal

PostMaterial = Literal["timber", "pipe", "tube", "vinyl", "unrated"]
Insert = Literal["none", "above_ground", "full_depth"]

WIND_DURATION = 1.6  # NDS load duration factor for wind
WET_FACTOR = 0.85  # dimension lumber in service over 19 % moist; from memory
WET_COUNTS_OVER_PSI = 1150.0  # only where Fb x CF is over this; from memory
TIMBER_FROM_IN = 4.5  # 5x5 and larger are timbers: no wet factor
INCISED_FACTOR = 0.80  # from memory
PIPE_BENDING = 0.66  # of the yield, allowable; compact round sections
LB_FT_PER_IN2 = 10.69  # weight of steel pipe: 10.69 (OD - t) t lb/ft


@dataclass(frozen=True, kw_only=True, slots=True)
class PostStrength:
    """What is known of a post's strength; the fields of other materials stay at their defaults."""

    material: PostMaterial
    bending_psi: float = 0.0  # timber: reference Fb
    size_factor: float = 1.0  # timber: CF
    is_incised: bool = False  # timber
    wall_in: float = 0.0  # pipe and square tube
    yield_psi: float = 0.0  # pipe and square tube
    insert: Insert = "none"  # vinyl: a metal stiffener inside
    insert_section_in3: float = 0.0
    insert_yield_psi: float = 0.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Bearing:
    """The moment a post may take, None where nobody has rated it, and how that is known."""

    moment_lb_ft: float | None
    is_advisory: bool
    words: str


def square_section_in3(width_in: float, depth_in: float | None = None) -> float:
    """Return the section modulus of a rectangle, bent about its width."""
    return width_in * (width_in if depth_in is None else depth_in) ** 2 / 6


def pipe_section_in3(outside_in: float, wall_in: float) -> float:
    """Return the section modulus of a pipe."""
    inside_in = outside_in - 2 * wall_in
    return math.pi * (outside_in**4 - inside_in**4) / (32 * outside_in)


def pipe_weight_lb_ft(outside_in: float, wall_in: float) -> float:
    """Return what a foot of steel pipe weighs."""
    return LB_FT_PER_IN2 * (outside_in - wall_in) * wall_in


def box_section_in3(outside_in: float, wall_in: float) -> float:
    """Return the section modulus of a square tube."""
    inside_in = outside_in - 2 * wall_in
    return (outside_in**4 - inside_in**4) / (6 * outside_in)


def timber_bending_psi(strength: PostStrength, *, width_in: float) -> float:
    """Return the adjusted bending stress of a square post outdoors, under wind."""
    base_psi = strength.bending_psi * strength.size_factor
    is_wet = width_in < TIMBER_FROM_IN and base_psi > WET_COUNTS_OVER_PSI
    incised = INCISED_FACTOR if strength.is_incised else 1.0
    return base_psi * WIND_DURATION * (WET_FACTOR if is_wet else 1.0) * incised


def bearing_of(strength: PostStrength | None, *, width_in: float) -> Bearing:
    """Return the allowable moment of a post of this width.

    Vinyl has no rating. Where a metal insert runs the full depth only the insert counts, and the
    figure is advisory; one above the ground alone carries nothing into the concrete.
    """
    if strength is None or strength.material == "unrated":
        return _unrated("no strength is given for this post")
    if strength.material == "timber":
        stress_psi = timber_bending_psi(strength, width_in=width_in)
        return _rated(stress_psi * square_section_in3(width_in), f"timber, {stress_psi:,.0f} psi")
    if strength.material == "pipe":
        stress_psi = PIPE_BENDING * strength.yield_psi
        section_in3 = pipe_section_in3(width_in, strength.wall_in)
        return _rated(stress_psi * section_in3, f"steel pipe, {stress_psi:,.0f} psi")
    if strength.material == "tube":
        stress_psi = PIPE_BENDING * strength.yield_psi
        section_in3 = box_section_in3(width_in, strength.wall_in)
        return _rated(stress_psi * section_in3, f"square steel tube, {stress_psi:,.0f} psi")
    return _vinyl(strength)


def _vinyl(strength: PostStrength) -> Bearing:
    if strength.insert == "above_ground":
        return _unrated("vinyl is unrated, and a stiffener above the ground alone bears nothing")
    if strength.insert == "none" or not strength.insert_section_in3:
        return _unrated("vinyl posts are unrated")
    stress_psi = PIPE_BENDING * strength.insert_yield_psi
    return _rated(
        stress_psi * strength.insert_section_in3, "the full-depth stiffener alone", advisory=True
    )


def _rated(moment_lb_in: float, words: str, *, advisory: bool = False) -> Bearing:
    return Bearing(moment_lb_ft=moment_lb_in / 12, is_advisory=advisory, words=words)


def _unrated(words: str) -> Bearing:
    return Bearing(moment_lb_ft=None, is_advisory=True, words=words)
