"""The air's curve through each day's low and high, and what stands in where a day has none."""

import datetime as dt
from itertools import islice
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.engine.air import UNKNOWN_AIR_F, Air, LowHigh
from scheduling.engine.errors import EngineError

CHICAGO = ZoneInfo("America/Chicago")
TUESDAY = dt.date(2026, 3, 3)
ONE_DAY = dt.timedelta(days=1)
AIR = Air(
    days={
        TUESDAY - ONE_DAY: LowHigh(low_f=30, high_f=50),
        TUESDAY: LowHigh(low_f=40, high_f=60),
        TUESDAY + ONE_DAY: LowHigh(low_f=36, high_f=52),
    }
)


def at(hour: int, minute: int = 0, day: dt.date = TUESDAY) -> dt.datetime:
    return dt.datetime.combine(day, dt.time(hour, minute), tzinfo=CHICAGO)


@pytest.mark.parametrize(
    ("hour", "minute", "air_f"),
    [
        # The low at 6:00, the high at 15:00, half-way between them at 10:30.
        (6, 0, 40),
        (15, 0, 60),
        (10, 30, 50),
        # A third of the rise, 9:00: 40 + 20 x (1 - cos 60 deg) / 2 = 45.
        (9, 0, 45),
        # A third of the fall to tomorrow's 36, 20:00: 60 - 24 x (1 - cos 60 deg) / 2 = 54.
        (20, 0, 54),
        # Two thirds of the fall from yesterday's 50, 1:00: 50 - 10 x (1 - cos 120 deg) / 2 = 42.5.
        (1, 0, 42.5),
    ],
)
def test_air_runs_in_half_waves_between_low_and_high(hour: int, minute: int, air_f: float) -> None:
    assert AIR.at(at(hour, minute)) == pytest.approx(air_f)


def hours_of(air: Air, since: dt.datetime, count: int) -> list[float]:
    return [air_f for air_f, _ in islice(air.hourly(since, float), count)]


def test_hours_are_read_in_their_middle() -> None:
    found = hours_of(AIR, at(14), 2)
    assert found == pytest.approx([AIR.at(at(14, 30)), AIR.at(at(15, 30))])


def test_hour_that_the_clocks_repeat_counts_twice() -> None:
    # On 1 Nov 2026 it is 1:30 twice in Chicago: from 0:00 the hours' middles are at 0:30, 1:30,
    # 1:30 and 2:30.
    sunday = dt.date(2026, 11, 1)
    air = Air(days={sunday: LowHigh(low_f=40, high_f=60)}, said_f=60)
    found = hours_of(air, at(0, day=sunday), 4)
    assert found[1] == found[2] == pytest.approx(air.at(at(1, 30, sunday)))
    assert found[3] == pytest.approx(air.at(at(2, 30, sunday)))


def test_hour_that_the_clocks_skip_is_not_counted() -> None:
    # On 8 March 2026 no clock in Chicago shows 2:30: 1:30 is followed by 3:30.
    sunday = dt.date(2026, 3, 8)
    air = Air(days={sunday: LowHigh(low_f=40, high_f=60)}, said_f=60)
    found = hours_of(air, at(1, day=sunday), 2)
    assert found == pytest.approx([air.at(at(1, 30, sunday)), air.at(at(3, 30, sunday))])


def test_one_figure_is_a_steady_temperature() -> None:
    assert hours_of(Air(said_f=48), at(9), 48) == [48] * 48


def test_nothing_known_is_the_limit_of_cold_weather() -> None:
    assert Air().at(at(9)) == UNKNOWN_AIR_F == 40


@pytest.mark.parametrize(("said_f", "mean_f"), [(None, 50), (70, 50), (45, 45)])
def test_month_s_usual_air_stands_in_where_it_is_colder_than_what_was_said(
    said_f: float | None, mean_f: float
) -> None:
    air = Air(normals={3: LowHigh(low_f=40, high_f=60)}, said_f=said_f)
    assert air.on(TUESDAY).mean_f == mean_f
    # April has no usual air here.
    assert air.on(dt.date(2026, 4, 1)).mean_f == (said_f or UNKNOWN_AIR_F)


def test_a_day_s_own_low_and_high_rule() -> None:
    own = LowHigh(low_f=61, high_f=80)
    air = Air(days={TUESDAY: own}, normals={3: LowHigh(low_f=30, high_f=40)}, said_f=50)
    assert air.on(TUESDAY) == own


def test_figure_nobody_would_believe_is_held_at_the_coldest_that_was() -> None:
    assert Air(said_f=-400).at(at(9)) == -80


def test_coldest_and_hottest_between_two_moments() -> None:
    # From Tue 14:00 to Wed 14:00: hottest on Tue at 15:00, coldest on Wed at 6:00.
    day = (at(14), at(14, day=TUESDAY + ONE_DAY))
    hottest_at, hottest_f = AIR.hottest(*day)
    coldest_at, coldest_f = AIR.coldest(*day)
    assert (hottest_at, coldest_at) == (at(15), at(6, day=TUESDAY + ONE_DAY))
    assert (hottest_f, coldest_f) == pytest.approx((60, 36))
    # From 8:00 to noon the air only rises.
    assert AIR.coldest(at(8), at(12))[0] == at(8)
    assert AIR.hottest(at(8), at(12))[0] == at(12)


@pytest.mark.parametrize(
    ("low_f", "high_f", "field"),
    [
        (60, 40, "low_f"),
        (float("nan"), 40, "low_f"),
        (40, float("nan"), "high_f"),
        (float("-inf"), 40, "low_f"),
        (40, 141, "high_f"),
        (-81, 40, "low_f"),
    ],
)
def test_low_and_high_that_cannot_be_are_refused_at_their_field(
    low_f: float, high_f: float, field: str
) -> None:
    with pytest.raises(EngineError) as refused:
        LowHigh(low_f=low_f, high_f=high_f)
    assert refused.value.field == field


def test_said_air_without_a_figure_is_refused() -> None:
    with pytest.raises(EngineError, match="as a figure") as refused:
        Air(said_f=float("nan"))
    assert refused.value.field == "air_f"


TEMPERATURES = st.floats(-20, 110)


@given(lows=st.lists(st.tuples(TEMPERATURES, TEMPERATURES), min_size=3, max_size=3))
def test_curve_has_no_leap_and_stays_between_the_lows_and_highs(
    lows: list[tuple[float, float]],
) -> None:
    days = {
        TUESDAY + ONE_DAY * count: LowHigh(low_f=min(pair), high_f=max(pair))
        for count, pair in enumerate(lows)
    }
    air = Air(days=days, said_f=50)
    moments = [at(15) + dt.timedelta(minutes=10 * count) for count in range(24 * 6)]
    found = np.array([air.at(one) for one in moments])
    first, second = days[TUESDAY], days[TUESDAY + ONE_DAY]
    ends = (first.high_f, second.low_f, second.high_f)
    assert min(ends) - 1e-9 <= found.min()
    assert found.max() <= max(ends) + 1e-9
    # Nowhere steeper than half a wave over the nine hours of the rise: pi / 2 / 54 of it in 10 min.
    steepest = np.pi / 2 / 54 * max(abs(ends[0] - ends[1]), abs(ends[2] - ends[1]))
    assert np.abs(np.diff(found)).max() <= steepest + 1e-9
