"""Yields of bagged concrete: 0.15 ft3 for each 20 lb, the label figure of several makers.

40 lb 0.30, 50 lb 0.375, 60 lb 0.45, 80 lb 0.60 ft3; 27 ft3 make a cubic yard, so that 72, 60 and
45 bags of 50, 60 and 80 lb make one.
"""

import pytest

from tests.starter_cases import starter_catalog

pytestmark = pytest.mark.source("S", "label figures of bagged concrete, several how-to pages")


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
