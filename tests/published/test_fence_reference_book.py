"""Chain link by the chapter of a fence reference book (online copy).

To 5 ft: line posts of 1-5/8 to 1-7/8 in, terminals 2-3/8; from 6 ft: 2-3/8 and 2-7/8. A break of
the line or grade of 30 degrees, and each 500 ft, takes a terminal.
"""

import math

import pytest

from estimating.engine.layout import lay_out
from estimating.engine.site import FenceLine, GroundShot, Leg, Site
from tests.starter_cases import starter_catalog

pytestmark = pytest.mark.source("S", "a fence reference book's chapter on chain link")


@pytest.mark.parametrize(
    ("system", "line_in", "terminal_in"),
    [
        ("chain_link_4ft", (1.625, 1.875), 2.375),
        ("chain_link_4ft_no_wire", (1.625, 1.875), 2.375),
        ("chain_link_6ft", (2.375, 2.375), 2.875),
        ("chain_link_6ft_commercial", (2.375, 2.375), 2.875),
        ("chain_link_6ft_slats", (2.375, 2.375), 2.875),
    ],
)
def test_pipes_are_the_book_s_for_the_height(
    system: str, line_in: tuple[float, float], terminal_in: float
) -> None:
    posts = starter_catalog().systems[system].posts

    assert line_in[0] <= posts["line"].width_in <= line_in[1]
    assert posts["end"].width_in == terminal_in


@pytest.mark.parametrize(("degrees", "is_break"), [(29.0, False), (31.0, True)])
def test_a_break_of_the_grade_over_thirty_degrees_wants_a_terminal(
    degrees: float, is_break: bool
) -> None:
    # Level for 50 ft, then rising at the angle for 50 ft.
    rise_in = 600 * math.tan(math.radians(degrees))
    shots = ((0.0, 0.0), (600.0, 0.0), (1200.0, rise_in))
    line = FenceLine(
        id="A",
        name="",
        system="chain_link_4ft",
        legs=(Leg(length_in=1200.0),),
        ground=tuple(GroundShot(station_in=at, elevation_in=up) for at, up in shots),
    )
    layout = lay_out(Site(name="", lines=(line,)), starter_catalog())

    assert ("grade-break" in {finding.code for finding in layout.findings}) is is_break
