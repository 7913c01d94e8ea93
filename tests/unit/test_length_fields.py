"""Every field of a form that holds a length understands any unit, and keeps it on its grid."""

import importlib
import math
import pkgutil
from collections.abc import Iterator

import pytest
from django import forms
from django.core.exceptions import ValidationError
from hypothesis import given
from hypothesis import strategies as st

import estimating.forms
import firm.forms
import scheduling.forms
from estimating.forms.definition_lengths import read_lengths, written_lengths
from firm.forms.fields import FenceLengthField, LengthField
from firm.forms.quantities import QuantityField, RainField

# 98.25 in the ways people write it; 98.25 x 25.4 = 2495.55 mm, 98 1/4 in = 8 ft 2 1/4 in.
SPELLINGS = ("8' 2 1/4\"", "8-2 1/4", "8.1875 ft", "98.25 in", "98 1/4 in", "8 3/16 ft")
# 2.45 m = 96.4567 in: 1543.3 sixteenths, so 96 7/16.
METRIC_SPELLINGS = ("2.45 m", "245 cm", "2450 mm", "2.45 metres")


def fields_of_forms() -> Iterator[tuple[str, str, forms.Field]]:
    """Yield every field that a form class of the three apps declares."""
    for package in (firm.forms, estimating.forms, scheduling.forms):
        for module in pkgutil.iter_modules(package.__path__, f"{package.__name__}."):
            for form in vars(importlib.import_module(module.name)).values():
                if isinstance(form, type) and issubclass(form, forms.BaseForm):
                    for name, field in getattr(form, "base_fields", {}).items():
                        yield form.__name__, name, field


def test_every_field_whose_name_ends_in_inches_or_feet_is_a_length_field() -> None:
    named = [each for each in fields_of_forms() if each[1].endswith(("_in", "_ft"))]
    # Rain is measured in inches too, but written in tenths of them or in millimetres.
    lengths = [each for each in named if not isinstance(each[2], RainField)]

    assert len({(form, name) for form, name, _ in lengths}) > 20
    assert [each for each in lengths if not isinstance(each[2], LengthField)] == []


def test_every_field_of_wind_weight_or_stress_takes_the_firm_s_units() -> None:
    loads = ("_mph", "_psf", "_psi", "_lb", "_lb_ft2", "_in2", "_in3", "_f")
    named = [each for each in fields_of_forms() if each[1].endswith(loads)]

    assert {name for _, name, _ in named} >= {"wind_speed_mph", "road_speed_mph", "low_f"}
    assert [each[:2] for each in named if not isinstance(each[2], QuantityField)] == []


@pytest.mark.parametrize("text", SPELLINGS)
@pytest.mark.parametrize("units", ["us", "metric"])
def test_one_length_however_it_is_written(text: str, units: str) -> None:
    # A metric tape is read to the millimetre: 2496 mm.
    expected_in = 98.25 if units == "us" else 2496 / 25.4
    assert LengthField(units=units).clean(text) == pytest.approx(expected_in, abs=1e-12)


@pytest.mark.parametrize("text", METRIC_SPELLINGS)
def test_metres_are_kept_on_the_sixteenth_by_a_firm_of_inches(text: str) -> None:
    assert LengthField(units="us").clean(text) == 96.4375
    assert LengthField(units="metric").clean(text) == pytest.approx(2450 / 25.4, abs=1e-12)


@pytest.mark.parametrize(
    ("text", "units", "words"),
    [
        ("8-1/2", "us", "could be 8 1/2 in or 8 ft 1/2 in. Write 8 1/2 in, or 8' 1/2\""),
        ("8 6", "us", "Write 8' 6\" or 8-6 for feet and inches"),
        ("2,45 m", "us", "Write 2.45 m or 2450 mm"),
        ("1,200 mm", "metric", "Write 2.45 m or 2450 mm"),
        ("1/2", "metric", "Write 1/2 in, or 2.45"),
        ("8 1/2", "metric", "Write 8 1/2 in, or 2.45"),
    ],
)
def test_what_could_be_two_lengths_is_refused_with_how_to_write_either(
    text: str, units: str, words: str
) -> None:
    with pytest.raises(ValidationError) as refused:
        LengthField(units=units).clean(text)
    assert words in refused.value.messages[0]


@given(st.integers(0, 16 * 12 * 5000), st.booleans())
def test_what_a_us_firm_is_shown_it_can_type(sixteenths: int, is_short: bool) -> None:
    field = LengthField(units="us", is_short=is_short)
    inches = sixteenths / 16
    assert field.clean(field.prepare_value(inches)) == inches
    assert not field.has_changed(inches, field.prepare_value(inches))


