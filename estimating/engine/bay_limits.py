"""What a bay may do on the ground under it: how far a fence may stand from the ground there."""

import math
from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from estimating.engine.catalog import FenceSystem
from estimating.engine.geometry import PER_INCH
from estimating.engine.ground import Ground
from estimating.engine.result import Follows
from estimating.engine.stepping import Choices

# Model pool codes (ISPSC section 305.2): at most 2 in under a barrier over soil.
POOL_GAP_IN = 2.0
# What a tape reads past: a rise, a gap or a panel is over its limit only beyond this.
READING_IN = 1 / 16
# Float error only.
HAIR_IN = 1e-6


@dataclass(frozen=True, kw_only=True, slots=True)
class Limits:
    """How far a bay may stand over and under its even height, and how far it may rise.

    `over_in` is over the ground anywhere along it, `under_in` into a hump between its posts.
    `longest_in` is the length of a panel whose rails can't be longer, None for rails that are
    cut on site.
    """

    over_in: float
    under_in: float
    rack_in: float
    longest_in: float | None
    ease_over_in: float
    ease_under_in: float


@dataclass(frozen=True, kw_only=True, slots=True)
class BayGround:
    """The ground under one bay: at its two ends, and at each knot between as (share, height)."""

    length_in: float
    start_in: float
    end_in: float
    knots: tuple[tuple[float, float], ...] = ()

    def lifts_in(self, base_start_in: float, base_end_in: float) -> tuple[float, float]:
        """Return the least and the most that a straight base stands over the ground."""
        least_in, most_in = base_start_in - self.start_in, base_end_in - self.end_in
        if least_in > most_in:
            least_in, most_in = most_in, least_in
        for share, height in self.knots:
            lift_in = base_start_in + share * (base_end_in - base_start_in) - height
            least_in, most_in = min(least_in, lift_in), max(most_in, lift_in)
        return least_in, most_in


def limits_of(system: FenceSystem, *, is_pool: bool) -> Limits:
    """Return the limits of a fence system; a pool barrier keeps its gap or gets longer infill.

    So around a pool only the height over the ground limits a level bay, and the string eases no
    dip that would open the gap.
    """
    gap_over_in = max(0.0, system.largest_gap_in - system.ground_gap_in)
    over_in = min(gap_over_in, system.height_tolerance_in)
    ease_over_in = min(system.ease_in, over_in)
    if is_pool:
        over_in = system.height_tolerance_in
        ease_over_in = min(ease_over_in, max(0.0, POOL_GAP_IN - system.ground_gap_in))
    return Limits(
        over_in=over_in,
        under_in=system.ground_gap_in,
        rack_in=system.max_rack_in if system.family == "panel" else math.inf,
        longest_in=system.max_on_centre_in if system.rails == "fixed" else None,
        ease_over_in=ease_over_in,
        ease_under_in=min(system.ease_in, system.ground_gap_in),
    )


def grounds_under(ground: Ground, stations: Sequence[float]) -> tuple[BayGround, ...]:
    """Return the ground between each two level stations that follow one another."""
    heights = [ground.elevation_at(station_in) for station_in in stations]
    return tuple(
        BayGround(
            length_in=end_in - start_in,
            start_in=heights[i],
            end_in=heights[i + 1],
            knots=_knots(ground, start_in, end_in),
        )
        for i, (start_in, end_in) in enumerate(pairwise(stations))
    )


def _knots(ground: Ground, start_in: float, end_in: float) -> tuple[tuple[float, float], ...]:
    first, last = bisect_right(ground.level, start_in), bisect_left(ground.level, end_in)
    if first >= last:
        return ()
    length_in = end_in - start_in
    return tuple(
        ((ground.level[i] - start_in) / length_in, ground.elevation[i]) for i in range(first, last)
    )


def is_within_rack(limits: Limits, length_in: float, rise_in: float) -> bool:
    """Say whether a panel may rack by a rise, and is long enough to."""
    if abs(rise_in) > limits.rack_in + READING_IN:
        return False
    longest_in = limits.longest_in
    return longest_in is None or math.hypot(length_in, rise_in) <= longest_in + READING_IN / 2


def choices_of(under: BayGround, limits: Limits, pinned: Follows = "") -> Choices:
    """Return what a bay may do, heights in sixteenths.

    Where nothing keeps the limits, what breaks them least is left, so that the site is still
    laid out: a finding says where. A pin leaves only what it says: stepped is level at the
    height of the higher post, level at any height inside the limits.
    """
    lowest, highest = _level_heights(under, limits)
    level_over = max(0, lowest - highest)
    highest = max(lowest, highest)
    level = Choices(may_follow=False, lowest=lowest, highest=highest)
    if pinned == "racked":
        return Choices(may_follow=True)
    if pinned == "stepped":
        return Choices(may_follow=False, lowest=lowest, highest=lowest)
    if pinned == "level" or not is_within_rack(
        limits, under.length_in, under.end_in - under.start_in
    ):
        return level
    follow_over = _follow_over(under, limits)
    if follow_over == level_over == 0:
        return Choices(may_follow=True, lowest=lowest, highest=highest)
    return Choices(may_follow=True) if follow_over <= level_over else level


def _level_heights(under: BayGround, limits: Limits) -> tuple[int, int]:
    """Return the least and greatest height at which a level bay keeps its limits."""
    ends = (to_sixteenths(under.start_in), to_sixteenths(under.end_in))
    heights = [height for _, height in under.knots]
    humps = [math.ceil((height - limits.under_in) * PER_INCH - 0.5) for height in heights]
    lowest_ground = min((*ends, *(to_sixteenths(height) for height in heights)))
    return max((*ends, *humps)), lowest_ground + to_sixteenths(limits.over_in)


def _follow_over(under: BayGround, limits: Limits) -> int:
    """Return by how many sixteenths a bay that follows the ground breaks its limits."""
    least_in, most_in = under.lifts_in(under.start_in, under.end_in)
    over_in = max(0.0, most_in - limits.over_in, -least_in - limits.under_in)
    return math.floor(over_in * PER_INCH)


def to_sixteenths(length_in: float) -> int:
    """Return a length in whole sixteenths of an inch, the nearest."""
    return round(length_in * PER_INCH)


def fits_straight(
    bays: Sequence[BayGround], limits: Limits, first: int, heights: Sequence[float]
) -> bool:
    """Say whether bays from `first` on may stand on straight heights: eased, and within rack."""
    stretch = bays[first : first + len(heights) - 1]
    for bay, (start_in, end_in) in zip(stretch, pairwise(heights), strict=True):
        if not is_within_rack(limits, bay.length_in, end_in - start_in):
            return False
        least_in, most_in = bay.lifts_in(start_in, end_in)
        if most_in > limits.ease_over_in + HAIR_IN or least_in < -limits.ease_under_in - HAIR_IN:
            return False
    return True
