"""How long a post must be, and the longer one that is taken where the usual one is too short."""

from collections.abc import Sequence
from dataclasses import replace

from estimating.engine.catalog import Catalog, FenceSystem
from estimating.engine.footings import hole_depth_in
from estimating.engine.heights import post_top_in
from estimating.engine.products import product_of
from estimating.engine.result import LineLayout, Post
from estimating.engine.site import Conditions


def needed_length_in(system: FenceSystem, post: Post, *, depth_in: float) -> float:
    """Return the length a post needs in a hole of this depth, up to the taller of its bays."""
    above_in = post_top_in(height_in=system.height_in, family=system.family, kind=post.kind)
    return above_in + post.lift_in + depth_in - system.hole.gravel_in


def with_long_enough_posts(
    lines: Sequence[LineLayout], catalog: Catalog, conditions: Conditions
) -> tuple[LineLayout, ...]:
    """Return the lines with each post in the least length of its product that is enough.

    A post for which no length is enough stays as it is: a finding says so.
    """
    return tuple(
        line
        if line.scope == "removal"
        else replace(
            line,
            posts=tuple(
                _long_enough(catalog.systems[line.system], post, catalog, conditions)
                for post in line.posts
            ),
        )
        for line in lines
    )


def _long_enough(system: FenceSystem, post: Post, catalog: Catalog, conditions: Conditions) -> Post:
    depth_in, _ = hole_depth_in(system, post, conditions, floor_in=catalog.rules.hole_floor_in)
    needed_in = needed_length_in(system, post, depth_in=depth_in)
    if post.length_in >= needed_in:
        return post
    enough = [
        (length_in, item)
        for item, length_in in product_of(system, post).longer.items()
        if length_in >= needed_in
    ]
    if not enough:
        return post
    length_in, item = min(enough)
    return replace(post, product=item, length_in=length_in)
