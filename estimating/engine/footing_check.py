"""Judges every post of a laid-out site against wind: its hold in the ground and its bending.

Advice by comparison for the office, never an engineered design: code wind rejects much that is
customary, such as most solid 6 ft fences on 36 in holes.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from estimating.engine.catalog import Catalog, FenceSystem, WindFigures
from estimating.engine.embedment import (
    LATERAL_PSF_PER_FT,
    Pole,
    TooDeepError,
    force_held_lb,
    free_depth_ft,
    width_for_ft,
)
from estimating.engine.footing_loads import PostLoad, loads_of, worst_of
from estimating.engine.heights import fence_top_in
from estimating.engine.post_strength import bearing_of
from estimating.engine.products import SLIDE, product_of, setting_of, strength_of
from estimating.engine.result import Hole, LineLayout, Post
from estimating.engine.site import Conditions
from estimating.engine.wind import ASD_OF_WIND, velocity_pressure_psf
from firm.measure.units import IN_PER_FT, round_up

Verdict = Literal["passes", "short", "outside"]
Bending = Literal["passes", "over", "unrated"]
TERMINALS = ("end", "corner", "gate", "pull")
CLOSE_ENOUGH_IN = 1e-3


@dataclass(frozen=True, kw_only=True, slots=True)
class PostCheck:
    """One post judged, allowable-stress level: what pushes on it, and whether it holds.

    `depth_in` is the concrete in the ground, `needed_in` what the formula asks of it; `hole_in`
    is the whole hole that gives it. `held_pct` is the part of the force that the ground takes at
    this depth; `used_pct` is the moment over what the post may take.
    """

    post_number: int
    line_id: str
    kind: str
    verdict: Verdict
    reason: str = ""
    rule: str = ""
    width_ft: float = 0.0
    force_lb: float = 0.0
    moment_lb_ft: float = 0.0
    leaf_lb_ft: float = 0.0
    depth_in: float = 0.0
    needed_in: float | None = None
    hole_in: float | None = None
    needed_diameter_in: float | None = None
    held_pct: float | None = None
    bending: Bending = "unrated"
    bending_words: str = ""
    is_advisory: bool = True
    used_pct: float | None = None

    @property
    def short_in(self) -> float:
        """How many whole inches of concrete are missing, 0 where it holds or nobody knows."""
        missing_in = (self.needed_in or 0.0) - self.depth_in
        return float(round_up(missing_in)) if self.verdict == "short" else 0.0

    @property
    def needed_whole_in(self) -> float | None:
        """What the formula asks, in whole inches: sixteenths would claim too much."""
        return None if self.needed_in is None else float(round_up(self.needed_in))


@dataclass(frozen=True, kw_only=True, slots=True)
class FootingChecks:
    """All posts of a site, judged; `problem` says why nothing could be."""

    posts: tuple[PostCheck, ...] = ()
    pressure_psf: float = 0.0
    problem: str = ""

    def count(self, verdict: Verdict) -> int:
        """Return how many posts have this verdict."""
        return sum(each.verdict == verdict for each in self.posts)

    @property
    def over_in_bending(self) -> int:
        return sum(each.bending == "over" for each in self.posts)


def check_footings(
    lines: Sequence[LineLayout],
    holes: Sequence[Hole],
    catalog: Catalog,
    conditions: Conditions,
) -> FootingChecks:
    """Judge every new post of a site."""
    if not conditions.wind_speed_mph:
        return FootingChecks(problem="no-wind-speed")
    built = [line for line in lines if line.scope != "removal"]
    loads = _all_loads(built, catalog, conditions)
    hole_of = {hole.post_number: hole for hole in holes}
    soil = catalog.rules.soil_bearing.get(conditions.soil_class)
    posts = tuple(
        _check(post, catalog.systems[line.system], loads, hole_of.get(post.number), soil)
        for line in built
        for post in line.posts
    )
    heights_ft = [
        fence_top_in(catalog.systems[line.system].height_in) / IN_PER_FT for line in built
    ]
    return FootingChecks(
        posts=posts, pressure_psf=_pressure(conditions, max(heights_ft, default=0))
    )


def _pressure(conditions: Conditions, height_ft: float) -> float:
    return velocity_pressure_psf(conditions.wind_speed_mph or 0.0, conditions.exposure, height_ft)


def _all_loads(
    lines: Sequence[LineLayout], catalog: Catalog, conditions: Conditions
) -> dict[int, list[PostLoad]]:
    found: dict[int, list[PostLoad]] = {}
    for line in lines:
        system = catalog.systems[line.system]
        if system.wind is None or (not line.posts and not line.bays):
            continue
        pressure_psf = _pressure(conditions, fence_top_in(system.height_in) / IN_PER_FT)
        for number, loads in loads_of(line, system, system.wind, pressure_psf).items():
            found.setdefault(number, []).extend(loads)
    return found


def _check(
    post: Post,
    system: FenceSystem,
    loads: Mapping[int, Sequence[PostLoad]],
    hole: Hole | None,
    soil: str | None,
) -> PostCheck:
    wind = system.wind
    if wind is None:
        return _outside(post, f"{system.name} has no figures for wind")
    if post.number not in loads or hole is None:
        return _outside(post, "nothing hangs on it, or it has no hole")
    if setting_of(system, post) == "tamped":
        return _outside(
            post,
            "it is tamped in earth: the code's formula wants concrete around it, or clean sand "
            "tamped in layers",
        )
    if post.size == SLIDE:
        return _outside(
            post, "it carries a slide gate's rollers: the gate's maker says what it needs"
        )
    if soil is None:
        return _outside(post, "this soil has no presumptive bearing value")
    return _judge(post, system, wind, worst_of(loads[post.number]), hole, soil)


def _outside(post: Post, reason: str) -> PostCheck:
    return PostCheck(
        post_number=post.number,
        line_id=post.line_id,
        kind=post.kind,
        verdict="outside",
        reason=reason,
    )


def _judge(
    post: Post, system: FenceSystem, wind: WindFigures, load: PostLoad, hole: Hole, soil: str
) -> PostCheck:
    """Judge one post at the top of its concrete, where its moment is greatest."""
    is_driven = setting_of(system, post) == "driven"
    top_in = 0.0 if is_driven else system.hole.concrete_top_in
    depth_in = max(0.0, hole.concrete_length_in - max(0.0, top_in))
    if is_driven:
        depth_in = hole.depth_in
    force_lb = ASD_OF_WIND * load.wind.force_lb
    arm_ft = load.wind.arm_ft + max(0.0, -top_in) / IN_PER_FT
    moment_lb_ft = force_lb * arm_ft + load.leaf_lb_ft
    pole = Pole(
        force_lb=force_lb,
        height_ft=moment_lb_ft / force_lb,
        width_ft=(_across_in(system, post) if is_driven else hole.diameter_in) / IN_PER_FT,
        soil_psf_per_ft=LATERAL_PSF_PER_FT[soil],
        soil_factor=2.0 if wind.is_movement_harmless else 1.0,
    )
    needed_in = _needed_in(pole)
    verdict, reason = _verdict(post, system, needed_in, depth_in)
    bearing = bearing_of(strength_of(system, post), width_in=post.width_in)
    used_pct = 100 * moment_lb_ft / bearing.moment_lb_ft if bearing.moment_lb_ft else None
    return PostCheck(
        post_number=post.number,
        line_id=post.line_id,
        kind=post.kind,
        verdict=verdict,
        reason=reason,
        rule=load.wind.rule,
        width_ft=load.width_ft,
        force_lb=force_lb,
        moment_lb_ft=moment_lb_ft,
        leaf_lb_ft=load.leaf_lb_ft,
        depth_in=depth_in,
        needed_in=needed_in,
        hole_in=None if needed_in is None else needed_in + hole.depth_in - depth_in,
        needed_diameter_in=_needed_diameter_in(pole, depth_in),
        held_pct=100 * force_held_lb(pole, depth_ft=depth_in / IN_PER_FT) / force_lb,
        bending=_bending(used_pct),
        bending_words=bearing.words,
        is_advisory=bearing.is_advisory,
        used_pct=used_pct,
    )


def _across_in(system: FenceSystem, post: Post) -> float:
    """Return what the ground meets of a bare post: its diameter, or a square one's diagonal."""
    is_round = product_of(system, post).shape == "round"
    return post.width_in * (1.0 if is_round else math.sqrt(2))


def _needed_in(pole: Pole) -> float | None:
    try:
        return free_depth_ft(pole) * IN_PER_FT
    except TooDeepError:
        return None


def _needed_diameter_in(pole: Pole, depth_in: float) -> float | None:
    if depth_in <= 0:
        return None
    return width_for_ft(pole, depth_ft=depth_in / IN_PER_FT) * IN_PER_FT


def _verdict(
    post: Post, system: FenceSystem, needed_in: float | None, depth_in: float
) -> tuple[Verdict, str]:
    """Return the verdict; fabric's pull is not judged, so a terminal never passes by wind alone."""
    if needed_in is None:
        return "outside", "it would go deeper than the formula is good for: this needs engineering"
    if needed_in > depth_in + CLOSE_ENOUGH_IN:
        return "short", ""
    if system.family == "fabric" and post.kind in TERMINALS:
        return "outside", "holds the wind; the pull of the stretched fabric is not judged"
    return "passes", ""


def _bending(used_pct: float | None) -> Bending:
    if used_pct is None:
        return "unrated"
    return "passes" if used_pct <= 100 else "over"
