"""Concrete and spoil against figures worked apart from the engine.

The volumes are plain geometry (pi/4 x d^2 x h, less the post over the concrete), worked in the
project's notes on formulas and in the trade's table of check values. Swell percentages follow
common earthwork tables: 25 % lies in the 20 to 30 % they give for common earth.
"""

from dataclasses import replace

import pytest

from estimating.engine.catalog import HoleRule
from estimating.engine.footings import Footings, dig
from estimating.engine.site import Conditions
from tests.engine_cases import CONCRETE, WOOD, catalog, straight_line


def job(
    posts: int,
    *,
    diameter_in: float,
    depth_in: float,
    displaces: str = "nothing",
    yield_ft3: float = 0.6,
    waste_pct: float = 0.0,
) -> Footings:
    """Dig some holes alike for 4x4 posts of 3.5 in."""
    product = replace(
        WOOD.posts["end"], hole_diameter_in=diameter_in, displaces={"pour_around": displaces}
    )
    system = replace(
        WOOD, posts={"end": product}, hole=HoleRule(base_depth_in=depth_in, concrete_top_in=0.0)
    )
    book = catalog(
        system,
        prices=[replace(CONCRETE, yield_ft3=yield_ft3)],
        concrete_waste_pct=waste_pct,
        hole_floor_in=0.0,
    )
    return dig([straight_line(bays=posts - 1, system=system)], book, Conditions())


@pytest.mark.source("N", "common practice, no source: the trade's table of holes")
@pytest.mark.parametrize(
    ("diameter_in", "depth_in", "ft3"),
    [
        (8, 24, 0.70),
        (10, 30, 1.36),
        (10, 36, 1.64),
        (12, 30, 1.96),
        (12, 36, 2.36),
        (14, 36, 3.21),
        (16, 42, 4.89),
    ],
)
def test_a_hole_takes_the_concrete_of_the_trade_s_table(
    diameter_in: float, depth_in: float, ft3: float
) -> None:
    footings = job(2, diameter_in=diameter_in, depth_in=depth_in)

    assert footings.holes[0].concrete_ft3 == pytest.approx(ft3, abs=0.005)


@pytest.mark.source("N", "common practice, no source: the trade's table of holes, 80 lb and 10 %")
@pytest.mark.parametrize(
    ("diameter_in", "depth_in", "bags"),
    [
        (8, 24, 1.3),
        (10, 30, 2.5),
        (10, 36, 3.0),
        (12, 30, 3.6),
        (12, 36, 4.3),
        (14, 36, 5.9),
        (16, 42, 9.0),
    ],
)
def test_a_hole_takes_the_bags_of_the_trade_s_table(
    diameter_in: float, depth_in: float, bags: float
) -> None:
    # pi/4 x d^2 x h x 1.1 / 0.6: 12 x 36 in is 2.3562 x 1.1 / 0.6 = 4.32. Two holes a job.
    concrete = job(2, diameter_in=diameter_in, depth_in=depth_in, waste_pct=10).concrete

    assert concrete.with_waste_ft3 / concrete.bag_yield_ft3 / 2 == pytest.approx(bags, abs=0.05)
    assert 2 * (bags - 0.05) <= concrete.bags < 2 * (bags + 0.05) + 1


@pytest.mark.source("C", "plain geometry and the label yields of bags")
def test_a_solid_post_leaves_2_1010_ft3_of_a_12_by_36_in_hole() -> None:
    # 2.3562 less 3.5 x 3.5 x 36 / 1728 = 0.2552.
    footings = job(2, diameter_in=12, depth_in=36, displaces="solid")

    assert footings.holes[0].concrete_ft3 == pytest.approx(2.1010, abs=5e-5)


@pytest.mark.source("C", "plain geometry and the label yields of bags")
@pytest.mark.parametrize(
    ("yield_ft3", "bags"), [(0.30, 8), (0.375, 6), (0.45, 5), (0.60, 4), (0.675, 4)]
)
def test_one_such_hole_takes_so_many_bags_of_each_size(yield_ft3: float, bags: int) -> None:
    one_hole = (
        job(2, diameter_in=12, depth_in=36, displaces="solid", yield_ft3=yield_ft3)
        .holes[0]
        .concrete_ft3
    )
    # The job has two posts at least, so the bags of one hole are those of half the job.
    two = job(2, diameter_in=12, depth_in=36, displaces="solid", yield_ft3=yield_ft3 * 2)

    assert two.concrete.net_ft3 / 2 == pytest.approx(one_hole)
    assert two.concrete.bags == bags


