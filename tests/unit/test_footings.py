"""Holes, concrete and spoil."""

from dataclasses import replace

import pytest

from estimating.engine.footings import dig, hole_depth_in
from estimating.engine.hole_volumes import displaced_ft3
from estimating.engine.products import hole_diameter_in
from estimating.engine.result import PostKind
from estimating.engine.site import Conditions
from tests.engine_cases import CONCRETE, WOOD, catalog, post, price, straight_line


@pytest.mark.parametrize(
    ("local_in", "frost_in", "floor_in", "depth_in", "rule"),
    [
        (0, 0, 24, 36, "fence system's rule"),
        (0, 0, 42, 42, "firm's floor"),
        (0, 44, 42, 44, "frost depth"),
        (48, 44, 42, 48, "local rule"),
    ],
)
def test_the_deepest_of_four_rules_counts(
    local_in: float, frost_in: float, floor_in: float, depth_in: float, rule: str
) -> None:
    conditions = Conditions(local_hole_depth_in=local_in, frost_depth_in=frost_in)

    assert hole_depth_in(WOOD, post(1), conditions, floor_in=floor_in) == (depth_in, rule)


@pytest.mark.parametrize(("kind", "depth_in"), [("gate", 50.0), ("line", 44.0), ("end", 44.0)])
def test_only_gate_posts_go_deeper_than_the_governing_rule(kind: PostKind, depth_in: float) -> None:
    system = replace(WOOD, hole=replace(WOOD.hole, gate_extra_depth_in=6.0))

    found, rule = hole_depth_in(system, post(1, kind), Conditions(frost_depth_in=44), floor_in=24)

    assert (found, rule) == (depth_in, "frost depth")


def test_a_product_without_a_hole_of_its_own_takes_a_multiple_of_its_width() -> None:
    product = replace(WOOD.posts["end"], hole_diameter_in=None)

    # 3.5 in, at most 4 in: times 3.
    assert hole_diameter_in(WOOD, product) == 10.5


def test_concrete_stops_below_the_ground_and_above_the_gravel() -> None:
    system = replace(WOOD, hole=replace(WOOD.hole, concrete_top_in=-2.0, gravel_in=4.0))
    hole = dig([straight_line(bays=1, system=system)], catalog(system), Conditions()).holes[0]

    # 36 - 2 - 4 = 30 in. pi/4 x 12^2 x 30 / 1728 = 1.9635; the post 3.5^2 x 30 / 1728 = 0.2127.
    assert hole.concrete_length_in == 30.0
    assert hole.displaced_ft3 == pytest.approx(0.2127, abs=5e-5)
    assert hole.concrete_ft3 == pytest.approx(1.7508, abs=5e-5)


def test_soil_comes_out_of_the_whole_hole_and_swells() -> None:
    hole = dig([straight_line(bays=1)], catalog(), Conditions()).holes[0]

    # pi/4 x 12^2 x 36 / 1728 = 2.3562 ft3, + 25 % = 2.9452.
    assert hole.spoil_ft3 == pytest.approx(2.9452, abs=5e-5)


def test_a_hollow_post_displaces_by_its_setting() -> None:
    hollow = replace(
        WOOD.posts["end"],
        width_in=5.0,
        displaces={"wet_set": "nothing", "pour_around": "outline"},
    )
    vinyl_post = post(1, width_in=5.0)
    poured = replace(WOOD, posts={"end": hollow})
    pushed_in = replace(poured, setting="wet_set")

    # 5 x 5 x 30 / 1728 = 0.434 ft3: 'about 0.43 cf over 30 in' of the trade's rule
    # (common practice, no source).
    assert displaced_ft3(poured, vinyl_post, length_in=30.0) == pytest.approx(0.434, abs=5e-4)
    assert displaced_ft3(pushed_in, vinyl_post, length_in=30.0) == 0.0


def test_bags_are_rounded_up_once_for_the_job() -> None:
    # One hole: 2.1010 x 1.1 / 0.6 = 3.85 bags. 11 holes: 42.37, so 43; one by one 44.
    footings = dig([straight_line(bays=10)], catalog(), Conditions())

    assert footings.concrete.bags == 43


def test_dry_bags_are_rounded_to_the_half_bag_at_each_post() -> None:
    system = replace(WOOD, setting="dry_pack")
    footings = dig([straight_line(bays=10, system=system)], catalog(system), Conditions())

    # Nothing displaced: 2.3562 x 1.1 / 0.6 = 4.32 -> 4.5 bags a hole, 11 holes 49.5 -> 50.
    assert footings.dry_bags == 49.5
    assert footings.concrete.bags == 50


def test_removal_digs_no_holes() -> None:
    footings = dig([straight_line(bays=3, scope="removal")], catalog(), Conditions())

    assert footings.holes == ()
    assert footings.concrete.bags == 0


def test_a_bag_without_a_yield_is_a_finding_and_no_bags_are_counted() -> None:
    prices = [replace(CONCRETE, yield_ft3=None), price("post_4x4")]
    footings = dig([straight_line(bays=1)], catalog(prices=prices), Conditions())

    assert footings.concrete.bags == 0
    assert [f.code for f in footings.findings] == ["missing-yield"]
    assert footings.findings[0].place == "prices.concrete_80lb.yield_ft3"


def test_an_unknown_soil_class_is_a_finding() -> None:
    footings = dig([straight_line(bays=1)], catalog(), Conditions(soil_class="peat"))

    assert [(f.code, f.place) for f in footings.findings] == [
        ("missing-rate", "rates.swell_pct.peat")
    ]
