"""Strength and age in warmth against ACI 209R, ASTM C1074 and hand working.

Temperatures of the standards are Celsius; 23 C is the reference here, 20 C where a row says so.
Tags: S text seen; P published worked example; C computed from the formula apart from the engine.
"""

import datetime as dt
from dataclasses import replace

import pytest

from scheduling.engine.air import Air
from scheduling.engine.maturity import (
    MaturityRule,
    Method,
    Reached,
    equivalent_age_h,
    reach,
    strength_by_hour,
    temperature_time_f_h,
)
from scheduling.starter import load_hardening

HARDENING = load_hardening()
RULE = HARDENING.rule
AT_20_C = replace(RULE, reference_f=68.0)
NURSE_SAUL = replace(AT_20_C, method=Method.TEMPERATURE_TIME)
POURED_AT = dt.datetime(2026, 3, 3, 14, 0, tzinfo=dt.UTC)
F_PER_C = 1.8


def f(celsius: float) -> float:
    return 32.0 + F_PER_C * celsius


def reached(cement: str, fraction: float, air_f: float) -> Reached:
    needed_h = HARDENING.curves[cement].age_h_for(fraction)
    found = reach(POURED_AT, needed_h, air=Air(said_f=air_f), rule=RULE)
    assert found is not None
    return found


@pytest.mark.source("S", "ACI 209R-92 equation 2-1, constants as a state's bridge library has them")
@pytest.mark.parametrize(
    ("cement", "a_days", "b"),
    [
        ("type_1_moist", 4.0, 0.85),
        ("type_3_moist", 2.3, 0.92),
        ("type_1_steam", 1.0, 0.95),
        ("type_3_steam", 0.70, 0.98),
    ],
)
def test_constants_of_the_strength_curve(cement: str, a_days: float, b: float) -> None:
    curve = HARDENING.curves[cement]
    assert (curve.a_days, curve.b) == (a_days, b)


# Part of the 28-day strength at 1, 3, 7, 14 and 28 days. Type I at 1 day: 1 / (4 + 0.85) = .206.
PARTS = {
    "type_1_moist": (0.206, 0.458, 0.704, 0.881, 1.007),
    "type_3_moist": (0.311, 0.593, 0.801, 0.922, 0.998),
    "type_1_steam": (0.513, 0.779, 0.915, 0.979, 1.014),
    "type_3_steam": (0.595, 0.824, 0.926, 0.971, 0.995),
}


@pytest.mark.source("C", "ACI 209R-92 equation 2-1")
@pytest.mark.parametrize(
    ("cement", "days", "part"),
    [
        (cement, days, part)
        for cement, row in PARTS.items()
        for days, part in zip((1, 3, 7, 14, 28), row, strict=True)
    ],
)
def test_part_of_the_strength_after_days(cement: str, days: int, part: float) -> None:
    assert HARDENING.curves[cement].fraction_at(days * 24) == pytest.approx(part, abs=0.0005)


# Days to 25, 50 and 70 %: a f / (1 - b f). Type I, 25 %: 4 x .25 / (1 - .85 x .25) = 1.27.
DAYS_TO = {
    "type_1_moist": (1.27, 3.48, 6.91),
    "type_3_moist": (0.75, 2.13, 4.52),
    "type_1_steam": (0.33, 0.95, 2.09),
    "type_3_steam": (0.23, 0.69, 1.56),
}


@pytest.mark.source("C", "ACI 209R-92 equation 2-1 turned round")
@pytest.mark.parametrize(
    ("cement", "part", "days"),
    [
        (cement, part, days)
        for cement, row in DAYS_TO.items()
        for part, days in zip((0.25, 0.50, 0.70), row, strict=True)
    ],
)
def test_days_to_a_part_of_the_strength(cement: str, part: float, days: float) -> None:
    assert HARDENING.curves[cement].age_h_for(part) / 24 == pytest.approx(days, abs=0.005)