@given(st.integers(0, 2_000_000), st.booleans())
def test_what_a_metric_firm_is_shown_it_can_type(millimetres: int, is_short: bool) -> None:
    field = LengthField(units="metric", is_short=is_short)
    inches = field.clean(f"{millimetres} mm")
    assert round(inches * 25.4) == millimetres
    assert field.clean(field.prepare_value(inches)) == inches


@given(st.integers(1, 16 * 12 * 5000), st.sampled_from(["us", "metric"]))
def test_a_length_once_kept_is_kept_the_same_when_units_are_changed_and_back(
    sixteenths: int, units: str
) -> None:
    # Shown in the other units and saved untouched, a length is no change: it is not written again.
    field = LengthField(units=units, is_short=True)
    inches = sixteenths / 16
    assert not field.has_changed(inches, field.prepare_value(inches))


@pytest.mark.parametrize(
    ("text", "units", "feet"),
    [
        ("120", "us", 120.0),
        ("120 ft", "us", 120.0),
        ("1440 in", "us", 120.0),
        ("120", "metric", 393.7008),  # 120 / 0.3048
        ("40 m", "us", 131.2344),  # 40 / 0.3048
        ("120 ft", "metric", 120.0),  # 36.576 m
    ],
)
def test_a_rough_length_is_kept_in_feet(text: str, units: str, feet: float) -> None:
    # On the grid: to the sixteenth of an inch, or to the millimetre.
    assert math.isclose(FenceLengthField(units=units).clean(text), feet, abs_tol=1 / 192)


def test_a_rough_length_is_shown_in_the_firm_s_units_and_reads_back() -> None:
    us, metric = FenceLengthField(units="us"), FenceLengthField(units="metric")
    assert (us.prepare_value(120.5), metric.prepare_value(100.0)) == ("120.5 ft", "30.48 m")
    assert us.clean("120.5 ft") == 120.5
    assert math.isclose(metric.clean("30.48 m"), 100.0)
    assert us.has_changed(120.0, "120 in")
    assert not us.has_changed(120.0, "120")


# --- A fence system's definition

DEFINITION = {
    "height_in": 72.0,
    "board_coverage_in": 11.3,
    "hole": {"concrete_top_in": -3.0, "extra_depth_per_ft_in": 1.5},
    "posts": {"end": {"item": "post", "longer": {"post_10ft": 120.0}}},
    "materials": [{"item": "wire", "usable_ft": 8.0, "width_in": None}],
}


def test_lengths_of_a_definition_may_be_typed_with_their_unit() -> None:
    typed = {
        "name": "6 ft fence",
        "height_in": "6 ft",
        "hole": {"concrete_top_in": "-3 in", "extra_depth_per_ft_in": 1.5},
        "posts": {"end": {"item": "post", "longer": {"post_10ft": "10 ft"}}},
        "materials": [{"item": "wire", "usable_ft": "96 in", "width_in": None}],
        "board_coverage_in": 11.3,
    }
    assert read_lengths(typed, "us") == {"name": "6 ft fence", **DEFINITION}


def test_a_metric_firm_reads_millimetres_in_a_definition_and_keeps_the_same_inches() -> None:
    shown = written_lengths(DEFINITION, "metric")

    # 72 x 25.4 = 1828.8; 3 x 25.4 = 76.2; 120 x 25.4 = 3048; 8 ft = 2438.4
    assert shown["height_in"] == "1829 mm"
    assert shown["hole"] == {"concrete_top_in": "-76 mm", "extra_depth_per_ft_in": 1.5}
    assert shown["posts"]["end"]["longer"] == {"post_10ft": "3048 mm"}
    assert shown["materials"][0]["usable_ft"] == "2438 mm"
    assert shown["board_coverage_in"] == 11.3  # off the grid: 287 mm would be read as 11 5/16 in
    assert read_lengths(shown, "metric") == DEFINITION


def test_a_us_firm_is_shown_a_definition_as_it_is_kept() -> None:
    assert written_lengths(DEFINITION, "us") == DEFINITION


def test_a_slip_in_a_definition_is_named_by_its_field() -> None:
    typed = {"posts": {"end": {"width_in": "four"}}}
    with pytest.raises(ValidationError) as refused:
        read_lengths(typed, "us")
    assert refused.value.messages[0].startswith("posts.end.width_in: 'four' is not a length")


@given(st.integers(-16 * 600, 16 * 600))
def test_a_definition_shown_in_millimetres_reads_back_to_the_sixteenth(sixteenths: int) -> None:
    definition = {"height_in": sixteenths / 16}
    assert read_lengths(written_lengths(definition, "metric"), "metric") == definition
