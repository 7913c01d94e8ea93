"""Posts judged against wind on whole layouts, each figure worked by hand from the code's rules.

ASCE 7-16 sections 29.3 and 29.4 for the wind, IBC 2018 1806.2 (no value for mud, peat or organic
soil), 1806.3.4 and 1807.3.2.1 for the ground; tests/published holds their tables.
"""

from dataclasses import replace
from typing import Any

import pytest

from estimating.engine.catalog import Catalog, FenceSystem, WindFigures
from estimating.engine.footing_check import FootingChecks, PostCheck, check_footings
from estimating.engine.footing_loads import PostLoad, leaf_moments, worst_of
from estimating.engine.footings import dig
from estimating.engine.layout import lay_out
from estimating.engine.post_strength import PostStrength
from estimating.engine.site import Conditions, FenceLine, Gate, LineEnd, Site
from estimating.engine.wind import Screen, WindLoad
from tests import engine_cases
from tests.starter_cases import fence_line, starter_catalog

OPEN_COUNTRY = Conditions(wind_speed_mph=115.0, exposure="C", soil_class="normal")
# A 4x4 of southern pine No. 2: 1,048 lb-ft, as the published file has it.
PINE = WindFigures(
    screen=Screen(solidity=1.0),
    leaf_lb_ft2=4.0,
    is_movement_harmless=True,
    posts={"end": PostStrength(material="timber", bending_psi=1100)},
)
WOOD = replace(engine_cases.WOOD, wind=PINE)


def book(system: FenceSystem = WOOD, soil: str = "sand") -> Catalog:
    return engine_cases.catalog(system, soil_bearing={"normal": soil})


def judged(
    *lines: FenceLine, catalog: Catalog | None = None, conditions: Conditions = OPEN_COUNTRY
) -> FootingChecks:
    catalog = catalog or book()
    site = Site(name="Made up", lines=lines, conditions=conditions)
    laid_out = lay_out(site, catalog).lines
    return check_footings(laid_out, dig(laid_out, catalog, conditions).holes, catalog, conditions)


def the(checks: FootingChecks, number: int) -> PostCheck:
    return next(each for each in checks.posts if each.post_number == number)


def test_posts_of_a_straight_solid_fence() -> None:
    # 120 ft of 8 ft bays, 16 posts. Middle: 778.4 lb at 3.3 ft is 2,568.9 lb-ft; in sand with F 2
    # and b 1 ft it takes 5.491 ft = 65.9 in, and 36 are there: 30 in short. Of the 1,048 lb-ft
    # that the post may take, 2,568.9 is 245 %.
    checks = judged(fence_line("wood", [120]))
    middle = the(checks, 8)

    assert middle.force_lb == pytest.approx(778.4, abs=0.1)
    assert middle.moment_lb_ft == pytest.approx(2568.9, abs=0.1)
    assert middle.needed_in == pytest.approx(65.89, abs=0.02)
    assert (middle.verdict, middle.short_in, middle.needed_whole_in) == ("short", 30, 66)
    assert middle.bending == "over"
    assert middle.used_pct == pytest.approx(245, abs=0.5)
    # The ends and their neighbours, by Case C.
    assert [round(the(checks, number).force_lb) for number in (1, 2, 15, 16)] == [
        974,
        1417,
        1417,
        974,
    ]
    assert the(checks, 2).rule == "Case C"


def test_a_corner_post_is_judged_leg_by_leg() -> None:
    # Each leg puts 4 ft of its end zone on the corner, and the other leg is a return longer than
    # 2 s: 0.6 x 974 = 584 lb, not twice that.
    corner = the(judged(fence_line("wood", [120, 120])), 16)

    assert corner.kind == "corner"
    assert corner.force_lb == pytest.approx(0.6 * 973.8, abs=0.1)


def test_a_turn_too_small_for_a_corner_leaves_the_leg_whole() -> None:
    # 60 + 60 ft with a turn of 4 degrees (corners begin at 5): as one leg of 120 ft.
    bent = fence_line("wood", [60, 60])
    bent = replace(bent, legs=(bent.legs[0], replace(bent.legs[1], turn_deg=4.0)))
    checks = judged(bent)

    # B/s is 20 for the whole and 10 for a half. Bays of 7.5 ft, so post 2 has 3.75 to 11.25 ft:
    # 0.6 x 24.461 x 0.85 x 6 x (2.25 x 3.2525 + 5.25 x 2.0713) = 1,361.7 lb.
    assert the(checks, 2).force_lb == pytest.approx(1361.7, abs=0.2)
    # Beside the bend the wind pushes as in the middle of a leg: 16.217 x 6 x 7.5 = 729.8 lb.
    assert the(checks, 9).rule == "Case A"
    assert the(checks, 9).force_lb == pytest.approx(729.8, abs=0.2)


