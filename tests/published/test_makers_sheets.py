"""Starter systems against figures of makers' manuals and suppliers' guides (names left out)."""

import pytest

from estimating.engine.layout import lay_out
from estimating.engine.products import hole_diameter_in
from estimating.engine.site import FenceLine, Leg, Site
from tests.starter_cases import starter_catalog

VINYL = [key for key in starter_catalog().systems if key.startswith("vinyl")]


@pytest.mark.source("S", "a vinyl fence maker's manual, dig and set")
@pytest.mark.parametrize("system", VINYL)
def test_vinyl_stands_in_12_in_holes_with_concrete_2_to_4_in_below_the_grass(system: str) -> None:
    fence = starter_catalog().systems[system]

    assert hole_diameter_in(fence, fence.posts["end"]) == 12
    assert -4 <= fence.hole.concrete_top_in <= -2
    # 30 in of concrete at least.
    assert fence.hole.base_depth_in + fence.hole.concrete_top_in >= 30


@pytest.mark.source("S", "a how-to on vinyl layout: picket field and one post width, 72 or 96 in")
def test_vinyl_privacy_stands_96_in_on_centre() -> None:
    assert starter_catalog().systems["vinyl_privacy_6ft"].max_on_centre_in == 96


@pytest.mark.source("S", "an ornamental-steel maker's manual: panel and one post, 96 + 2 = 98 in")
@pytest.mark.parametrize("system", ["steel_panel_4ft", "aluminium_panel_4ft"])
def test_panels_of_96_in_stand_98_in_on_centre(system: str) -> None:
    fence = starter_catalog().systems[system]
    line = FenceLine(id="A", name="", system=system, legs=(Leg(length_in=98.0 * 4),))
    layout = lay_out(Site(name="", lines=(line,)), starter_catalog()).lines[0]

    assert fence.max_on_centre_in == 98
    assert {bay.spacer_in for bay in layout.bays} == {96.0}
    assert not any(bay.is_cut for bay in layout.bays)


@pytest.mark.source("S", "a picket-fence maker's manual: holes about 3 times the post's width")
@pytest.mark.parametrize("system", ["wood_privacy_side_6ft", "wood_picket_4ft"])
def test_wood_posts_stand_in_holes_of_about_three_times_their_width(system: str) -> None:
    fence = starter_catalog().systems[system]
    post = fence.posts["end"]

    assert hole_diameter_in(fence, post) / post.width_in == pytest.approx(3, rel=0.15)


@pytest.mark.source("S", "a general article: 11 ft split rails give about 10 ft 6 in of bay")
@pytest.mark.parametrize("system", ["split_rail_2", "split_rail_3"])
def test_split_rails_of_11_ft_make_bays_of_10_ft_6_in(system: str) -> None:
    assert starter_catalog().systems[system].max_on_centre_in == 126


@pytest.mark.source("S", "NRCS Tennessee 382, woven wire: posts 12 to 14 ft, a brace each 330 ft")
def test_field_fence_has_a_post_each_12_ft_and_a_brace_each_330_ft() -> None:
    fence = starter_catalog().systems["field_fence_4ft"]

    assert 144 <= fence.max_on_centre_in <= 168
    assert fence.pull_every_in == 330 * 12


@pytest.mark.source("S", "an extension article on H-braces: 8 ft posts, 3.5 ft in the ground")
def test_field_fence_s_end_posts_are_8_ft_and_stand_3_ft_6_in_deep() -> None:
    post = starter_catalog().systems["field_fence_4ft"].posts["end"]

    assert post.length_in == 96
    assert post.least_depth_in >= 42


@pytest.mark.source("S", "a supplier's guide: 16 ft ranch rails run through and are staggered")
def test_ranch_rails_are_counted_by_the_row_and_not_by_the_foot() -> None:
    rails = [
        material
        for material in starter_catalog().systems["vinyl_ranch_3_rail"].materials
        if material.item == "vinyl_ranch_rail_16ft"
    ]

    assert [material.driver for material in rails] == ["rail_row"]
