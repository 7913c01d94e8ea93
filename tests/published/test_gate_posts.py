"""Posts, leaves and hardware of gates against published figures.

Tags: P published; S seen; C computed apart from the engine; M from memory; N common practice.
"""

import pytest

from estimating.engine.leaves import leaf_widths_in, posts_beside
from estimating.engine.products import product_for
from estimating.engine.site import Gate
from tests.starter_cases import estimate_line, fence_line, starter_catalog

# MIL-HDBK-1013/10 (security fencing, gates), table 1: leaf, post's outside diameter, foundation.
HANDBOOK = [
    (0.0, 6.0, 2.875, 18.0),
    (6.0, 12.0, 4.000, 24.0),
    (12.0, 18.0, 6.625, 36.0),
]


def opening_for(leaf_in: float) -> Gate:
    """A chain link gate whose leaf is just this wide: 2 in at the hinge and 2 in at the latch."""
    return Gate(id="G1", station_in=120.0, clear_opening_in=leaf_in + 4.0)


@pytest.mark.source("S", "MIL-HDBK-1013/10, table 1: gate posts by the width of the leaf")
@pytest.mark.parametrize(("over_ft", "up_to_ft", "post_in", "foundation_in"), HANDBOOK)
@pytest.mark.parametrize("system", ["chain_link_4ft", "chain_link_6ft"])
def test_chain_link_gate_posts_by_the_width_of_their_leaf(
    system: str, over_ft: float, up_to_ft: float, post_in: float, foundation_in: float
) -> None:
    fence = starter_catalog().systems[system]
    for leaf_in in (over_ft * 12 + 1 / 16, up_to_ft * 12):
        if system == "chain_link_4ft" and leaf_in <= 60:
            continue  # a light 4 ft fence has a lighter usual post: common practice
        size = posts_beside(fence, opening_for(leaf_in)).near
        post = product_for(fence, "gate", size)

        assert post.width_in == post_in, leaf_in
        # The usual post of the 6 ft fence stands in the hole of ASTM F567, 4 x 2.875.
        assert (post.hole_diameter_in or foundation_in) == foundation_in
        assert size == "" or post.least_depth_in >= 36  # at least 3 ft deep


@pytest.mark.source("S", "MIL-HDBK-1013/10, table 1: over 18 ft the next post is 8.625 in")
def test_over_eighteen_feet_no_listed_post_is_enough() -> None:
    fence = starter_catalog().systems["chain_link_6ft"]

    assert posts_beside(fence, opening_for(216.0)).is_enough
    assert not posts_beside(fence, opening_for(217.0)).is_enough


@pytest.mark.source("S", "ASTM F900 abstract: stops for all double gates, keepers for open leaves")
def test_a_double_chain_link_gate_has_rod_stop_and_keepers() -> None:
    pair = Gate(id="G1", station_in=120.0, clear_opening_in=144.0, leaves=2, hinge_side="both")
    result = estimate_line(fence_line("chain_link_6ft", [60.0], gates=(pair,)))
    bought = {row.item: row.purchase_units for row in result.quantities}

    assert (bought["gate_drop_rod"], bought["cl_gate_stop"], bought["cl_gate_keeper"]) == (1, 1, 2)


@pytest.mark.source(
    "S", "a slide-gate page: the tail is half of the opening, two roller posts of 4 in"
)
def test_the_tail_of_a_slide_gate() -> None:
    fence = starter_catalog().systems["chain_link_6ft"]
    slide = Gate(id="G1", station_in=400.0, clear_opening_in=240.0, kind="slide")
    (leaf_in,) = leaf_widths_in(slide, fence.gate)

    # A maker's how-to page: over the opening the leaf is about 6 in longer.
    assert leaf_in == 240 + 6 + 120
    result = estimate_line(fence_line("chain_link_6ft", [100.0], gates=(slide,)))
    sizes = [post.width_in for post in result.lines[0].posts if post.kind == "gate"]
    assert sizes == [4.0, 4.0, 4.0]  # two with rollers and a latch post


@pytest.mark.source("S", "a how-to page: 40 to 45 mm of gaps in all at a pair of wooden leaves")
def test_gaps_of_a_pair_of_wooden_leaves() -> None:
    fence = starter_catalog().systems["wood_privacy_side_6ft"]
    pair = Gate(id="G1", station_in=0.0, clear_opening_in=120.0, leaves=2, hinge_side="both")
    gaps_in = 120.0 - sum(leaf_widths_in(pair, fence.gate))

    # Two hinges and the middle, 3/4 in each: 57 mm, above the page's by a margin for wet lumber.
    assert gaps_in == 2.25
    assert gaps_in * 25.4 >= 40


@pytest.mark.source("N", "common practice, no source: walk leaf 4 ft and fixed leaf 8 ft")
def test_an_unequal_pair_shares_what_the_gaps_leave() -> None:
    fence = starter_catalog().systems["vinyl_privacy_6ft"]
    pair = Gate(
        id="G1",
        station_in=0.0,
        clear_opening_in=147.0,
        leaves=2,
        hinge_side="both",
        first_leaf_in=48.0,
    )

    assert leaf_widths_in(pair, fence.gate) == (48.0, 96.0)
