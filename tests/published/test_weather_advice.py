"""How fast fresh concrete dries, and how long it is protected, against ACI 305R and 306R.

Tags: S text seen; M from memory; C computed from the formula apart from the engine.
"""

import pytest

from scheduling.engine.weather_advice import LB_FT2_PER_KG_M2, evaporation_kg_m2_h
from scheduling.starter import load_weather_advice

MPH_PER_KM_H = 1 / 1.609344


def rate(concrete_c: float, air_c: float, part: float, wind_km_h: float) -> float:
    return evaporation_kg_m2_h(
        concrete_f=concrete_c * 1.8 + 32,
        air_f=air_c * 1.8 + 32,
        humidity_pct=part * 100,
        wind_mph=wind_km_h * MPH_PER_KM_H,
    )


@pytest.mark.source("M", "a magazine's example of the chart: result seen, inputs from memory")
def test_example_of_the_chart() -> None:
    # Published: the equation gives 0.24 lb/ft2/h, 1.15 kg/m2/h, for the chart's own example. The
    # result was seen, its inputs are from memory: concrete 31 C, air 27 C, half humid, 19 km/h.
    # By hand: 49^2.5 = 16807; 45^2.5 / 2 = 6792; 5 x 10015 x 23 / 10^6 = 1.152.
    found = rate(31, 27, 0.5, 19)
    assert found == pytest.approx(1.15, abs=0.005)
    assert found * LB_FT2_PER_KG_M2 == pytest.approx(0.24, abs=0.005)


@pytest.mark.source("C", "standards.md section 5: Uno's formula by hand")
@pytest.mark.parametrize(
    ("figures", "found"), [((30, 30, 0.4, 20), 1.149), ((20, 15, 0.6, 10), 0.360)]
)
def test_uno_s_formula(figures: tuple[float, float, float, float], found: float) -> None:
    assert rate(*figures) == pytest.approx(found, abs=0.0005)


@pytest.mark.source("S", "the same equation in US units: (Tc^2.5 - r Ta^2.5)(1 + 0.4 V) / 10^6")
def test_us_form_of_the_equation_agrees_nearly() -> None:
    # 87 F, 80 F, half humid, 12 mph: (70597 - 28622) x 5.8 / 10^6 = .2435 lb/ft2/h. Either form
    # rounds its constants: they agree within a twentieth.
    found = evaporation_kg_m2_h(concrete_f=87, air_f=80, humidity_pct=50, wind_mph=12)
    assert found * LB_FT2_PER_KG_M2 == pytest.approx(0.2435, rel=0.05)


@pytest.mark.source("S", "protection after ACI 306R in a slide set; with type III from memory")
def test_days_of_protection_and_the_limit() -> None:
    advice = load_weather_advice()
    assert (advice.no_load_days, advice.part_load_days) == (3, 6)
    assert (advice.no_load_accelerated_days, advice.part_load_accelerated_days) == (2, 4)
    # 1 kg/m2 is 0.2 lb/ft2 in an hour (guide specifications for federal buildings).
    assert advice.is_too_fast(1.01)
    assert not advice.is_too_fast(1.0)
    assert "more than the 0.20 from" in advice.drying_words(1.15, is_metric=False)
