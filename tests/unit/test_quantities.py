"""Places, speeds and rain as people type them."""

import pytest
from django import forms
from django.core.exceptions import ValidationError

from firm.forms import fields, quantities
from firm.forms.fields import LengthField
from firm.forms.quantities import (
    MeasuredField,
    PlaceField,
    QuantityField,
    RainField,
    SpeedField,
    TemperatureField,
)
from firm.measure import loads
from firm.measure.places import PlaceError, parse_place, place_words
from firm.measure.written import temperature

DES_MOINES = (41.59, -93.62)


@pytest.mark.parametrize(
    "text",
    [
        "41.59, -93.62",
        " 41.59,-93.62 ",
        "41.59 -93.62",
        "41.59; -93.62",
        "41.59 N, 93.62 W",
        "41.59n 93.62w",
        "41.59\N{DEGREE SIGN}, -93.62\N{DEGREE SIGN}",
        "+41.590, -93.6200",
    ],
)
def test_place_is_read_as_maps_and_people_write_it(text: str) -> None:
    assert parse_place(text) == DES_MOINES


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("41.59", "latitude and longitude"),
        ("Main Street", "latitude and longitude"),
        # Commas for points name four numbers.
        ("41,59, -93,62", "latitude and longitude"),
        ("-93.62, 41.59", "-93.62 is no latitude"),
        ("41.59, -193.62", "-193.62 is no longitude"),
        ("41.59 W, 93.62 N", "latitude and longitude"),
        ("-41.59 N, 93.62 W", "latitude and longitude"),
        ("nan, nan", "latitude and longitude"),
    ],
)
def test_what_is_no_place_is_refused_with_the_reason(text: str, words: str) -> None:
    with pytest.raises(PlaceError, match=words):
        parse_place(text)
    with pytest.raises(ValidationError, match=words):
        PlaceField().clean(text)


def test_place_field_shows_what_it_reads() -> None:
    field = PlaceField()
    assert place_words(41.5, -93.0) == "41.5, -93"
    assert field.prepare_value(DES_MOINES) == "41.59, -93.62"
    assert field.prepare_value((None, None)) == ""
    assert field.prepare_value("4") == "4"
    assert field.clean("") == (None, None)
    assert field.clean("41.59, -93.62") == DES_MOINES
    assert not field.has_changed(DES_MOINES, "41.590 N, 93.62 W")
    assert field.has_changed(DES_MOINES, "41.6, -93.62")
    assert field.has_changed(DES_MOINES, "")
    assert not field.has_changed((None, None), "")


@pytest.mark.parametrize(
    ("field", "text", "kept"),
    [
        (SpeedField(least=5, most=80), "30", 30),
        (SpeedField(least=5, most=80), "30 MPH", 30),
        # 48.28 km/h over 1.609344 km to the mile.
        (SpeedField(least=5, most=80), "48.28032 km/h", 30),
        (RainField(least=0, most=20), "0.5 in", 0.5),
        (RainField(least=0, most=20), ".25", 0.25),
        (RainField(least=0, most=20), "12.7mm", 0.5),
        (RainField(least=0, most=20), "20", 20),
    ],
)
def test_quantity_is_read_in_any_unit(field: QuantityField, text: str, kept: float) -> None:
    assert field.clean(text) == pytest.approx(kept, abs=1e-9)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("lots", "such as 0.5 in"),
        ("-1", "from 0 in to 20 in"),
        ("3 ft", "such as 0.5 in"),
        ("0.4.4", "such as 0.5 in"),
        ("20.1", "from 0 in to 20 in"),
        ("600 mm", "from 0 in to 20 in"),
    ],
)
def test_rain_that_never_fell_is_refused(text: str, words: str) -> None:
    with pytest.raises(ValidationError, match=words):
        RainField(least=0, most=20).clean(text)


def test_metric_firm_reads_and_sees_its_own_units(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(quantities, "firm_units", lambda: "metric")
    rain, speed = RainField(least=0, most=20), SpeedField(least=5, most=80)
    assert rain.clean("25.4") == pytest.approx(1.0)
    assert rain.prepare_value(1.0) == "25.4 mm"
    assert speed.clean("50") == pytest.approx(31.07, abs=0.005)
    assert speed.prepare_value(30.0) == "48.3 km/h"
    # What is shown is rounded, and read back it is no change.
    assert not speed.has_changed(30.0, "48.3 km/h")
    assert speed.has_changed(30.0, "49")
    assert RainField(least=0, most=20, required=False).clean("") is None


class Shown(forms.Form):
    """Figures that no metric unit shows to the digit."""

    air_f = TemperatureField(label="Air", least=-40, most=130)
    wind = MeasuredField(measure=loads.WIND_SPEED, label="Wind ({unit})", least=0, most=250)
    depth_in = LengthField(is_short=True)


def test_what_is_sent_back_as_shown_stays_and_what_is_typed_does_not(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    for module in (quantities, fields):
        monkeypatch.setattr(module, "firm_units", lambda: "metric")
    kept = {"air_f": 47.0, "wind": 115.0, "depth_in": 30.0625}
    page = Shown(initial=kept)
    assert page["wind"].label == "Wind (m/s)"
    # (47 - 32) / 1.8 = 8.33; 115 x 0.44704 = 51.41; 30.0625 x 25.4 = 763.6.
    shown = {name: str(page[name].value()) for name in kept}
    assert shown == {"air_f": "8.3", "wind": "51.4", "depth_in": "764 mm"}
    sent = Shown(shown, initial=kept)
    assert sent.is_valid()
    assert sent.cleaned_data == kept
    assert not sent.changed_data
    # Without knowing what was shown, the same texts are figures of their own.
    typed = Shown(shown)
    assert typed.is_valid()
    # 8.3 x 1.8 + 32 = 46.94; 51.4 / 0.44704 = 114.978; 764 / 25.4 = 30.0787
    expected = {"air_f": 46.94, "wind": 114.978, "depth_in": 30.0787}
    assert typed.cleaned_data == pytest.approx(expected, rel=1e-5)
    assert temperature(47.0, "metric") == "8 \N{DEGREE SIGN}C"
    assert temperature(31.5, "metric") == "0 \N{DEGREE SIGN}C"
    assert temperature(47.0, "us") == "47 \N{DEGREE SIGN}F"
