"""Holes of chain link posts by the installation practice ASTM F567, sections 5.1 to 5.3.

Diameter: 4 times the largest section of the post up to 4 in, 3 times above. Depth: 24 in, and
3 in more for each foot of fence over 4 ft. (Read in a public preview of F567-07, and echoed in an
Ohio village's code.)
"""

from dataclasses import replace

import pytest

from estimating.engine.footings import bags_of, dig, system_depth_in
from estimating.engine.products import hole_diameter_in
from estimating.engine.site import Conditions
from tests.engine_cases import straight_line
from tests.starter_cases import starter_catalog


@pytest.mark.source("C", "ASTM F567-07 sections 5.1 to 5.3")
@pytest.mark.parametrize(
    ("fence_ft", "depth_in"), [(3, 24), (4, 24), (5, 27), (6, 30), (8, 36), (10, 42), (12, 48)]
)
def test_depth_grows_three_inches_a_foot_over_four_feet(fence_ft: int, depth_in: float) -> None:
    system = replace(starter_catalog().systems["chain_link_4ft"], height_in=fence_ft * 12.0)

    assert system_depth_in(system) == depth_in


@pytest.mark.source("C", "ASTM F567-07 section 5.1")
@pytest.mark.parametrize(
    ("pipe_in", "diameter_in"),
    [(1.9, 7.6), (2.375, 9.5), (2.875, 11.5), (4.0, 16.0), (4.5, 13.5), (6.625, 19.875)],
)
def test_diameter_is_four_times_the_pipe_up_to_four_inches(
    pipe_in: float, diameter_in: float
) -> None:
    system = starter_catalog().systems["chain_link_4ft"]

    assert hole_diameter_in(
        system, replace(system.posts["line"], width_in=pipe_in)
    ) == pytest.approx(diameter_in)


@pytest.mark.source("C", "ASTM F567-07 sections 5.1 to 5.3")
def test_a_6_ft_fence_s_line_post_takes_1_1537_ft3() -> None:
    # 2.375 in pipe in 9.5 x 30 in: 1.2306 less 0.0769.
    catalog = starter_catalog()
    system = catalog.systems["chain_link_6ft"]
    line = straight_line(bays=2, system=system, post_changes={"width_in": 2.375})
    dug = dig([line], catalog, Conditions())
    hole = dug.holes[1]

    assert (hole.diameter_in, hole.depth_in) == (9.5, 30.0)
    assert hole.concrete_ft3 == pytest.approx(1.1537, abs=5e-5)
    # 1.1537 / 0.45 = 2.56 bags of 60 lb: 3 for one such hole.
    assert bags_of(dug.post_holes[1:2], factor=1.0, yield_ft3=0.45) == (3, 0.0)
    assert hole.concrete_ft3 / 0.45 == pytest.approx(2.56, abs=0.005)


@pytest.mark.source("S", "ASTM F567-07 section 5.2")
def test_the_starter_s_floor_leaves_the_practice_s_24_in_at_4_ft() -> None:
    catalog = starter_catalog()
    line = straight_line(bays=2, system=catalog.systems["chain_link_4ft"])

    assert {hole.depth_in for hole in dig([line], catalog, Conditions()).holes} == {24.0}


@pytest.mark.source("S", "ASTM F567-07 section 5.3: to 2 in above grade, or 6 in below it for sod")
@pytest.mark.parametrize(
    "system", [key for key in starter_catalog().systems if key.startswith("chain_link")]
)
def test_concrete_ends_where_the_practice_lets_it(system: str) -> None:
    top_in = starter_catalog().systems[system].hole.concrete_top_in

    assert 0 <= top_in <= 2 or top_in == -6
