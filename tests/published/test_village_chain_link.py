"""Chain link by an Ohio village's code, which repeats the installation practice ASTM F567.

Ties on line posts at most 15 in apart, on the rail at most 24 in; holes 24 in and 3 in more for
each foot over 4 ft.
"""

import pytest

from estimating.engine.footings import system_depth_in
from tests.starter_cases import starter_catalog

CODE = "an Ohio village's code on chain link, after ASTM F567"
CHAIN_LINK = [key for key in starter_catalog().systems if key.startswith("chain_link")]


def ties(system: str, driver: str) -> float:
    found = [
        material.quantity
        for material in starter_catalog().systems[system].materials
        if material.item == "cl_tie" and material.driver == driver
    ]
    assert len(found) == 1
    return found[0]


@pytest.mark.source("S", CODE)
@pytest.mark.parametrize("system", CHAIN_LINK)
def test_ties_stand_at_most_15_in_apart_on_a_post_and_24_on_the_rail(system: str) -> None:
    height_in = starter_catalog().systems[system].height_in

    assert height_in / ties(system, "post") <= 15
    assert 12 / ties(system, "foot") <= 24


@pytest.mark.source("S", CODE)
@pytest.mark.parametrize(("system", "depth_in"), [("chain_link_4ft", 24), ("chain_link_6ft", 30)])
def test_holes_grow_by_three_inches_a_foot(system: str, depth_in: float) -> None:
    assert system_depth_in(starter_catalog().systems[system]) == depth_in
