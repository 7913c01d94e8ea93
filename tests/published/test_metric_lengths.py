"""Metres and litres against the published definitions of foot and inch.

International yard and pound agreement of 1959 (Federal Register, 24 FR 5348): 1 yd = 0.9144 m
exactly, so 1 in = 25.4 mm and 1 ft = 0.3048 m. NIST SP 811, appendix B.8 lists the volumes that
follow: 1 ft3 = 2.831 685 E-02 m3, 1 yd3 = 7.645 549 E-01 m3.
"""

import math

import pytest

from firm.measure import written
from firm.measure.lengths import format_m, format_mm, parse_length


@pytest.mark.source("S", "international yard and pound agreement of 1959, 24 FR 5348")
@pytest.mark.parametrize(
    ("text", "inches"),
    [
        ("0.9144 m", 36),
        ("0.3048 m", 12),
        ("2.54 cm", 1),
        ("25.4 mm", 1),
        ("1 m", 39.37007874),  # 1 / 0.0254
    ],
)
def test_metric_text_is_read_by_the_inch_of_1959(text: str, inches: float) -> None:
    assert math.isclose(parse_length(text, units="metric"), inches, rel_tol=1e-9)


@pytest.mark.source("C", "international yard and pound agreement of 1959, 24 FR 5348")
@pytest.mark.parametrize(
    ("inches", "metres", "millimetres"),
    [
        (36, "0.914 m", "914 mm"),  # 914.4
        (96, "2.438 m", "2438 mm"),  # 2438.4
        (90.8125, "2.307 m", "2307 mm"),  # 90 13/16 x 25.4 = 2306.6375
        (1200, "30.480 m", "30480 mm"),
        (0.0625, "0.002 m", "2 mm"),  # 1.5875
        (-6, "-0.152 m", "-152 mm"),  # 152.4
        (0, "0.000 m", "0 mm"),
    ],
)
def test_inches_are_written_by_the_inch_of_1959(
    inches: float, metres: str, millimetres: str
) -> None:
    assert (format_m(inches), format_mm(inches)) == (metres, millimetres)


@pytest.mark.source("T", "NIST SP 811 (2008), appendix B.8")
def test_factors_are_those_of_nist_sp_811() -> None:
    assert math.isclose(written.M_PER_FT, 0.3048, rel_tol=1e-12)
    assert math.isclose(written.LITRES_PER_CUBIC_FT, 28.31685, rel_tol=1e-6)
    assert math.isclose(written.CUBIC_M_PER_CUBIC_YD, 0.7645549, rel_tol=1e-6)
