"""Lengths as people write them. Conversions: 12 in to the ft, 25.4 mm to the inch exactly."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firm.measure.lengths import LengthError, format_ft_in, format_in, parse_length


@pytest.mark.parametrize(
    ("text", "inches"),
    [
        ("8' 0 1/2\"", 96.5),
        ("8-0 1/2", 96.5),
        ("8-6", 102),
        ("8' 6", 102),
        ("8'", 96),
        ("8.5 ft", 102),
        ("8 feet 6 inches", 102),
        ("8 ft. 6 in.", 102),
        ("7-11 13/16", 95.8125),
        ("96", 96),
        ("96 in", 96),
        ('96.25"', 96.25),
        ("96 1/2", 96.5),
        ("90-13/16 in", 90.8125),  # a dash before a fraction joins it to its inches
        ("1/2", 0.5),
        (".5", 0.5),
        ("0", 0),
        ("\u00bd", 0.5),
        ("8\u2019 0\u00bd\u201d", 96.5),  # marks as phones type them
        ("8\u20326\u2033", 102),
        ("8\u20136", 102),  # en dash
        ("2 yd", 72),
        ("2 yards", 72),
        ("8 1/2 ft", 102),
        ("8\u00bd'", 102),
        ("8' 1/2\"", 96.5),
        ("1.27 m", 50),  # 1270 / 25.4
        ("1.27 metres", 50),
        ("254 cm", 100),
        ("254 mm", 10),
        ("  12  ", 12),
        ("8 FT", 96),
        ("8'-3\"", 99),  # the dash of drawings, tight or with room on both sides
        ("8' - 3\"", 99),
        ("2 ft-6", 30),
        ("126720", 126_720),
    ],
)
def test_text_is_read_into_inches(text: str, inches: float) -> None:
    assert math.isclose(parse_length(text), inches)


def test_bare_number_means_metres_where_units_are_metric() -> None:
    assert math.isclose(parse_length("2.54", units="metric"), 100)
    assert parse_length("10 in", units="metric") == 10


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("", "Enter a length"),
        ("   ", "Enter a length"),
        ("-4", "can't be negative"),
        ("- 8' 6", "can't be negative"),
        ("about 8", "not a length"),
        ("8-12", "reach 12 or more"),
        ("8' 14 1/2", "reach 12 or more"),
        ("1/0", "0 below the stroke"),
        ("nan", "not a length"),
        ("inf", "not a length"),
        ("1e5", "not a length"),
        ("8 furlongs", "not a length"),
        ("<script>alert(1)</script>", "not a length"),
        ("9" * 41, "at most 40 characters"),
        ("\u0663 ft", "not a length"),  # a digit, but none that the firm types
        ("8,5 ft", "decimal point. Write 2.45 m"),
        ("8-1/2", "could be 8 1/2 in or 8 ft 1/2 in"),
        ("8 6", "could be two lengths or one"),
        ("8' -3\"", "Write 8' 3"),  # 93 in to who reads a minus, 99 in to who reads a dash
        ("8 ft -3 1/2", "Write 8 ft 3 1/2"),
        ("126721", "more than two miles"),  # 2 x 5,280 x 12 = 126,720
        ("3219 m", "more than two miles"),  # a mile is 1,609.344 m
        ("9" * 40, "more than two miles"),
    ],
)
def test_what_is_no_length_is_refused_with_a_sentence(text: str, reason: str) -> None:
    with pytest.raises(LengthError, match=reason):
        parse_length(text)


@pytest.mark.parametrize(
    ("inches", "feet_and_inches", "in_inches"),
    [
        (0, "0-0", "0 in"),
        (95.8125, "7-11 13/16", "95-13/16 in"),
        (96, "8-0", "96 in"),
        (90.5, "7-6 1/2", "90-1/2 in"),
        (0.25, "0-0 1/4", "1/4 in"),
        (95.99, "8-0", "96 in"),  # 1535.84 sixteenths
        (1 / 32, "0-0 1/16", "1/16 in"),  # half-up
        (-2.5, "-0-2 1/2", "-2-1/2 in"),
        (-0.01, "0-0", "0 in"),
    ],
)
def test_lengths_print_to_the_sixteenth(
    inches: float, feet_and_inches: str, in_inches: str
) -> None:
    assert format_ft_in(inches) == feet_and_inches
    assert format_in(inches) == in_inches


@given(st.integers(0, 16 * 120_000))
def test_what_is_printed_reads_back_the_same(sixteenths: int) -> None:
    inches = sixteenths / 16
    assert parse_length(format_ft_in(inches)) == inches
    assert parse_length(format_in(inches)) == inches
