"""What a hole holds, belled or straight, and what a post takes up of the concrete in it."""

import math

from estimating.engine.catalog import FenceSystem, HoleRule
from estimating.engine.products import product_of, setting_of
from estimating.engine.result import Post
from firm.measure.units import CUBIC_IN_PER_CUBIC_FT


def hole_ft3(diameter_in: float, rule: HoleRule, *, from_in: float, to_in: float) -> float:
    """Return what a hole holds between two heights over its bottom.

    Straight sides are a cylinder; a bell is a frustum of a cone, widest at the bottom:
    pi h / 3 (R^2 + R r + r^2).
    """
    shaft_from_in = max(from_in, rule.bell_height_in)
    volume_in3 = math.pi / 4 * diameter_in**2 * max(0.0, to_in - shaft_from_in)
    low_in, high_in = (min(each, rule.bell_height_in) for each in (from_in, to_in))
    if high_in > low_in:
        low_r, high_r = (
            _bell_radius_in(diameter_in, rule, over_bottom_in=each) for each in (low_in, high_in)
        )
        volume_in3 += math.pi / 3 * (high_in - low_in) * (low_r**2 + low_r * high_r + high_r**2)
    return volume_in3 / CUBIC_IN_PER_CUBIC_FT


def _bell_radius_in(diameter_in: float, rule: HoleRule, *, over_bottom_in: float) -> float:
    narrows_in = (rule.bell_diameter_in - diameter_in) / 2 / rule.bell_height_in
    return rule.bell_diameter_in / 2 - narrows_in * over_bottom_in


def displaced_ft3(system: FenceSystem, post: Post, *, length_in: float) -> float:
    """Return what the post takes up of `length_in` of concrete.

    A hollow post pushed into wet concrete fills up: what it displaces is its wall, where that is
    worth counting, and the stiffener that stands in it down to the bottom. One braced first and
    poured around displaces its outline, as a solid one does.
    """
    product = product_of(system, post)
    displaces = product.displaces.get(setting_of(system, post), "nothing")
    if displaces in ("solid", "outline"):
        area_in2 = section_in2(system, post)
    else:
        inside_in = post.width_in - 2 * (product.wall_in or 0.0)
        wall_share = 1 - (inside_in / post.width_in) ** 2 if displaces == "wall" else 0.0
        area_in2 = section_in2(system, post) * wall_share + _stiffener_in2(system, post)
    return area_in2 * length_in / CUBIC_IN_PER_CUBIC_FT


def section_in2(system: FenceSystem, post: Post) -> float:
    """Return the area of a post's outline."""
    is_round = product_of(system, post).shape == "round"
    return post.width_in**2 * (math.pi / 4 if is_round else 1.0)


def _stiffener_in2(system: FenceSystem, post: Post) -> float:
    """Return the metal of the stiffeners that reach through the post's concrete."""
    return sum(
        material.section_in2
        for material in system.materials
        if material.driver == "post"
        and material.reach == "full_depth"
        and (not material.roles or post.kind in material.roles)
    )