@pytest.mark.source("C", "ACI 209R-92 equation 2-1: type I at a steady 73 F")
@pytest.mark.parametrize(("part", "hours"), [(0.25, 30.5), (0.45, 70.0)])
def test_hours_to_hang_panels_and_gates_at_the_reference(part: float, hours: float) -> None:
    # 1 / .7875 = 1.26984 days are 30.476 h; 1.8 / .6175 = 2.91498 days are 69.960 h.
    assert HARDENING.curves["type_1_moist"].age_h_for(part) == pytest.approx(hours, abs=0.05)


RATES = [
    *((RULE, c, rate) for c, rate in ((0, 0.241), (5, 0.335), (10, 0.461), (15, 0.626))),
    *((RULE, c, rate) for c, rate in ((20, 0.841), (23, 1.0), (30, 1.477), (35, 1.930))),
    *((AT_20_C, c, rate) for c, rate in ((0, 0.287), (5, 0.399), (10, 0.548), (15, 0.744))),
    *((AT_20_C, c, rate) for c, rate in ((20, 1.0), (23, 1.189), (30, 1.755), (35, 2.294))),
]


@pytest.mark.source("C", "ASTM C1074, equivalent age, Q 5000 K")
@pytest.mark.parametrize(("rule", "celsius", "rate"), RATES)
def test_what_an_hour_counts_as(rule: MaturityRule, celsius: float, rate: float) -> None:
    # 0 C against 23 C: exp(-5000 x (1/273.15 - 1/296.15)) = exp(-1.4216) = .241.
    assert rule.rate(f(celsius)) == pytest.approx(rate, abs=0.0005)


@pytest.mark.source("P", "a slide set on concrete in cold weather: datum 14 F, 44 F for 1 h")
def test_an_hour_at_44_f_over_a_datum_of_14_f_is_30_degree_hours() -> None:
    assert temperature_time_f_h(14, [44]) == 30


@pytest.mark.source("S", "ASTM C1074-98 and -04, section 3: nothing counts under the datum")
def test_nothing_counts_under_the_datum() -> None:
    assert temperature_time_f_h(32, [20, 31.9, 32, 33]) == pytest.approx(1)
    assert replace(RULE, method=Method.TEMPERATURE_TIME).rate(20) == 0


TWO_COLD_DAYS = [f(10)] * 24 + [f(5)] * 24


@pytest.mark.source("C", "ASTM C1074: 24 h at 10 C, then 24 h at 5 C")
@pytest.mark.parametrize(
    ("rule", "hours"),
    [
        # 24 x (.4605 + .3352) = 19.10; with 20 C 24 x (.5476 + .3986) = 22.71.
        (RULE, 19.10),
        (AT_20_C, 22.71),
        # Nurse-Saul: 240 + 120 = 360 C-h over 20; from -10 C 480 + 360 = 840 over 30.
        (NURSE_SAUL, 18.0),
        (replace(NURSE_SAUL, datum_f=14), 28.0),
    ],
)
def test_two_cold_days_count_as_less(rule: MaturityRule, hours: float) -> None:
    assert equivalent_age_h(rule, TWO_COLD_DAYS) == pytest.approx(hours, abs=0.005)


@pytest.mark.source("C", "ASTM C1074: 24 h at 10 C, then 24 h at 5 C")
@pytest.mark.parametrize(("datum_c", "degree_hours"), [(0, 360), (-10, 840)])
def test_two_cold_days_in_degree_hours(datum_c: float, degree_hours: float) -> None:
    found_c = temperature_time_f_h(f(datum_c), TWO_COLD_DAYS) / F_PER_C
    assert found_c == pytest.approx(degree_hours)


@pytest.mark.source("C", "ASTM C1074 and ACI 209R-92: two cold days of type I")
def test_strength_after_two_cold_days() -> None:
    # 19.10 h are .796 days: .796 / (4 + .85 x .796) = .170.
    age_h = equivalent_age_h(RULE, TWO_COLD_DAYS)
    assert age_h / 24 == pytest.approx(0.796, abs=0.0005)
    found = HARDENING.curves["type_1_moist"].fraction_at(age_h)
    assert found == pytest.approx(0.170, abs=0.0005)


