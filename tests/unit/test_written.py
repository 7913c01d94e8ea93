"""Measures in the firm's units: what is shown is read back as the same length."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.forms.measure_rows import SignedLengthField
from estimating.selectors.price_book import figure_in_words
from estimating.selectors.price_words import price_words
from estimating.services.scope_words import line_words
from firm.forms.fields import LengthField
from firm.measure import written
from firm.measure.lengths import parse_length
from firm.measure.written import METRIC, US, exact_in, length_words, lengths_in
from tests.unit.test_scope_words import LINE

MILE_IN_SIXTEENTHS = 5280 * 12 * 16
HALF_MM_IN = 0.5 / 25.4
sixteenths = st.integers(min_value=0, max_value=MILE_IN_SIXTEENTHS).map(lambda n: n / 16)


@given(sixteenths)
def test_what_a_us_firm_is_shown_is_the_length_itself(inches: float) -> None:
    for write in (written.long_length, written.short_length):
        assert parse_length(write(inches, "us"), units="us") == inches


@given(st.floats(min_value=0, max_value=5280 * 12))
def test_what_a_metric_firm_is_shown_is_within_half_a_millimetre(inches: float) -> None:
    for write in (written.long_length, written.short_length):
        shown = parse_length(write(inches, "metric"), units="metric")
        assert abs(shown - inches) <= HALF_MM_IN + 1e-9


@given(st.integers(min_value=0, max_value=2_000_000))
def test_millimetres_typed_by_a_metric_firm_are_shown_as_typed(mm: int) -> None:
    kept = written.on_reading_grid(parse_length(f"{mm} mm", units="metric"), "metric")
    assert written.short_length(kept, "metric") == f"{mm} mm"
    again = written.on_reading_grid(
        parse_length(written.long_length(kept, "metric"), units="metric"), "metric"
    )
    assert again == kept


@given(sixteenths, st.sampled_from(["us", "metric"]), st.booleans())
def test_field_shows_what_it_reads_back(inches: float, units: str, is_short: bool) -> None:
    field = LengthField(units=units, is_short=is_short)
    shown = field.prepare_value(inches)
    assert abs(field.clean(shown) - inches) <= (0 if units == "us" else HALF_MM_IN + 1e-9)
    assert not field.has_changed(inches, shown)


def test_field_takes_another_spelling_for_no_change() -> None:
    field = LengthField(units="us", is_short=True)
    assert not field.has_changed(36.0, "3 ft")
    assert field.has_changed(36.0, "37")
    assert field.has_changed(36.0, "three feet")


def test_depth_below_zero_is_read_back_with_its_sign() -> None:
    for units, shown in (("us", "-2-1/2 in"), ("metric", "-64 mm")):  # 63.5 mm, half-up
        field = SignedLengthField(units=units, is_short=True)
        assert field.prepare_value(-2.5) == shown
        assert abs(field.clean(shown) + 2.5) <= HALF_MM_IN + 1e-9


def test_us_firm_reads_depths_in_inches_and_fences_in_feet() -> None:
    assert LengthField(units="us", is_short=True).prepare_value(32.0) == "32 in"
    assert LengthField(units="us").prepare_value(1204.5) == "100-4 1/2"


def test_metric_bounds_are_told_in_millimetres() -> None:
    field = LengthField(units="metric", is_short=True, max_in=120)
    with pytest.raises(Exception, match="3048 mm or less, not 75"):
        field.clean("75")  # metres: a bare number of a metric firm


@pytest.mark.parametrize(
    ("words", "us", "metric"),
    [
        # 32.5 x 0.3048 = 9.906; 28 x 0.3048 = 8.5344; 5000 x 0.3048 = 1524
        (written.feet_of_fence(32.5, "us"), "32.5 ft", None),
        (written.feet_of_fence(28.0, "us"), "28 ft", None),
        (written.feet_of_fence(32.5, "metric"), None, "9.91 m"),
        (written.feet_of_fence(5000, "metric"), None, "1,524.00 m"),
        # 1.25 x 0.764555 = 0.95569; 12.3 x 28.31685 = 348.297
        (written.cubic_yards(1.25, "us"), "1.25 yd\u00b3", None),
        (written.cubic_yards(1.25, "metric"), None, "0.96 m\u00b3"),
        (written.cubic_feet(12.3, "us"), "12.30 ft\u00b3", None),
        (written.cubic_feet(12.3, "metric"), None, "348 litres"),
    ],
)
def test_lengths_of_fence_and_volumes(words: str, us: str | None, metric: str | None) -> None:
    assert words == (us or metric)


def test_scope_is_written_in_metres_and_millimetres() -> None:
    assert length_words(384, "metric") == "9.75 m"  # 9.7536
    assert length_words(72, "metric") == "1.83 m"  # 1.8288
    assert exact_in(47.5, "metric") == "1207 mm"  # 1206.5, half-up


def test_height_in_a_systems_name_gives_way_to_metres() -> None:
    line = replace(LINE, system_name="Chain link, 6 ft")
    assert "of Chain link, 1.83 m tall" in line_words(line, "metric")
    assert "of Chain link 4 ft, 1.83 m tall" in line_words(
        replace(LINE, system_name="Chain link 4 ft"), "metric"
    )


def test_price_names_its_length_from_the_length_itself() -> None:
    # 50.04 ft stands as 50.0 ft in the engine's words; 50.04 x 0.3048 = 15.252.
    words = "Back line: 50.0 ft of chain link, 6 ft"
    in_metres = "Back line: 15.25 m of chain link, 6 ft"
    assert price_words(words, "metric", fence_ft=50.04) == in_metres
    # 0.04 x 12 = 0.48 in: 50 ft 0 in, as the scope writes lengths.
    in_feet = "Back line: 50 ft of chain link, 6 ft"
    assert price_words(words, "us", fence_ft=50.04) == in_feet
    assert price_words("Call-out", "metric") == "Call-out"


def test_price_says_that_a_length_leaves_the_gates_out() -> None:
    # 133.7 ft: 133 ft and 0.7 x 12 = 8.4 in. 48 x 25.4 = 1,219.2 mm.
    words = "Back line: 133.7 ft of Vinyl privacy 6 ft"
    said = price_words(words, "us", fence_ft=133.7, has_gates=True)
    assert said == "Back line: 133 ft 8 in of Vinyl privacy 6 ft, without its gates"
    gate = "Gate G1: 48 in clear opening, one leaf"
    assert price_words(gate, "us", opening_in=48.0) == gate
    in_mm = "Gate G1: 1219 mm clear opening, one leaf"
    assert price_words(gate, "metric", opening_in=48.0) == in_mm


def test_figures_of_a_fence_system_have_their_unit() -> None:
    assert figure_in_words("height_in", 72, "us") == ("height (in)", 72)
    assert figure_in_words("height_in", 72, "metric") == ("height", "1829 mm")
    assert figure_in_words("family", "panel", "metric") == ("family", "panel")


def test_grid_of_a_reading() -> None:
    assert written.on_reading_grid(96.04, "us") == 96.0625
    assert math.isclose(written.on_reading_grid(96.04, "metric") * 25.4, 2439)  # 2439.416


# The inch is 25.4 mm exactly: 33 in are 838.2 mm, 4-1/2 in 114.3 mm; 4 ft are 1.2192 m; 16-8 is
# 200 in, 5.080 m.
@pytest.mark.parametrize(
    ("engine", "metric"),
    [
        ("33 in", "838 mm"),
        ("36.0 in deep, not 30", "914 mm deep, not 30"),
        ("a gap of 4-1/2 in, or 1/2 in", "a gap of 114 mm, or 13 mm"),
        ("plus 4 ft at each of 4 sections", "plus 1.22 m at each of 4 sections"),
        ("line B, station 16-8", "line B, station 5.080 m"),
        ("75-0", "22.860 m"),
        ("bays 1-3 of line A", "bays 1-3 of line A"),
        ("8 in each of 7 bays, 3 in the ground", "8 in each of 7 bays, 3 in the ground"),
        ("Vinyl post 5 x 5 in", "Vinyl post 5 x 5 in"),
        ("$13.00 in labour", "$13.00 in labour"),
        ("no in or ft", "no in or ft"),
    ],
)
def test_engine_s_sentences_are_read_in_the_firm_s_units(engine: str, metric: str) -> None:
    assert lengths_in(engine, METRIC) == metric
    assert lengths_in(engine, US) == engine
