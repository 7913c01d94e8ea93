"""How high a fence stands, against town codes that say how they measure it.

All on codelibrary.amlegal.com. La Mirada (California) 21.62.040(b)(1): from the ground elevation
or finished grade to the highest point. Ellwood City (Pennsylvania) 1480.03: from the existing
ground to the top of the fence; 36 in in front, 72 in at the side, 96 in at the rear. Deer Park
(Ohio): from the grade of the ground abutting the fence to its top edge. Kingwood (West Virginia):
to the highest point, posts and caps not counted up to 4 in over the limit. None of them leaves out
the gap under the fence.
"""

import pytest

from estimating.drawing.profile import View
from estimating.engine.heights import fence_top_in, infill_in, post_top_in, tallest_part_in
from estimating.engine.layout import lay_out
from estimating.engine.post_lengths import needed_length_in
from estimating.engine.site import Conditions, FenceLine, Leg, Site
from tests.starter_cases import starter_catalog

ELLWOOD = {"front": 36.0, "side": 72.0, "rear": 96.0}


def codes_in(yard: str, system: str) -> set[str]:
    line = FenceLine(id="A", name="", system=system, legs=(Leg(length_in=960),), yard=yard)  # type: ignore[arg-type]
    limits = Conditions(
        height_limit_front_in=ELLWOOD["front"],
        height_limit_side_in=ELLWOOD["side"],
        height_limit_rear_in=ELLWOOD["rear"],
    )
    layout = lay_out(Site(name="", lines=(line,), conditions=limits), starter_catalog())
    return {each.code for each in layout.findings} & {"too-tall-for-yard", "height-near-limit"}


@pytest.mark.source("S", "Ellwood City 1480.03: 36, 72 and 96 in from the ground to the top")
@pytest.mark.parametrize(
    ("yard", "system", "codes"),
    [
        # 6 ft is 72 in to the top, its gap inside: exactly what a side yard may have.
        ("side", "vinyl_privacy_6ft", set()),
        ("front", "vinyl_privacy_6ft", {"too-tall-for-yard"}),
        ("rear", "vinyl_privacy_6ft", set()),
        ("front", "split_rail_2", set()),
    ],
)
def test_a_fence_is_held_against_the_yard_by_its_top(
    yard: str, system: str, codes: set[str]
) -> None:
    assert codes_in(yard, system) == codes


@pytest.mark.source("S", "Kingwood 1-14-2020 (A), (B): posts and caps are measured apart")
def test_terminals_over_the_limit_are_a_question_and_no_stop() -> None:
    # Chain link of 72 in: rail and fabric end at 72, terminals stand at 74.
    assert codes_in("side", "chain_link_6ft") == {"height-near-limit"}
    assert tallest_part_in(height_in=72, family="fabric") == 74
    assert tallest_part_in(height_in=72, family="panel") == 72


@pytest.mark.source("C", "worked from the measure of the town codes above")
def test_posts_drawing_infill_and_slope_go_by_one_measure() -> None:
    # 72 in from the ground, 2 in of them gap: 70 in of panel, posts end at 72. In a hole of 33 in
    # without gravel a post is 72 + 33 = 105 in; a bay 5 in up the slope ends at 77.
    system = starter_catalog().systems["vinyl_privacy_6ft"]
    line = FenceLine(id="A", name="", system=system.key, legs=(Leg(length_in=960),))
    (built,) = lay_out(Site(name="", lines=(line,)), starter_catalog()).lines

    assert fence_top_in(system.height_in) == 72
    assert fence_top_in(system.height_in, lift_in=5) == 77
    assert infill_in(system.height_in, system.ground_gap_in) == 70
    assert {post_top_in(height_in=72, family="panel", kind=post.kind) for post in built.posts} == {
        72
    }
    assert needed_length_in(system, built.posts[1], depth_in=33) == 105
    assert View(height_in=72, gap_in=2, family="panel").top_in == 72


@pytest.mark.source("S", "an instruction sheet and a reference book: fabric + 2 in, fabric - 2 in")
@pytest.mark.parametrize(("kind", "top_in"), [("end", 50), ("corner", 50), ("line", 46)])
def test_chain_link_posts_are_set_by_the_fabric_s_height(kind: str, top_in: float) -> None:
    assert post_top_in(height_in=48, family="fabric", kind=kind) == top_in
