"""Yields of bagged concrete: 0.15 ft3 for each 20 lb, the label figure of several makers.

40 lb 0.30, 50 lb 0.375, 60 lb 0.45, 80 lb 0.60, 90 lb 0.675 ft3; 27 ft3 make a cubic yard, so that
90, 72, 60, 45 and 40 of these bags make one.
"""

from dataclasses import replace

import pytest

from estimating.engine.catalog import HoleRule
from estimating.engine.footings import dig
from estimating.engine.site import Conditions
from tests.engine_cases import CONCRETE, WOOD, catalog, straight_line
from tests.starter_cases import starter_catalog

LABELS = "label figures of bagged concrete, several how-to pages"


@pytest.mark.source("S", LABELS)
@pytest.mark.parametrize(
    ("item", "yield_ft3", "bags_a_yard"),
    [
        ("concrete_50lb", 0.375, 72),
        ("concrete_60lb", 0.45, 60),
        ("concrete_80lb", 0.60, 45),
    ],
)
def test_the_starter_s_bags_yield_what_their_labels_say(
    item: str, yield_ft3: float, bags_a_yard: int
) -> None:
    bag = starter_catalog().prices[item]

    assert bag.yield_ft3 == yield_ft3
    assert 27 / yield_ft3 == pytest.approx(bags_a_yard)


@pytest.mark.source("C", f"27 ft3 by {LABELS}")
@pytest.mark.parametrize(
    ("pounds", "bags"), [(40.0, 90), (50.0, 72), (60.0, 60), (80.0, 45), (90.0, 40)]
)
def test_a_yard_of_concrete_takes_so_many_bags(pounds: float, bags: int) -> None:
    # Eight holes of 24 in across, pi ft2, and 12.8915 in deep are 8 x 3.37499 = 26.9999 ft3, the
    # post not taken off.
    product = replace(WOOD.posts["end"], hole_diameter_in=24.0, displaces={})
    hole = HoleRule(base_depth_in=12.8915, concrete_top_in=0.0)
    system = replace(WOOD, posts={"end": product}, hole=hole)
    book = catalog(
        system,
        prices=[replace(CONCRETE, yield_ft3=pounds / 20 * 0.15)],
        hole_floor_in=0.0,
        concrete_waste_pct=0.0,
    )
    concrete = dig([straight_line(bays=7, system=system)], book, Conditions()).concrete

    assert concrete.net_ft3 == pytest.approx(27, abs=2e-4)
    assert concrete.bags == bags
