"""What pushes on each post of a laid-out line: the wind, leg by leg, and the weight of leaves."""

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise

from estimating.engine.catalog import FenceSystem, WindFigures
from estimating.engine.geometry import bearing_of, turn_between
from estimating.engine.heights import fence_top_in
from estimating.engine.result import GateLayout, LineLayout
from estimating.engine.wind import Leg, WindLoad, load_on
from firm.measure.units import IN_PER_FT

# Common practice, no source: two lines within this turn of each other are one fence to a post.
STRAIGHT_DEG = 15.0


@dataclass(frozen=True, kw_only=True, slots=True)
class PostLoad:
    """Strength-level wind on one post from one leg, and the moment of a leaf that hangs on it."""

    line_id: str
    bearing_deg: float
    width_ft: float
    wind: WindLoad
    leaf_lb_ft: float = 0.0


@dataclass(frozen=True, kw_only=True, slots=True)
class _LineLeg:
    """A leg where it lies along its line."""

    start_in: float
    end_in: float
    bearing_deg: float
    leg: Leg


@dataclass(frozen=True, kw_only=True, slots=True)
class _Span:
    """A bay or a gate between two supports."""

    start_in: float
    end_in: float
    posts: tuple[int, int]


def loads_of(
    line: LineLayout, system: FenceSystem, wind: WindFigures, pressure_psf: float
) -> dict[int, list[PostLoad]]:
    """Return the loads of a line by post number, one for each leg that ends or passes there.

    A gate counts closed, its leaf as solid as the fence. Each support takes half of each span
    beside it.
    """
    legs = _legs_of(line, system)
    stretches: dict[tuple[int, int], list[float]] = defaultdict(list)
    for span in _spans(line):
        middle_in = (span.start_in + span.end_in) / 2
        place = _leg_at(legs, middle_in)
        halves = ((span.start_in, middle_in), (middle_in, span.end_in))
        for post, half in zip(span.posts, halves, strict=True):
            stretches[post, place] += half
    leaves = leaf_moments(line.gates, system.height_in, wind.leaf_lb_ft2)
    loads: dict[int, list[PostLoad]] = defaultdict(list)
    for (post, place), edges in stretches.items():
        if post == 0:
            continue  # a wall, or a post that stands already
        found = legs[place]
        edge_ft = [(edge - found.start_in) / IN_PER_FT for edge in (min(edges), max(edges))]
        loads[post].append(
            PostLoad(
                line_id=line.line_id,
                bearing_deg=found.bearing_deg,
                width_ft=edge_ft[1] - edge_ft[0],
                wind=load_on(
                    found.leg, wind.screen, pressure_psf, from_ft=edge_ft[0], to_ft=edge_ft[1]
                ),
                leaf_lb_ft=leaves.get(post, 0.0),
            )
        )
    return loads


def leaf_moments(
    gates: Sequence[GateLayout], height_in: float, leaf_lb_ft2: float
) -> dict[int, float]:
    """Return the moment that leaves put on their hinge posts: weight x half the width, lb-ft.

    A slide gate hangs on rollers and none of its posts carries it by a hinge.
    """
    moments: dict[int, float] = defaultdict(float)
    for gate in gates:
        if gate.kind == "slide":
            continue
        if gate.hinge_side != "end":
            moments[gate.from_post] += _moment_lb_ft(gate.widths_in[0], height_in, leaf_lb_ft2)
        if gate.hinge_side != "start":
            moments[gate.to_post] += _moment_lb_ft(gate.widths_in[-1], height_in, leaf_lb_ft2)
    return moments


def _moment_lb_ft(leaf_in: float, height_in: float, leaf_lb_ft2: float) -> float:
    leaf_ft = leaf_in / IN_PER_FT
    return leaf_lb_ft2 * leaf_ft * height_in / IN_PER_FT * leaf_ft / 2


