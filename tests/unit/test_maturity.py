"""When a pour is strong enough: properties, SciPy's answers, cold, frost, heat and refusals."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import replace
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import brentq

from scheduling.engine.air import Air, LowHigh
from scheduling.engine.errors import EngineError
from scheduling.engine.maturity import (
    Hazards,
    MaturityRule,
    Method,
    StrengthCurve,
    hazards,
    reach,
    strength_by_hour,
)
from scheduling.starter import load_hardening

CHICAGO = ZoneInfo("America/Chicago")
HARDENING = load_hardening()
RULE, CURVES = HARDENING.rule, HARDENING.curves
TYPE_1 = CURVES["type_1_moist"]
TUESDAY = dt.date(2026, 3, 3)
ONE_DAY = dt.timedelta(days=1)
TUESDAY_14 = dt.datetime(2026, 3, 3, 14, 0, tzinfo=CHICAGO)

METHODS = st.sampled_from([RULE, replace(RULE, method=Method.TEMPERATURE_TIME)])
POURS = st.integers(0, 365 * 24 * 4).map(
    lambda quarters: (
        dt.datetime(2026, 1, 1, tzinfo=dt.UTC) + dt.timedelta(minutes=15 * quarters)
    ).astimezone(CHICAGO)
)
DAYS = st.lists(st.tuples(st.floats(20, 100), st.floats(0, 35)), min_size=9, max_size=9)


def air_of(rows: Sequence[tuple[float, float]], since: dt.date, warmer_f: float = 0) -> Air:
    """Return lows and spans day by day from the day before a pour, then a steady 50 F."""
    days = {
        since + ONE_DAY * (count - 1): LowHigh(low_f=low + warmer_f, high_f=low + span + warmer_f)
        for count, (low, span) in enumerate(rows)
    }
    return Air(days=days, said_f=50 + warmer_f)


@given(air_f=st.floats(40, 120), fraction=st.floats(0.01, 0.9), rule=METHODS, poured_at=POURS)
def test_steady_air_is_the_closed_form(
    air_f: float, fraction: float, rule: MaturityRule, poured_at: dt.datetime
) -> None:
    needed_h = TYPE_1.age_h_for(fraction)
    found = reach(poured_at, needed_h, air=Air(said_f=air_f), rule=rule)
    expected = needed_h / rule.rate(air_f)
    if expected > 60 * 24:
        assert found is None
    else:
        assert found is not None
        assert found.hours == pytest.approx(expected, abs=1e-6)
        assert found.mean_f == pytest.approx(air_f)


@given(rows=DAYS, warmer_f=st.floats(0, 5), fraction=st.floats(0.05, 0.7), poured_at=POURS)
def test_warmer_is_never_later(
    rows: list[tuple[float, float]], warmer_f: float, fraction: float, poured_at: dt.datetime
) -> None:
    needed_h = TYPE_1.age_h_for(fraction)
    cold = reach(poured_at, needed_h, air=air_of(rows, poured_at.date()), rule=RULE)
    warm = reach(poured_at, needed_h, air=air_of(rows, poured_at.date(), warmer_f), rule=RULE)
    assert warm is not None
    assert cold is None or warm.hours <= cold.hours + 1e-9


@given(
    rows=DAYS,
    fractions=st.tuples(st.floats(0.01, 0.9), st.floats(0.01, 0.9)),
    poured_at=POURS,
    cement=st.sampled_from(sorted(CURVES)),
)
def test_more_strength_never_comes_sooner(
    rows: list[tuple[float, float]],
    fractions: tuple[float, float],
    poured_at: dt.datetime,
    cement: str,
) -> None:
    air = air_of(rows, poured_at.date())
    less, more = (
        reach(poured_at, CURVES[cement].age_h_for(one), air=air, rule=RULE)
        for one in sorted(fractions)
    )
    assert less is not None or more is None
    assert less is None or more is None or less.hours <= more.hours


@given(age_h=st.floats(0.1, 2000), cement=st.sampled_from(sorted(CURVES)))
def test_age_and_strength_are_each_other_s_inverse(age_h: float, cement: str) -> None:
    curve = CURVES[cement]
    assert curve.age_h_for(curve.fraction_at(age_h)) == pytest.approx(age_h)


@settings(max_examples=25)
@given(rows=DAYS, fraction=st.floats(0.05, 0.6), poured_at=POURS)
def test_moment_is_the_root_scipy_finds_on_the_fine_curve(
    rows: list[tuple[float, float]], fraction: float, poured_at: dt.datetime
) -> None:
    """The clock never stops here, so that age grows at every moment."""
    warm = [(max(low, 41.0), span) for low, span in rows]
    air, needed_h = air_of(warm, poured_at.date()), TYPE_1.age_h_for(fraction)
    found = reach(poured_at, needed_h, air=air, rule=RULE)
    # Six steps an hour over twenty days, summed by NumPy without the engine's own rate.
    since = poured_at.astimezone(dt.UTC)
    temps = np.array(
        [
            air.at((since + dt.timedelta(minutes=10 * one + 5)).astimezone(CHICAGO))
            for one in range(6 * 24 * 20)
        ]
    )
    kelvin = (temps + 459.67) / 1.8
    ages = np.concatenate(([0.0], np.cumsum(np.exp(-5000 * (1 / kelvin - 1 / 296.15)) / 6)))
    hours = np.arange(ages.size) / 6
    expected = brentq(lambda hour: np.interp(hour, hours, ages) - needed_h, 0, hours[-1])
    assert found is not None
    # Each hour is read in its middle: in the last one the air may be up to 3 F off that.
    assert found.hours == pytest.approx(expected, abs=0.25)


def test_a_day_s_age_is_the_integral_scipy_finds() -> None:
    # 40 to 70 F on every day, from 6:00 to 6:00 in winter time.
    air = Air(normals={month: LowHigh(low_f=40, high_f=70) for month in range(1, 13)})
    since = dt.datetime(2026, 2, 3, 6, tzinfo=CHICAGO)

    def rate(hour: float) -> float:
        half = np.cos(np.pi * hour / 9) if hour < 9 else -np.cos(np.pi * (hour - 9) / 15)
        kelvin = (55 - 15 * half + 459.67) / 1.8
        return float(np.exp(-5000 * (1 / kelvin - 1 / 296.15)))

    day, _ = quad(rate, 0, 24, points=[9])
    found = strength_by_hour(since, TYPE_1, air=air, rule=RULE, hours=24)[-1]
    assert TYPE_1.age_h_for(found) == pytest.approx(day, rel=0.002)


def test_clock_stops_in_cold_nights() -> None:
    # 34 to 60 F every day, read in the middle of the hours. It rises through 40 F at 6:00 + 9 h x
    # acos(1 - 2 x 6/26) / pi = 8.88, 8:53, and falls through it 15 h x acos(1 - 2 x 20/26) / pi =
    # 10.2 h after 15:00, at 1:12. So the middles 1:30 to 8:30 are under it: 8 hours of each night.
    air = Air(normals={month: LowHigh(low_f=34, high_f=60) for month in range(1, 13)})
    found = reach(TUESDAY_14, 1e-6 + sum_of_day(air), air=air, rule=RULE)
    assert found is not None
    assert found.stopped_h == 8


def sum_of_day(air: Air) -> float:
    ages = strength_by_hour(TUESDAY_14, TYPE_1, air=air, rule=RULE, hours=24)
    return TYPE_1.age_h_for(ages[-1])


def test_air_that_stays_cold_never_comes_to_it() -> None:
    assert reach(TUESDAY_14, 30, air=Air(said_f=39), rule=RULE) is None


def test_hours_are_real_across_the_change_of_clocks() -> None:
    # Clocks go back on Sun 1 Nov 2026. Steady 48 F from Sat noon: 70.93 h either way.
    poured_at = dt.datetime(2026, 10, 31, 12, tzinfo=CHICAGO)
    found = reach(poured_at, TYPE_1.age_h_for(0.25), air=Air(said_f=48), rule=RULE)
    assert found is not None
    assert found.hours == pytest.approx(70.93, abs=0.005)


def first_night(low_f: float, *, said_f: float = 50) -> Air:
    return Air(days={TUESDAY + ONE_DAY: LowHigh(low_f=low_f, high_f=55)}, said_f=said_f)


def hazards_of(air: Air, *, curve: StrengthCurve | None = TYPE_1, psi: float = 2500) -> Hazards:
    return hazards(TUESDAY_14, air=air, rule=RULE, curve=curve, strength_psi=psi)


@pytest.mark.parametrize(("low_f", "blocks"), [(31, True), (32, True), (32.5, False)])
def test_freezing_first_night_is_found(low_f: float, blocks: bool) -> None:
    found = hazards_of(first_night(low_f))
    at_6 = dt.datetime(2026, 3, 4, 6, tzinfo=CHICAGO)
    assert (found.frost is not None) is blocks
    # Under 40 F it is cold weather in any case.
    assert found.cold is not None
    assert found.cold[0] == at_6
    assert found.cold[1] == pytest.approx(low_f)
    assert found.heat is None


def test_later_frost_harms_only_what_has_not_500_psi_yet() -> None:
    # At 55 F an hour counts as .547: a fifth of the strength, 500 of 2,500 psi, is there after
    # 23.13 / .547 = 42 h, long before Friday at 6:00. A quarter, 500 of 2,000 psi, needs
    # 30.48 / .547 = 56 h, Thu 21:42, had the air not begun to fall to 20 F at 15:00.
    friday = TUESDAY + ONE_DAY * 3
    air = Air(days={friday: LowHigh(low_f=20, high_f=55)}, said_f=55)
    assert hazards_of(air).frost is None
    found = hazards_of(air, psi=2000).frost
    assert found is not None
    assert found[0] == dt.datetime(2026, 3, 6, 6, tzinfo=CHICAGO)
    assert found[1] == pytest.approx(20)


def test_mix_without_a_curve_is_watched_in_its_first_night_only() -> None:
    assert hazards_of(first_night(30), curve=None).frost is not None
    thursday = TUESDAY + ONE_DAY * 2
    air = Air(days={thursday: LowHigh(low_f=20, high_f=45)}, said_f=45)
    assert hazards_of(air, curve=None).frost is None


def test_concrete_that_never_gets_safe_is_watched_to_the_end() -> None:
    found = hazards_of(Air(said_f=39))
    assert found.frost is None
    assert found.cold == (TUESDAY_14, 39)


def test_hot_day_is_flagged() -> None:
    hot = Air(days={TUESDAY: LowHigh(low_f=70, high_f=96)}, said_f=70)
    found = hazards_of(hot)
    assert (found.frost, found.cold) == (None, None)
    assert found.heat is not None
    assert found.heat[0] == dt.datetime(2026, 3, 3, 15, tzinfo=CHICAGO)
    assert found.heat[1] == pytest.approx(96)


@pytest.mark.parametrize("fraction", [0, -0.1, 1.2, float("nan")])
def test_part_of_the_strength_that_never_comes_is_refused(fraction: float) -> None:
    with pytest.raises(EngineError, match="between 0 and") as refused:
        TYPE_1.age_h_for(fraction)
    assert refused.value.field == "fraction"


@pytest.mark.parametrize(
    ("a_days", "b", "field"), [(0, 0.85, "a_days"), (4, float("nan"), "b"), (4, -1, "b")]
)
def test_curve_that_cannot_be_is_refused(a_days: float, b: float, field: str) -> None:
    with pytest.raises(EngineError) as refused:
        StrengthCurve(name="own", a_days=a_days, b=b)
    assert refused.value.field == field


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"q_k": 0}, "q_k"),
        ({"first_night_h": float("nan")}, "first_night_h"),
        ({"safe_psi": -1}, "safe_psi"),
        ({"cold_limit_f": float("nan")}, "cold_limit_f"),
        ({"datum_f": 73.4}, "datum_f"),
    ],
)
def test_rule_that_cannot_be_is_refused(changes: dict[str, float], field: str) -> None:
    with pytest.raises(EngineError) as refused:
        replace(RULE, **changes)  # type: ignore[arg-type]  # every field here is a number
    assert refused.value.field == field


def test_pour_without_a_time_zone_is_refused() -> None:
    naive = dt.datetime(2026, 3, 3, 14)  # noqa: DTZ001 - the refusal of it is the test
    with pytest.raises(EngineError, match="time zone") as refused:
        reach(naive, 30, air=Air(), rule=RULE)
    assert refused.value.field == "poured_at"
    with pytest.raises(EngineError, match="time zone"):
        strength_by_hour(naive, TYPE_1, air=Air(), rule=RULE, hours=3)
    with pytest.raises(EngineError, match="time zone"):
        hazards(naive, air=Air(), rule=RULE, curve=None, strength_psi=2500)