# Days to half the 28-day strength at 23, 15, 10 and 5 C.
HALF = {"type_1_moist": (3.48, 5.56, 7.55, 10.37), "type_3_moist": (2.13, 3.40, 4.62, 6.35)}


@pytest.mark.source("C", "ASTM C1074, Q 5000 K, and ACI 209R-92")
@pytest.mark.parametrize(
    ("cement", "celsius", "days"),
    [
        (cement, celsius, days)
        for cement, row in HALF.items()
        for celsius, days in zip((23, 15, 10, 5), row, strict=True)
    ],
)
def test_days_to_half_the_strength_in_colder_air(cement: str, celsius: float, days: float) -> None:
    # Type I at 15 C: 3.478 / .6257 = 5.56. 5 C is 41 F: the clock still runs.
    assert reached(cement, 0.5, f(celsius)).hours / 24 == pytest.approx(days, abs=0.005)


@pytest.mark.source("C", "ASTM C1074, Q 5000 K, 23 C: a steady 48 F")
def test_62_h_at_48_f_count_as_26_6_h_and_28_h_need_65_2_h() -> None:
    # 48 F is 282.04 K: exp(-5000 x (1/282.039 - 1/296.15)) = .4297; 62 x .4297 = 26.64.
    assert equivalent_age_h(RULE, [48.0] * 62) == pytest.approx(26.6, abs=0.05)
    found = reach(POURED_AT, 28.0, air=Air(said_f=48), rule=RULE)
    assert found is not None
    assert found.hours == pytest.approx(65.2, abs=0.05)


@pytest.mark.source("C", "ASTM C1074, Q 5000 K, 23 C, and ACI 209R-92: panels at 48 F")
def test_71_h_at_48_f_count_as_the_30_5_h_that_panels_need() -> None:
    # 30.476 / .4297 = 70.93 h.
    found = reached("type_1_moist", 0.25, 48)
    assert found.hours == pytest.approx(70.93, abs=0.005)
    assert found.counted_h == pytest.approx(30.476, abs=0.0005)
    assert found.mean_f == pytest.approx(48)
    assert found.stopped_h == 0


@pytest.mark.source("S", "ACI 306R as its topic page sums it up: cold weather begins at 40 F")
def test_clock_stops_under_40_f() -> None:
    assert RULE.cold_limit_f == 40
    assert RULE.rate_in_air(39.9) == 0
    assert RULE.rate_in_air(40.0) == RULE.rate(40.0) > 0


@pytest.mark.source("S", "ACI 305.1-14 and ACI 301-20: 95 F as concrete is placed")
def test_hot_weather_begins_at_95_f() -> None:
    assert RULE.hot_limit_f == 95


@pytest.mark.source("S", "ACI 306R: 500 psi survives one freeze")
def test_concrete_of_500_psi_survives_one_freeze() -> None:
    assert RULE.safe_psi == 500


@pytest.mark.source("C", "ACI 306R and ACI 209R-92: 500 psi of a 2,500 psi mix at 73 F")
def test_500_psi_of_2500_takes_nearly_a_day() -> None:
    # A fifth: 4 x .2 / (1 - .85 x .2) = .9639 days are 23.13 h.
    curve = HARDENING.curves["type_1_moist"]
    assert curve.age_h_for(RULE.safe_psi / 2500) == pytest.approx(23.13, abs=0.005)


@pytest.mark.source("C", "ACI 209R-92 equation 2-1 hour by hour at the reference")
def test_curve_of_a_week_at_the_reference() -> None:
    curve = HARDENING.curves["type_1_moist"]
    found = strength_by_hour(
        POURED_AT, curve, air=Air(said_f=RULE.reference_f), rule=RULE, hours=7 * 24
    )
    assert len(found) == 7 * 24 + 1
    assert [found[0], *found[24::48]] == pytest.approx([0, 0.206, 0.458, 0.606, 0.704], abs=0.0005)