def worst_of(loads: Sequence[PostLoad]) -> PostLoad:
    """Return the load that a post is judged by.

    The legs at a corner are never summed: the wind blows square on one of them. Lines that go
    straight on through a shared post are.
    """
    together = []
    for load in loads:
        others = [
            each
            for each in loads
            if each.line_id != load.line_id and _is_one_fence(each.bearing_deg, load.bearing_deg)
        ]
        together.append(_summed(load, others))
    return max(together, key=lambda each: each.wind.force_lb * each.wind.arm_ft + each.leaf_lb_ft)


def _summed(load: PostLoad, others: Sequence[PostLoad]) -> PostLoad:
    if not others:
        return load
    all_of_them = (load, *others)
    force_lb = sum(each.wind.force_lb for each in all_of_them)
    moment_lb_ft = sum(each.wind.force_lb * each.wind.arm_ft for each in all_of_them)
    wind = WindLoad(force_lb=force_lb, arm_ft=moment_lb_ft / force_lb, rule=load.wind.rule)
    return PostLoad(
        line_id=load.line_id,
        bearing_deg=load.bearing_deg,
        width_ft=sum(each.width_ft for each in all_of_them),
        wind=wind,
        leaf_lb_ft=sum(each.leaf_lb_ft for each in all_of_them),
    )


def _is_one_fence(one_deg: float, other_deg: float) -> bool:
    turn_deg = abs(turn_between(one_deg, other_deg))
    return min(turn_deg, 180 - turn_deg) <= STRAIGHT_DEG


def _spans(line: LineLayout) -> Iterator[_Span]:
    for bay in line.bays:
        yield _Span(
            start_in=bay.start_station_in,
            end_in=bay.start_station_in + bay.on_centre_in,
            posts=(bay.from_post, bay.to_post),
        )
    for gate in line.gates:
        yield _Span(
            start_in=gate.near_centre_in,
            end_in=gate.near_centre_in + gate.on_centre_in,
            posts=(gate.from_post, gate.to_post),
        )


def _legs_of(line: LineLayout, system: FenceSystem) -> list[_LineLeg]:
    """Return the straight parts of a line; turns that make no corner leave a leg whole."""
    runs = _runs(line, system.corner_turn_deg)
    lengths_in = [end - start for start, end, _ in runs]
    is_loop = len(runs) > 1 and line.plan_points[0] == line.plan_points[-1]
    legs = []
    for place, (start_in, end_in, bearing_deg) in enumerate(runs):
        before_in = lengths_in[place - 1] if place or is_loop else 0.0
        after_place = (place + 1) % len(runs)
        after_in = lengths_in[after_place] if after_place or is_loop else 0.0
        leg = Leg(
            length_ft=(end_in - start_in) / IN_PER_FT,
            height_ft=fence_top_in(system.height_in) / IN_PER_FT,
            return_at_start_ft=before_in / IN_PER_FT,
            return_at_end_ft=after_in / IN_PER_FT,
        )
        legs.append(_LineLeg(start_in=start_in, end_in=end_in, bearing_deg=bearing_deg, leg=leg))
    return legs


def _runs(line: LineLayout, corner_turn_deg: float) -> list[tuple[float, float, float]]:
    """Return start, end and bearing of each straight part, by stations along the line."""
    points = line.plan_points
    lengths_in = [math.dist(*pair) for pair in pairwise(points)]
    # Stations of a line taped along the grade run a little longer than its plan.
    scale = line.length_in / sum(lengths_in)
    first_in = min((span.start_in for span in _spans(line)), default=0.0)
    stations = [first_in + scale * each for each in accumulate(lengths_in, initial=0.0)]
    runs: list[tuple[float, float, float]] = []
    for (start_in, end_in), (start, end) in zip(pairwise(stations), pairwise(points), strict=True):
        bearing_deg = bearing_of(start, end)
        if runs and abs(turn_between(runs[-1][2], bearing_deg)) <= corner_turn_deg:
            runs[-1] = (runs[-1][0], end_in, bearing_deg)
        else:
            runs.append((start_in, end_in, bearing_deg))
    return runs


def _leg_at(legs: Sequence[_LineLeg], station_in: float) -> int:
    """Return the place of the leg that a station lies on."""
    return next(
        (place for place, each in enumerate(legs) if station_in <= each.end_in), len(legs) - 1
    )
