"""Posts that are driven or tamped: holes, spoil, hours and what wind can be judged of them.

Common practice, no source, but for the building code's backfill (IBC 1807.3.3, from memory).
"""

from dataclasses import replace

import pytest

from estimating.engine.footing_check import check_footings
from estimating.engine.layout import lay_out
from estimating.engine.result import EstimateResult
from estimating.engine.site import Conditions, NoDigStrip, Site
from tests.starter_cases import estimate_line, fence_line, starter_catalog

FIELD = [100.0, 60.0]


def hours(result: EstimateResult) -> dict[str, float]:
    return {each.phase: each.labor_hours for each in result.hours}


def test_a_driven_post_has_neither_hole_nor_concrete_nor_spoil() -> None:
    result = estimate_line(fence_line("field_fence_4ft_steel", FIELD))
    posts = {post.number: post for line in result.lines for post in line.posts}
    driven = [hole for hole in result.holes if posts[hole.post_number].kind == "line"]

    assert len(driven) == 12
    assert {(h.diameter_in, h.concrete_ft3, h.spoil_ft3, h.depth_in) for h in driven} == {
        (0.0, 0.0, 0.0, 30.0)
    }
    # Three holes are dug, by two men with an auger in normal soil: 3 x 0.9.
    assert hours(result)["dig"] == pytest.approx(2.7)


def test_tamped_soil_goes_back_but_for_what_the_post_takes_up() -> None:
    # Round posts: 12 of 4 in, 30 deep, 0.218166 ft3; 3 of 8 in, 42 deep, 1.221730 ft3.
    # 6.283185 ft3 grow by 25 % to 7.853982, 0.290888 yd3.
    all_tamped = estimate_line(fence_line("field_fence_4ft", FIELD))
    # The three alone: 3.665191 x 1.25 / 27.
    some_driven = estimate_line(fence_line("field_fence_4ft_steel", FIELD))

    assert all_tamped.concrete.spoil_loose_yd3 == pytest.approx(0.290888, abs=1e-6)
    assert some_driven.concrete.spoil_loose_yd3 == pytest.approx(0.169685, abs=1e-6)


def test_gravel_under_a_tamped_post_keeps_its_soil_out() -> None:
    # 4 in of gravel in holes of 8 in: pi / 4 x 64 x 4 / 1728 = 0.116355, and the post 26 deep:
    # pi / 4 x 16 x 26 / 1728 = 0.189077; 0.305433 x 1.25 = 0.381791.
    catalog = starter_catalog()
    field = catalog.systems["field_fence_4ft"]
    with_gravel = replace(field, hole=replace(field.hole, gravel_in=4.0))
    result = estimate_line(
        fence_line("field_fence_4ft", FIELD),
        replace(catalog, systems={"field_fence_4ft": with_gravel}),
    )

    line_hole = next(hole for hole in result.holes if hole.diameter_in == 8.0)
    assert line_hole.spoil_ft3 == pytest.approx(0.381791, abs=1e-6)


def test_beside_a_mark_a_post_is_dug_by_hand_and_never_driven() -> None:
    # Line posts each 133-1/3 in; one stands at 533-5/16, the gas line at 540.
    gas = NoDigStrip(station_in=540.0, facility_width_in=2.0, utility="gas", hand_dig=True)
    result = estimate_line(fence_line("field_fence_4ft_steel", FIELD, no_dig=(gas,)))
    (by_hand,) = [post for post in result.lines[0].posts if post.hand_dig]
    hole = next(hole for hole in result.holes if hole.post_number == by_hand.number)

    assert hole.diameter_in == pytest.approx(3 * 1.375)
    assert hole.spoil_ft3 > 0
    # 11 driven, 1 set as a line post, 3 ends, 4 braces: 11 x 0.15 + 0.25 + 1.05 + 12.
    assert hours(result)["set"] == pytest.approx(14.95)


def test_driving_waits_for_the_locate_ticket_too() -> None:
    result = estimate_line(fence_line("field_fence_4ft_steel", FIELD))
    note = next(f for f in result.findings if f.code == "driven-posts")

    assert "locate ticket" in note.action
    assert "driven-posts" not in {
        f.code for f in estimate_line(fence_line("field_fence_4ft", FIELD)).findings
    }


def test_posts_are_not_driven_into_shale() -> None:
    shale = Conditions(soil_class="shale", dig_method="hand")
    result = estimate_line(fence_line("field_fence_4ft_steel", FIELD), None, shale)

    assert "rates.hours.drive.shale" in {
        f.place for f in result.findings if f.code == "missing-rate"
    }


@pytest.mark.parametrize(
    ("system", "line_post"),
    # Tamped earth is no backfill that the code's formula is for; a bare driven post is judged.
    [
        ("field_fence_4ft", "outside"),
        ("split_rail_2", "outside"),
        ("field_fence_4ft_steel", "short"),
    ],
)
def test_wind_on_posts_that_stand_in_earth(system: str, line_post: str) -> None:
    windy = Conditions(wind_speed_mph=140.0, exposure="D")
    catalog = starter_catalog()
    site = Site(name="Made up", lines=(fence_line(system, FIELD),), conditions=windy)
    lines = lay_out(site, catalog).lines
    holes = estimate_line(site.lines[0], catalog, windy).holes
    checks = check_footings(lines, holes, catalog, windy)
    posts = {post.number: post for post in lines[0].posts}
    found = {each.verdict for each in checks.posts if posts[each.post_number].kind == "line"}

    assert found == {line_post}
    if line_post == "outside":
        assert all("tamped" in each.reason for each in checks.posts)
