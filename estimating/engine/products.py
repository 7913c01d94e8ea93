"""Which post a fence system uses in a role, and how wide a hole it stands in."""

from estimating.engine.catalog import FenceSystem, PostProduct, Setting
from estimating.engine.post_strength import PostStrength
from estimating.engine.result import Post

SLIDE = "slide"  # the size of a slide gate's posts


def product_for(system: FenceSystem, role: str, size: str = "") -> PostProduct:
    """Return the post of a role; the end post serves where a system has no other.

    `size` names a gate post other than the usual one. A size that the system doesn't have, such
    as one of another line's gate, is the usual one.
    """
    if size == SLIDE and system.gate.slide is not None:
        return system.gate.slide.post
    for heavier in system.gate.heavier_posts:
        if heavier.key == size:
            return heavier.post
    return system.posts.get(role) or system.posts["end"]


def product_of(system: FenceSystem, post: Post) -> PostProduct:
    """Return the product of a post that is laid out."""
    return product_for(system, post.kind, post.size)


def setting_of(system: FenceSystem, post: Post) -> Setting:
    """Return how a post is set; one beside a mark is never driven, but dug by hand and tamped."""
    setting = product_of(system, post).setting or system.setting
    return "tamped" if setting == "driven" and post.hand_dig else setting


def strength_of(system: FenceSystem, post: Post) -> PostStrength | None:
    """Return what is known of a post's strength; nothing of a heavier one that has no figures."""
    for heavier in system.gate.heavier_posts:
        if heavier.key == post.size:
            return heavier.strength
    strengths = system.wind.posts if system.wind else {}
    return strengths.get(post.kind) or strengths.get("end")


def hole_diameter_in(system: FenceSystem, product: PostProduct) -> float:
    """Return the hole's diameter: the product's own, or a multiple of the post's width.

    A post that is driven takes no more room than itself.
    """
    if (product.setting or system.setting) == "driven":
        return product.width_in
    return dug_diameter_in(system, product)


def dug_diameter_in(system: FenceSystem, product: PostProduct) -> float:
    """Return the diameter of the hole that a post gets where it is dug."""
    if product.hole_diameter_in is not None:
        return product.hole_diameter_in
    rule = system.hole
    is_small = product.width_in <= rule.times_width_up_to_in
    return product.width_in * (rule.times_width if is_small else rule.times_width_above)


def widest_hole_in(system: FenceSystem, product: PostProduct) -> float:
    """Return the hole's diameter where it is widest: a bell at the bottom reaches further."""
    return max(hole_diameter_in(system, product), system.hole.bell_diameter_in)
