"""Tolerance zones beside utility marks, by one-call centres and state laws.

18 in on each side where the law is silent (a one-call centre's page on the uniform colour code),
18 in in Colorado and Alabama, 24 in by two other pages; states range from 18 to 30. Inside, hand
tools. Zone = width of the facility + the tolerance on each side; at a slant it and the hole's half
reach as much further along the fence as the sine of the angle is less than 1 (plane geometry).
"""

import pytest

from estimating.engine.layout import lay_out
from estimating.engine.site import Conditions, FenceLine, Leg, NoDigStrip, Site
from firm.models import Jurisdiction
from tests.starter_cases import starter_catalog

PIPE_IN = 4.0
RADIUS_IN = 6.0  # this fence's holes are 12 in across


def by_hand(middle_in: float, tolerance_in: float, crossing_deg: float = 90.0) -> bool:
    """Say whether the end post at 0 is dug by hand beside a pipe of 4 in at a station."""
    mark = NoDigStrip(
        station_in=middle_in,
        facility_width_in=PIPE_IN,
        crossing_deg=crossing_deg,
        hand_dig=True,
    )
    line = FenceLine(
        id="A",
        name="",
        system="wood_privacy_side_6ft",
        legs=(Leg(length_in=480.0),),
        no_dig=(mark,),
    )
    conditions = Conditions(hand_dig_tolerance_in=tolerance_in)
    layout = lay_out(Site(name="", lines=(line,), conditions=conditions), starter_catalog())
    return layout.lines[0].posts[0].hand_dig


@pytest.mark.source("S", "one-call centres and state laws: 18, 24 and 30 in on each side")
@pytest.mark.parametrize("tolerance_in", [18.0, 24.0, 30.0])
def test_zone_is_half_the_pipe_and_the_tolerance_from_the_hole_s_edge(tolerance_in: float) -> None:
    # The hole's edge is 6 in nearer than the post: 2 + 18 + 6 = 26 in for the first.
    edge_in = PIPE_IN / 2 + tolerance_in + RADIUS_IN

    assert by_hand(edge_in - 1 / 8, tolerance_in)
    assert not by_hand(edge_in + 1 / 8, tolerance_in)


@pytest.mark.source("C", "a strip, wider by the hole's half, over the sine of its crossing angle")
@pytest.mark.parametrize(
    ("crossing_deg", "reach_in"),
    [
        # Square to the pipe 2 + 18 + 6 = 26 in; along the fence 26 over the sine.
        (60.0, 30.02),  # 26 / 0.86603
        (45.0, 36.77),  # 26 / 0.70711
        (30.0, 52.0),  # 26 / 0.5
        (150.0, 52.0),
        (20.0, 76.02),  # 26 / 0.34202
    ],
)
def test_a_slant_widens_the_zone_and_the_hole_s_half_by_its_sine(
    crossing_deg: float, reach_in: float
) -> None:
    assert by_hand(reach_in - 1 / 8, 18.0, crossing_deg)
    assert not by_hand(reach_in + 1 / 8, 18.0, crossing_deg)


@pytest.mark.source("S", "one-call centres: from 18 to 30 in by state")
def test_a_new_town_starts_within_the_range_of_the_states() -> None:
    assert 18 <= Jurisdiction().hand_dig_tolerance_in <= 30
    assert 18 <= Conditions().hand_dig_tolerance_in <= 30