@pytest.mark.source("C", "plain geometry and the label yields of bags")
def test_48_such_holes_take_169_bags_and_185_with_waste() -> None:
    # 48 x 2.1010 = 100.85 ft3 = 3.735 yd3; / 0.6 = 168.1; + 10 % = 110.93 ft3, 4.109 yd3, 184.9.
    # Rounded hole by hole it would be 192.
    exact = job(48, diameter_in=12, depth_in=36, displaces="solid").concrete
    with_waste = job(48, diameter_in=12, depth_in=36, displaces="solid", waste_pct=10).concrete

    assert exact.net_ft3 == pytest.approx(100.85, abs=0.005)
    assert exact.cubic_yards == pytest.approx(3.735, abs=5e-4)
    assert exact.bags == 169
    assert with_waste.cubic_yards == pytest.approx(4.109, abs=5e-4)
    assert with_waste.bags == 185


@pytest.mark.source("C", "plain geometry and the label yields of bags")
def test_48_such_holes_give_5_24_loose_cubic_yards_of_common_earth() -> None:
    # 113.10 ft3 = 4.189 yd3 in the bank, the post not deducted; x 1.25 = 5.24.
    concrete = job(48, diameter_in=12, depth_in=36, displaces="solid").concrete

    assert concrete.spoil_loose_yd3 == pytest.approx(5.24, abs=0.005)


@pytest.mark.source("C", "geometry: cylinder and frustum of a cone, worked apart")
def test_a_belled_hole_takes_1_7737_ft3() -> None:
    # 10 in shaft x 24 in: 1.0908; frustum 10 -> 16 in x 12 in: 4 pi (25 + 40 + 64) in3 = .9381;
    # 2.0289 in all, less 3.5 x 3.5 x 36 = .2552.
    rule = HoleRule(
        base_depth_in=36, concrete_top_in=0.0, bell_diameter_in=16.0, bell_height_in=12.0
    )
    product = replace(WOOD.posts["end"], hole_diameter_in=10.0, displaces={"pour_around": "solid"})
    system = replace(WOOD, posts={"end": product}, hole=rule)
    line = straight_line(bays=1, system=system)
    hole = dig([line], catalog(system, hole_floor_in=0.0), Conditions()).holes[0]

    assert hole.displaced_ft3 == pytest.approx(0.2552, abs=5e-5)
    assert hole.concrete_ft3 + hole.displaced_ft3 == pytest.approx(2.0289, abs=5e-5)
    assert hole.concrete_ft3 == pytest.approx(1.7737, abs=5e-5)


@pytest.mark.source("C", "geometry: cylinder less a pipe, worked apart")
def test_a_10_by_30_hole_for_a_pipe_takes_1_2943_ft3() -> None:
    # 1.3635 less 2.375 in pipe over 27 in = .0692: 1.2943 ft3, .04794 yd3, 2.157 bags of 80 lb.
    pipe = replace(
        WOOD.posts["end"],
        width_in=2.375,
        shape="round",
        hole_diameter_in=10.0,
        displaces={"pour_around": "solid"},
    )
    system = replace(
        WOOD, posts={"end": pipe}, hole=HoleRule(base_depth_in=30, concrete_top_in=0.0)
    )
    line = straight_line(bays=1, system=system)
    hole = dig([line], catalog(system, hole_floor_in=0.0), Conditions()).holes[0]
    over_27_ft3 = hole.displaced_ft3 * 27 / 30

    net = hole.concrete_ft3 + hole.displaced_ft3 - over_27_ft3
    assert over_27_ft3 == pytest.approx(0.0692, abs=5e-5)
    assert net == pytest.approx(1.2943, abs=5e-5)
    assert net / 27 == pytest.approx(0.04794, abs=5e-6)
    assert net / 0.60 == pytest.approx(2.157, abs=5e-4)