def test_a_closed_line_has_a_return_at_every_corner() -> None:
    # Four legs of 120 ft: no free end is left, so each corner has 0.6 of the end zone.
    loop = replace(
        fence_line("wood", [120, 120, 120, 120]),
        closed=True,
    )
    corners = [each for each in judged(loop).posts if each.kind == "corner"]

    assert len(corners) == 4
    assert [each.force_lb for each in corners] == pytest.approx([0.6 * 973.8] * 4, abs=0.5)


def test_a_gate_post_carries_its_leaf_and_the_wind_on_it() -> None:
    # Opening 48 in, gaps of 1 in: a leaf of 46 in. 4 lb/ft2 x 3.833 x 6 ft = 92 lb, at half of
    # 3.833 ft 176.3 lb-ft, on the hinge post alone. Between the posts' centres lie 51.5 in.
    gate = Gate(id="G1", station_in=720.0, clear_opening_in=48.0)
    checks = judged(fence_line("wood", [120], gates=(gate,)))
    hinge, latch = (each for each in checks.posts if each.kind == "gate")

    assert hinge.leaf_lb_ft == pytest.approx(176.3, abs=0.1)
    assert latch.leaf_lb_ft == 0.0
    assert hinge.moment_lb_ft == pytest.approx(hinge.force_lb * 3.3 + 176.3, abs=0.2)
    # Half the gate and half the bay beside it: 718.25 in make 8 bays of 89.8 in.
    assert hinge.width_ft == pytest.approx((51.5 + 718.25 / 8) / 24, abs=0.01)
    assert hinge.force_lb == pytest.approx(16.217 * 6 * hinge.width_ft, abs=0.5)


def test_a_pair_of_leaves_hangs_on_both_posts() -> None:
    pair = engine_cases.gate(leaves=2, leaf_in=60.0, hinge_side="both")
    # 3 lb/ft2 x 5 ft x 4 ft = 60 lb at 2.5 ft, each.
    assert leaf_moments([pair], 48.0, 3.0) == {1: 150.0, 2: 150.0}
    far = replace(pair, leaves=1, hinge_side="end")
    assert leaf_moments([far], 48.0, 3.0) == {2: 150.0}


def load(line_id: str, bearing_deg: float, force_lb: float) -> PostLoad:
    wind = WindLoad(force_lb=force_lb, arm_ft=3.3, rule="Case A")
    return PostLoad(line_id=line_id, bearing_deg=bearing_deg, width_ft=4.0, wind=wind)


@pytest.mark.parametrize(
    ("bearing_deg", "force_lb"),
    # Straight on, or measured from the other side: one fence. Round a corner: the harder of two.
    [(90.0, 500.0), (270.0, 500.0), (100.0, 500.0), (180.0, 300.0)],
)
def test_lines_straight_through_a_shared_post_are_one_fence(
    bearing_deg: float, force_lb: float
) -> None:
    worst = worst_of([load("A", 90.0, 300.0), load("B", bearing_deg, 200.0)])
    assert worst.wind.force_lb == force_lb
    assert worst.wind.arm_ft == pytest.approx(3.3)


def test_a_shared_post_takes_the_loads_of_both_lines() -> None:
    # Two lines of 60 ft, straight on through A's end post: half a bay of each pushes on it.
    first = fence_line("wood", [60])
    second = replace(
        fence_line(
            "wood", [60], start=LineEnd(kind="shared_post", shared_line="A", shared_at="end")
        ),
        id="B",
        start_x_in=720.0,
    )
    shared = the(judged(first, second), 9)

    assert shared.width_ft == pytest.approx(7.5, abs=0.02)


def test_concrete_that_stops_under_the_grass_lengthens_the_arm() -> None:
    # Top 3 in down: 33 in hold instead of 36, and the arm is 3.3 + 0.25 ft.
    low = replace(WOOD, hole=replace(WOOD.hole, concrete_top_in=-3.0))
    middle = the(judged(fence_line("wood", [120]), catalog=book(low)), 8)

    assert middle.depth_in == 33
    assert middle.moment_lb_ft == pytest.approx(778.45 * 3.55, abs=0.5)
    assert middle.hole_in == pytest.approx((middle.needed_in or 0) + 3)


