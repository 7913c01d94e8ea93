"""Sight triangles against the parameters of five municipal codes, and plane geometry."""

import math
import random

import pytest
from shapely import LineString, Point, Polygon

from estimating.engine.sight import SightTriangle, stretch_inside_in

FT = 12.0


def square_corner(leg_ft: float, low_in: float = 36.0, high_in: float = 0.0) -> SightTriangle:
    """Streets to the east and to the north of a corner at the origin."""
    return SightTriangle(
        corner_x_in=0,
        corner_y_in=0,
        first_bearing_deg=90,
        second_bearing_deg=0,
        leg_in=leg_ft * FT,
        low_in=low_in,
        high_in=high_in,
    )


@pytest.mark.source("C", "a right-angled triangle with legs of 25 ft")
def test_right_angled_corner_of_25_ft() -> None:
    # sqrt(2) x 25 = 35.36 ft; 25 x 25 / 2 = 312.5 ft2; x + y under 25 is inside.
    triangle = square_corner(25)

    assert triangle.hypotenuse_in / FT == pytest.approx(35.36, abs=0.005)
    assert triangle.area_ft2 == pytest.approx(312.5)
    assert triangle.holds((12 * FT, 12 * FT))
    assert not triangle.holds((13 * FT, 13 * FT))


@pytest.mark.source("S", "five municipal codes: leg and band of the sight triangle")
@pytest.mark.parametrize(
    ("leg_ft", "low_ft", "high_ft", "of_4_ft", "of_6_ft"),
    [
        (60, 3.0, 0.0, True, True),  # centre line, above 3 ft
        (25, 3.5, 7.5, True, True),  # lot lines, 3.5 to 7.5 ft
        (20, 2.5, 6.0, True, True),  # right of way, 2.5 to 6 ft
        (25, 3.0, 0.0, True, True),  # street lines, above 3 ft
        (25, 2.5, 10.0, True, True),  # street lines, 2.5 to 10 ft
    ],
)
def test_fences_in_the_band_of_each_code(
    leg_ft: float, low_ft: float, high_ft: float, of_4_ft: bool, of_6_ft: bool
) -> None:
    triangle = square_corner(leg_ft, low_ft * FT, high_ft * FT)

    assert triangle.is_obstructed_by(0, 4 * FT) is of_4_ft
    assert triangle.is_obstructed_by(0, 6 * FT) is of_6_ft
    # A fence up to the band stands clear of it, and so does what begins above its end.
    assert not triangle.is_obstructed_by(0, low_ft * FT)
    if high_ft:
        assert not triangle.is_obstructed_by(high_ft * FT, high_ft * FT + 12)


def along(start: tuple[float, float], bearing_deg: float, length_in: float) -> tuple[float, float]:
    """Return the point that lies so far on a bearing, clockwise from north."""
    angle = math.radians(bearing_deg)
    return start[0] + length_in * math.sin(angle), start[1] + length_in * math.cos(angle)


@pytest.mark.source("L", "Shapely: a course cut by a triangle")
@pytest.mark.parametrize("seed", range(20))
def test_stretch_inside_is_the_one_that_shapely_cuts(seed: int) -> None:
    chance = random.Random(seed)  # noqa: S311 - samples, not secrets
    bearings = (chance.uniform(0, 360), chance.uniform(0, 360))
    triangle = SightTriangle(
        corner_x_in=chance.uniform(-50, 50),
        corner_y_in=chance.uniform(-50, 50),
        first_bearing_deg=bearings[0],
        second_bearing_deg=bearings[1],
        leg_in=chance.uniform(120, 720),
    )
    corner = (triangle.corner_x_in, triangle.corner_y_in)
    drawn = Polygon([corner, *(along(corner, bearing, triangle.leg_in) for bearing in bearings)])
    course = [(chance.uniform(-600, 600), chance.uniform(-600, 600)) for _ in range(5)]
    inside = LineString(course).intersection(drawn).length

    assert triangle.area_ft2 == pytest.approx(drawn.area / 144)
    assert stretch_inside_in(triangle, course) == pytest.approx(inside, abs=1e-4)
    for point in course:
        assert triangle.holds(point) is drawn.contains(Point(point))


@pytest.mark.source("C", "plane geometry")
def test_a_fence_along_the_street_line_stands_at_the_edge_and_not_inside() -> None:
    triangle = square_corner(25)

    assert stretch_inside_in(triangle, [(0, 0), (40 * FT, 0)]) == 0
    # A foot behind it: from 0 to 24 ft, where x + 1 = 25.
    assert stretch_inside_in(triangle, [(0, FT), (40 * FT, FT)]) == pytest.approx(24 * FT)
    # Across the corner at 10 ft each way: sqrt(2) x 10 ft, all of it.
    across = stretch_inside_in(triangle, [(10 * FT, 0), (0, 10 * FT)])
    assert across == pytest.approx(math.sqrt(2) * 10 * FT)
