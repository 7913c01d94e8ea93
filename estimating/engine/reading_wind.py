"""Reading what a check against wind needs: a system's infill and posts, the classes of soil."""

from typing import get_args

from estimating.engine.catalog import Role, WindFigures
from estimating.engine.embedment import LATERAL_PSF_PER_FT
from estimating.engine.fields import Entry
from estimating.engine.post_strength import Insert, PostMaterial, PostStrength
from estimating.engine.wind import Members, Screen


def read_wind(entry: Entry) -> WindFigures:
    """Return a fence system's figures for wind."""
    wind = WindFigures(
        screen=Screen(
            solidity=entry.positive("solidity", high=1),
            members=entry.choice("members", get_args(Members), "flat"),
            member_in=entry.number("member_in", 0.0, high=48),
        ),
        leaf_lb_ft2=entry.number("leaf_lb_ft2", 0.0, high=100),
        is_movement_harmless=entry.flag("is_movement_harmless"),
        posts=entry.named("posts", read_strength),
    )
    for role in wind.posts:
        if role not in get_args(Role):
            allowed = ", ".join(get_args(Role))
            raise entry.refuse(f"posts.{role}", f"is no post's role; roles are {allowed}.")
    entry.finish()
    return wind


def read_strength(_role: str, entry: Entry) -> PostStrength:
    """Return what is known of the strength of one post."""
    strength = PostStrength(
        material=entry.choice("material", get_args(PostMaterial)),
        bending_psi=entry.number("bending_psi", 0.0, high=20_000),
        size_factor=entry.positive("size_factor", 1.0, high=3),
        is_incised=entry.flag("is_incised"),
        wall_in=entry.number("wall_in", 0.0, high=24),
        yield_psi=entry.number("yield_psi", 0.0, high=200_000),
        insert=entry.choice("insert", get_args(Insert), "none"),
        insert_section_in3=entry.number("insert_section_in3", 0.0, high=1000),
        insert_yield_psi=entry.number("insert_yield_psi", 0.0, high=200_000),
    )
    entry.finish()
    return strength


def read_soil_bearing(rules: Entry) -> dict[str, str]:
    """Return the building code's class for each of the firm's soil classes."""
    classes = rules.texts("soil_bearing")
    for soil, bearing in classes.items():
        if bearing not in LATERAL_PSF_PER_FT:
            allowed = ", ".join(LATERAL_PSF_PER_FT)
            raise rules.refuse(f"soil_bearing.{soil}", f"must be a class of soil: {allowed}.")
    return classes
