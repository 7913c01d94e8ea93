"""Which stations of a line lie near a place, without looking at all the others."""

import math
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence

from estimating.engine.catalog import FenceSystem
from estimating.engine.nodig import Zone
from estimating.engine.products import dug_diameter_in

# A mark's slant counts to 5 degrees, where it reaches eleven times as far along the line.
FARTHEST_SLANT = 1 / math.sin(math.radians(5))


def farthest_reach_in(system: FenceSystem, zones: Iterable[Zone]) -> float:
    """Return how far along a line a zone can reach a post at all, on the safe side."""
    slide = (system.gate.slide.post,) if system.gate.slide else ()
    heavier = (each.post for each in system.gate.heavier_posts)
    posts = (*system.posts.values(), *slide, *heavier)
    widest_in = max(dug_diameter_in(system, post) for post in posts)
    radius_in = max(widest_in, system.hole.bell_diameter_in) / 2
    return (max((z.zone_half_in for z in zones), default=0.0) + radius_in) * FARTHEST_SLANT


def places_near(stations: Sequence[float], centre_in: float, reach_in: float) -> range:
    """Return the places in a sorted list of stations that lie within reach."""
    return range(
        bisect_left(stations, centre_in - reach_in), bisect_right(stations, centre_in + reach_in)
    )
