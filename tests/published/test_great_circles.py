"""Distances on the globe against published ones and hand working.

Tags: P published worked example; C computed from the formula apart from the engine.
"""

import math

import pytest

from scheduling.engine.driving import EARTH_RADIUS_MI, Place, straight_mi

KM_PER_MILE = 1.609344


def place(lat_deg: float, lon_deg: float) -> Place:
    return Place(lat_deg=lat_deg, lon_deg=lon_deg)


@pytest.mark.source("P", "Aviation Formulary (E. Williams), distance between points, worked")
def test_los_angeles_to_new_york_as_a_navigator_s_handbook_works_it() -> None:
    # LAX 33 57 N 118 24 W, JFK 40 38 N 73 47 W: 0.623585 radians.
    lax, jfk = place(33 + 57 / 60, -(118 + 24 / 60)), place(40 + 38 / 60, -(73 + 47 / 60))
    assert straight_mi(lax, jfk) / EARTH_RADIUS_MI == pytest.approx(0.623585, abs=5e-7)


@pytest.mark.source("P", "a public list of programming tasks, haversine formula, worked")
def test_nashville_to_los_angeles() -> None:
    # 2887.2599506 km on a sphere of 6372.8 km.
    found = straight_mi(place(36.12, -86.67), place(33.94, -118.40))
    assert found / EARTH_RADIUS_MI == pytest.approx(2887.2599506 / 6372.8, abs=1e-10)


@pytest.mark.source("P", "an astronomy course's page on distances between cities, worked")
def test_jerusalem_to_los_angeles() -> None:
    # 12,185 km or 7573 miles, on the page's own rounding of the radius.
    found = straight_mi(place(31.75, 35.25), place(34.0, -118.0))
    assert found == pytest.approx(7573, rel=0.001)
    assert found * KM_PER_MILE == pytest.approx(12185, rel=0.001)


@pytest.mark.source("C", "arcs whose angle is plain to see")
@pytest.mark.parametrize(
    ("one", "other", "angle_deg"),
    [
        ((0, 0), (0, 0), 0),
        ((41, -93), (42, -93), 1),
        # Along the equator, over the pole, and to the point right opposite.
        ((0, 10), (0, 100), 90),
        ((60, 0), (60, 180), 60),
        ((41.5, -93.5), (-41.5, 86.5), 180),
        # Over the line where the date changes.
        ((0, 179), (0, -179), 2),
        # From Greenwich on the equator to 60 N 90 E both angles are right: so is the arc.
        ((0, 0), (60, 90), 90),
    ],
)
def test_plain_arcs(one: tuple[float, float], other: tuple[float, float], angle_deg: float) -> None:
    expected = math.radians(angle_deg) * 3958.8
    assert straight_mi(place(*one), place(*other)) == pytest.approx(expected, abs=1e-4)
    assert straight_mi(place(*other), place(*one)) == pytest.approx(expected, abs=1e-4)