def test_a_hole_full_of_gravel_holds_nothing() -> None:
    # 40 in of gravel in a 36 in hole, a crown of 2 in: no concrete in the ground.
    loose = replace(WOOD, hole=replace(WOOD.hole, gravel_in=40.0, concrete_top_in=2.0))
    middle = the(judged(fence_line("wood", [120]), catalog=book(loose)), 8)

    assert (middle.depth_in, middle.held_pct, middle.needed_diameter_in) == (0.0, 0.0, None)
    assert (middle.verdict, middle.short_in) == ("short", 66)


def test_the_part_of_the_force_that_a_hole_holds() -> None:
    # d 3, h 3.3: A 1.3643, S1 = 2 x 150 x 1 = 300 psf, P = 174.9 lb of 778.4: 22.5 %.
    middle = the(judged(fence_line("wood", [120])), 8)
    assert middle.held_pct == pytest.approx(22.47, abs=0.02)


def test_soil_that_must_not_give_way_counts_single() -> None:
    rigid = replace(WOOD, wind=replace(PINE, is_movement_harmless=False))
    sand = the(judged(fence_line("wood", [120]), catalog=book(rigid, "gravel")), 8)
    # Gravel at F 1 is clay at F 2: the published 6.513 ft.
    assert sand.needed_in == pytest.approx(6.513 * 12, abs=0.02)


def test_terminals_of_fabric_are_not_judged_even_where_they_hold_the_wind() -> None:
    checks = judged(
        fence_line("chain_link_6ft", [100]),
        catalog=starter_catalog(),
        conditions=replace(OPEN_COUNTRY, local_hole_depth_in=60.0),
    )
    by_kind = {each.kind: each for each in checks.posts}

    assert by_kind["line"].verdict == "passes"
    assert by_kind["end"].verdict == "outside"
    assert "pull of the stretched fabric is not judged" in by_kind["end"].reason
    # 2.158 psf on 10 x 6 ft: 129.5 lb.
    assert by_kind["line"].force_lb == pytest.approx(129.5, abs=0.1)


def test_fabric_that_is_short_by_the_wind_alone_is_short() -> None:
    shallow = replace(
        starter_catalog().systems["chain_link_6ft"],
        hole=replace(starter_catalog().systems["chain_link_6ft"].hole, base_depth_in=12.0),
    )
    catalog = replace(
        starter_catalog(),
        systems={"chain_link_6ft": shallow},
        rules=replace(starter_catalog().rules, hole_floor_in=12.0),
    )
    checks = judged(fence_line("chain_link_6ft", [100]), catalog=catalog)

    assert {each.verdict for each in checks.posts} == {"short"}


def test_vinyl_posts_are_unrated_and_yet_judged_in_the_ground() -> None:
    checks = judged(fence_line("vinyl_privacy_6ft", [48]), catalog=starter_catalog())

    assert {each.bending for each in checks.posts} == {"unrated"}
    assert {each.verdict for each in checks.posts} == {"short"}


@pytest.mark.parametrize(
    ("changes", "reason"),
    [
        ({"system": replace(WOOD, wind=None)}, "has no figures for wind"),
        ({"soil_class": "peat"}, "no presumptive bearing value"),
        ({"wind_speed_mph": 250.0, "soil": "clay"}, "deeper than the formula is good for"),
    ],
)
def test_what_can_not_be_judged_says_why(changes: dict[str, Any], reason: str) -> None:
    conditions = replace(
        OPEN_COUNTRY,
        **{name: value for name, value in changes.items() if name in Conditions.__slots__},
    )
    catalog = book(changes.get("system", WOOD), changes.get("soil", "sand"))
    checks = judged(fence_line("wood", [120]), catalog=catalog, conditions=conditions)
    outside = [each for each in checks.posts if each.verdict == "outside"]

    assert outside
    assert all(reason in each.reason for each in outside)


def test_nothing_is_judged_without_a_wind_speed() -> None:
    checks = judged(fence_line("wood", [120]), conditions=Conditions())
    assert (checks.posts, checks.problem) == ((), "no-wind-speed")


def test_a_fence_that_is_only_taken_out_has_no_posts_to_judge() -> None:
    checks = judged(fence_line("wood", [120], scope="removal"))
    assert (checks.posts, checks.problem) == ((), "")
