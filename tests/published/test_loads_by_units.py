"""Weights, forces, pressures and heat in metric units: NIST's table, and Pint by itself.

The factors are printed to seven figures in NIST SP 811 (2008), appendix B.8; bold ones, here the
pound, standard gravity and the mile an hour, are exact.
"""

from typing import Any

import pint
import pytest
from django.core.exceptions import ValidationError

from firm.forms.quantities import MeasuredField
from firm.measure import loads
from firm.measure.loads import Measure
from firm.measure.written import METRIC, US

unit: Any = pint.UnitRegistry()
LB_FT2 = unit.pound / unit.foot**2
PSF = unit.pound_force / unit.foot**2
BTU = unit.Btu_it

# Name in the table, factor as printed, and what the unit shown is of the SI unit.
NIST = [
    (loads.WEIGHT, 4.5359237e-01, 1),  # pound (avoirdupois) (lb) to kilogram
    (loads.WEIGHT_OF_AREA, 4.882428, 1),  # pound per square foot (lb/ft2) to kg/m2
    (loads.DENSITY, 1.601846e01, 1),  # pound per cubic foot (lb/ft3) to kg/m3
    (loads.FORCE, 4.448222, 1e3),  # pound-force (lbf) to newton
    (loads.MOMENT, 1.355818, 1e3),  # foot pound-force to newton meter
    (loads.PRESSURE, 4.788026e01, 1e3),  # pound-force per square foot to pascal
    (loads.STRESS, 6.894757e03, 1e6),  # psi to pascal
    (loads.WIND_SPEED, 4.4704e-01, 1),  # mile per hour to meter per second
    (loads.SECTION, 1.638706e-05, 1e-6),  # cubic inch to cubic meter
    (loads.AREA, 6.4516e-04, 1e-4),  # square inch to square meter
    (loads.CONDUCTIVITY, 1.730735, 1),  # Btu_IT per hour foot degree Fahrenheit to W/(m K)
    (loads.HEAT_OF_VOLUME, 3.725895e04, 1e3),  # Btu_IT per cubic foot to joule per cubic meter
]


@pytest.mark.source("T", "NIST SP 811 (2008), appendix B.8")
@pytest.mark.parametrize(("measure", "si_of_us", "si_of_metric"), NIST)
def test_factors_are_those_of_the_table(
    measure: Measure, si_of_us: float, si_of_metric: float
) -> None:
    assert measure.shown(1.0, METRIC) == pytest.approx(
        si_of_us / si_of_metric, rel=5e-7
    )  # half of the last digit printed
    assert measure.shown(1.0, US) == 1.0


BY_PINT = [
    (loads.WEIGHT, unit.pound, unit.kilogram),
    (loads.WEIGHT_OF_AREA, LB_FT2, unit.kilogram / unit.meter**2),
    (loads.DENSITY, unit.pound / unit.foot**3, unit.kilogram / unit.meter**3),
    (loads.FORCE, unit.pound_force, unit.kilonewton),
    (loads.MOMENT, unit.pound_force * unit.foot, unit.kilonewton * unit.meter),
    (loads.PRESSURE, PSF, unit.kilopascal),
    (loads.PRESSURE_OF_DEPTH, PSF / unit.foot, unit.kilopascal / unit.meter),
    (loads.STRESS, unit.psi, unit.megapascal),
    (loads.WIND_SPEED, unit.mile / unit.hour, unit.meter / unit.second),
    (loads.SECTION, unit.inch**3, unit.centimeter**3),
    (loads.AREA, unit.inch**2, unit.centimeter**2),
    (loads.WALL, unit.inch, unit.millimeter),
    (
        loads.CONDUCTIVITY,
        BTU / (unit.hour * unit.foot * unit.delta_degF),
        unit.watt / (unit.meter * unit.kelvin),
    ),
    (loads.HEAT_OF_VOLUME, BTU / unit.foot**3, unit.kilojoule / unit.meter**3),
    (
        loads.HEAT_CAPACITY,
        BTU / unit.foot**3 / unit.delta_degF,
        unit.kilojoule / unit.meter**3 / unit.kelvin,
    ),
]


@pytest.mark.source("L", "Pint, units of measure")
@pytest.mark.parametrize(("measure", "us", "metric"), BY_PINT)
def test_figures_are_shown_as_pint_gives_them(measure: Measure, us: Any, metric: Any) -> None:
    for figure in (0.226, 3.472, 115.0, 46_000.0):
        expected = (figure * us).to(metric).magnitude
        assert measure.shown(figure, METRIC) == pytest.approx(expected, rel=1e-9)
        written = measure.written(figure, METRIC).removesuffix(f" {measure.metric}")
        half = 0.5 * 10**-measure.metric_places
        assert float(written.replace(",", "")) == pytest.approx(expected, abs=half * 1.001)


@pytest.mark.source("L", "Pint, units of measure")
@pytest.mark.parametrize(
    ("measure", "typed", "expected"),
    [
        (loads.WIND_SPEED, "51.4 m/s", (51.4 * unit.meter / unit.second, "mph")),
        (loads.WIND_SPEED, "180 km/h", (180 * unit.kilometer / unit.hour, "mph")),
        (loads.WIND_SPEED, "115 mph", (115 * unit.mile / unit.hour, "mph")),
        (loads.WEIGHT, "45,3 kg", None),
        (loads.WEIGHT, "45.5kg", (45.5 * unit.kilogram, "pound")),
        (loads.WEIGHT, "100 lbs", (100 * unit.pound, "pound")),
        (loads.WEIGHT, "100 stone", None),
        (loads.WEIGHT_OF_AREA, "14.6 kg/m2", (14.6 * unit.kilogram / unit.meter**2, "lb/ft**2")),
        (loads.WEIGHT_OF_AREA, "3 psf", (3 * LB_FT2, "lb/ft**2")),
        (loads.STRESS, "317 N/mm\N{SUPERSCRIPT TWO}", (317 * unit.megapascal, "psi")),
        (loads.STRESS, "46 ksi", (46_000 * unit.psi, "psi")),
        (loads.SECTION, "56.9 cm3", (56.9 * unit.centimeter**3, "inch**3")),
        (loads.SECTION, "56900 mm\N{SUPERSCRIPT THREE}", (56_900 * unit.millimeter**3, "inch**3")),
        (loads.AREA, "484 mm2", (484 * unit.millimeter**2, "inch**2")),
        (loads.WALL, "5.74 mm", (5.74 * unit.millimeter, "inch")),
        (loads.WALL, '0.226"', (0.226 * unit.inch, "inch")),
    ],
)
def test_a_figure_is_typed_with_any_unit_of_its_kind(
    measure: Measure, typed: str, expected: tuple[Any, str] | None
) -> None:
    field = MeasuredField(measure=measure, least=0, most=1e6)
    if expected is None:
        with pytest.raises(ValidationError, match="Type a number; alone it is in lb"):
            field.clean(typed)
        return
    figure, kept_in = expected
    assert field.clean(typed) == pytest.approx(figure.to(kept_in).magnitude, rel=1e-9)
