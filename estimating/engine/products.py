"""Which post a fence system uses in a role, and how wide a hole it stands in."""

from estimating.engine.catalog import FenceSystem, PostProduct


def product_for(system: FenceSystem, role: str) -> PostProduct:
    """Return the post of a role; the end post serves where a system has no other."""
    return system.posts.get(role) or system.posts["end"]


def hole_diameter_in(system: FenceSystem, product: PostProduct) -> float:
    """Return the hole's diameter: the product's own, or a multiple of the post's width."""
    if product.hole_diameter_in is not None:
        return product.hole_diameter_in
    rule = system.hole
    is_small = product.width_in <= rule.times_width_up_to_in
    return product.width_in * (rule.times_width if is_small else rule.times_width_above)
