"""The drive between sites: its hours, what a second site costs, and figures that are refused."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.engine.driving import (
    Place,
    Road,
    day_drive_h,
    drive_h,
    drive_quarters_h,
    extra_drive_h,
    straight_mi,
)
from scheduling.engine.errors import EngineError
from tests.plan_cases import ELM_PLACE, OAK_PLACE, YARD

ROAD = Road()
PLACES = st.builds(
    Place,
    lat_deg=st.floats(-90, 90),
    lon_deg=st.floats(-180, 180),
)


def minutes(hours: float) -> float:
    return round(hours * 60, 1)


def test_drive_is_the_straight_way_times_the_road_s_factor_by_its_speed() -> None:
    assert round(straight_mi(OAK_PLACE, ELM_PLACE), 3) == 8.0
    # 8 mi x 1.3 / 30 mph = 20.8 min; at 60 mph on straight roads 8 min.
    assert minutes(drive_h(OAK_PLACE, ELM_PLACE, ROAD)) == 20.8
    fast = Road(factor=1.0, speed_mph=60)
    assert minutes(drive_h(OAK_PLACE, ELM_PLACE, fast)) == 8.0
    assert drive_quarters_h(OAK_PLACE, ELM_PLACE, ROAD) == 0.5
    # 12 mi of road: a quarter hour at 48 mph, and not two by a last digit.
    even = Road(factor=1.5, speed_mph=48)
    assert drive_quarters_h(OAK_PLACE, ELM_PLACE, even) == 0.25


@pytest.mark.parametrize("pair", [(None, OAK_PLACE), (OAK_PLACE, None), (None, None)])
def test_no_drive_is_counted_where_a_place_is_unknown(
    pair: tuple[Place | None, Place | None],
) -> None:
    assert drive_h(*pair, ROAD) == 0
    assert drive_quarters_h(*pair, ROAD) == 0


def test_second_site_costs_the_tour_beyond_the_first_site_s_way() -> None:
    # Yard 4 mi to Oak, 8 on to Elm, 12 home: 24 mi less 2 x 4 = 16 mi: 16 x 1.3 / 30 h.
    assert minutes(extra_drive_h([OAK_PLACE, ELM_PLACE], YARD, ROAD)) == 41.6
    # The other way round Oak lies on the way home: 24 mi less 2 x 12.
    assert minutes(extra_drive_h([ELM_PLACE, OAK_PLACE], YARD, ROAD)) == 0
    # Yard unknown: from Oak to Elm only.
    assert minutes(extra_drive_h([OAK_PLACE, ELM_PLACE], None, ROAD)) == 20.8
    # Back to Oak in the evening: 4 + 8 + 8 + 4 = 24 mi less 8.
    assert minutes(extra_drive_h([OAK_PLACE, ELM_PLACE, OAK_PLACE], YARD, ROAD)) == 41.6
    assert minutes(day_drive_h([OAK_PLACE, ELM_PLACE], YARD, ROAD)) == 62.4


def test_day_at_one_known_site_drives_nothing_more() -> None:
    assert extra_drive_h([OAK_PLACE], YARD, ROAD) == 0
    assert extra_drive_h([OAK_PLACE, OAK_PLACE], YARD, ROAD) == 0
    assert extra_drive_h([None, OAK_PLACE, None], YARD, ROAD) == 0
    assert extra_drive_h([], YARD, ROAD) == 0
    assert day_drive_h([], YARD, ROAD) == 0


@given(one=PLACES, other=PLACES, third=PLACES)
def test_no_way_round_is_shorter_than_the_straight_one(
    one: Place, other: Place, third: Place
) -> None:
    direct = straight_mi(one, other)
    assert 0 <= direct <= math.pi * 3958.8 + 1e-6
    assert direct == pytest.approx(straight_mi(other, one), abs=1e-6)
    assert direct <= straight_mi(one, third) + straight_mi(third, other) + 1e-3


@pytest.mark.parametrize(
    ("lat_deg", "lon_deg", "field"),
    [(90.1, 0, "lat_deg"), (0, -180.1, "lon_deg"), (float("nan"), 0, "lat_deg")],
)
def test_place_off_the_globe_is_refused(lat_deg: float, lon_deg: float, field: str) -> None:
    with pytest.raises(EngineError, match="degrees") as refused:
        Place(lat_deg=lat_deg, lon_deg=lon_deg)
    assert refused.value.field == field


@pytest.mark.parametrize(
    ("figures", "field"),
    [
        ({"factor": 0.9}, "factor"),
        ({"speed_mph": 0.0}, "speed_mph"),
        ({"speed_mph": float("nan")}, "speed_mph"),
        ({"speed_mph": 101.0}, "speed_mph"),
    ],
)
def test_road_no_truck_drives_is_refused(figures: dict[str, float], field: str) -> None:
    with pytest.raises(EngineError) as refused:
        Road(**figures)
    assert refused.value.field == field
