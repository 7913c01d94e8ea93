"""Lengths in any unit against Pint, a general-purpose library of units.

Pint defines yard = 0.9144 m, foot = yard / 3 and inch = yard / 36 (its default_en.txt): the exact
factors of NIST SP 811 (2008), appendix B.8, "inch 2.54 E-02 m", "foot 3.048 E-01 m",
"yard 9.144 E-01 m", printed bold there for exact.
"""

import math
from typing import Any

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firm.measure.lengths import format_ft_in, format_in, format_m, format_mm, parse_length

PINT = pytest.mark.source("L", "Pint, by the factors of NIST SP 811 (2008), appendix B.8")
UNITS: pint.UnitRegistry[Any] = pint.UnitRegistry()
SPELLINGS = {
    "inch": ("in", "inch", "inches", '"', " in."),
    "foot": ("ft", "foot", "feet", "'", " ft."),
    "yard": ("yd", "yds", "yards"),
    "meter": ("m", "metre", "meters"),
    "centimeter": ("cm", "centimetres", " cm."),
    "millimeter": ("mm", "millimeter", " mm."),
}


@PINT
@pytest.mark.parametrize("firm", ["us", "metric"])
@pytest.mark.parametrize("unit", SPELLINGS)
def test_a_number_with_its_unit_is_the_length_that_pint_makes_of_it(unit: str, firm: str) -> None:
    for spelled in SPELLINGS[unit]:
        for number in ("1", "8.5", "98.25", ".375", "2450"):
            inches = UNITS.Quantity(float(number), unit).to("inch").magnitude
            read_in = parse_length(f"{number}{spelled}", units=firm)
            assert math.isclose(read_in, inches, rel_tol=1e-12), (number, spelled)


@PINT
@pytest.mark.parametrize("firm", ["us", "metric"])
@given(st.integers(0, 300), st.integers(0, 11), st.integers(0, 15))
def test_feet_inches_and_sixteenths_are_the_sum_that_pint_makes_of_them(
    firm: str, feet: int, inches: int, sixteenths: int
) -> None:
    whole = feet * UNITS.foot + inches * UNITS.inch + sixteenths / 16 * UNITS.inch
    expected_in = whole.to("inch").magnitude
    fraction = f" {sixteenths}/16" if sixteenths else ""
    for text in (f"{feet}' {inches}{fraction}\"", f"{feet}-{inches}{fraction}"):
        assert math.isclose(parse_length(text, units=firm), expected_in, rel_tol=1e-12)


@PINT
@given(st.integers(0, 16 * 120_000))
def test_what_is_written_is_within_half_a_reading_of_pint_s_length(sixteenths: int) -> None:
    length = sixteenths / 16 * UNITS.inch
    metres = length.to("meter").magnitude
    assert abs(float(format_m(sixteenths / 16).removesuffix(" m")) - metres) <= 0.0005 + 1e-9
    millimetres = length.to("millimeter").magnitude
    assert abs(float(format_mm(sixteenths / 16).removesuffix(" mm")) - millimetres) <= 0.5 + 1e-6
    for text in (format_in(sixteenths / 16), format_ft_in(sixteenths / 16)):
        assert math.isclose(parse_length(text), length.to("inch").magnitude, abs_tol=1e-9)
