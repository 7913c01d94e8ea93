"""Reading post products, and what hangs a gate: gaps, heavier posts, hinges and the slide gate."""

from typing import get_args

from estimating.engine.catalog import (
    Displaces,
    GateHardware,
    GatePost,
    PostProduct,
    Setting,
    SlideGate,
)
from estimating.engine.fields import Entry
from estimating.engine.reading_wind import read_strength

MOST_HEAVIER_POSTS = 10
OWN_NAMES = ("usual", "slide")


def read_post(_role: str, entry: Entry) -> PostProduct:
    """Return the post of one role."""
    displaces = entry.texts("displaces")
    for setting, what in displaces.items():
        if setting not in get_args(Setting) or what not in get_args(Displaces):
            allowed = ", ".join(get_args(Displaces))
            raise entry.refuse(f"displaces.{setting}", f"must say what it displaces: {allowed}.")
    post = PostProduct(
        item=entry.text("item", longest=80),
        width_in=entry.positive("width_in", high=48),
        length_in=entry.positive("length_in", high=600),
        shape=entry.choice("shape", ("square", "round"), "square"),
        wall_in=entry.number("wall_in", None, high=24),
        displaces=displaces,
        least_depth_in=entry.number("least_depth_in", 0.0, high=240),
        hole_diameter_in=entry.positive("hole_diameter_in", None, high=120),
        longer=entry.numbers("longer", high=600),
        setting=entry.choice("setting", get_args(Setting)) if entry.has_value("setting") else None,
    )
    entry.has("setting")
    entry.finish()
    return post


def read_gate_hardware(entry: Entry) -> GateHardware:
    """Return a fence system's gate hardware."""
    gate = GateHardware(
        hinge_gap_in=entry.number("hinge_gap_in", high=24),
        latch_gap_in=entry.number("latch_gap_in", high=24),
        centre_gap_in=entry.number("centre_gap_in", high=24),
        largest_leaf_in=entry.positive("largest_leaf_in", 72.0, high=600),
        usual_post_up_to_leaf_in=entry.positive("usual_post_up_to_leaf_in", None, high=600),
        usual_post_up_to_leaf_lb=entry.positive("usual_post_up_to_leaf_lb", None, high=10_000),
        heavier_posts=tuple(
            _heavier(each) for each in entry.entries("heavier_posts", most=MOST_HEAVIER_POSTS)
        ),
        third_hinge_over_height_in=entry.number("third_hinge_over_height_in", None, high=600),
        third_hinge_over_leaf_in=entry.number("third_hinge_over_leaf_in", None, high=600),
        third_hinge_over_leaf_lb=entry.number("third_hinge_over_leaf_lb", None, high=10_000),
        slide=_slide(entry.entry("slide")) if entry.has_value("slide") else None,
    )
    entry.has("slide")
    entry.finish()
    _check_keys(entry, gate)
    return gate


def _check_keys(entry: Entry, gate: GateHardware) -> None:
    """Refuse names that two sizes of post share, or that mean another one already."""
    keys = [each.key for each in gate.heavier_posts]
    for i, key in enumerate(keys):
        if key in OWN_NAMES or key in keys[:i]:
            raise entry.refuse(f"heavier_posts[{i}].key", f"'{key}' is taken by another post.")


def _heavier(entry: Entry) -> GatePost:
    heavier = GatePost(
        key=entry.text("key", longest=40),
        post=read_post("gate", entry.entry("post")),
        up_to_leaf_in=entry.positive("up_to_leaf_in", high=600),
        up_to_leaf_lb=entry.positive("up_to_leaf_lb", None, high=10_000),
        strength=read_strength("gate", entry.entry("strength"))
        if entry.has_value("strength")
        else None,
    )
    entry.has("strength")
    entry.finish()
    return heavier


def _slide(entry: Entry) -> SlideGate:
    slide = SlideGate(
        post=read_post("gate", entry.entry("post")),
        tail_pct=entry.positive("tail_pct", high=200),
        overlap_in=entry.number("overlap_in", high=48),
        tail_grip_in=entry.number("tail_grip_in", high=120),
        largest_opening_in=entry.positive("largest_opening_in", high=1200),
        largest_rise_in=entry.number("largest_rise_in", high=120),
    )
    entry.finish()
    return slide
