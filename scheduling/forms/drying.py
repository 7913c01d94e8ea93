"""What is typed to reckon how fast a pour dries; it is kept with the pour's day."""

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from django import forms

from firm.forms.fields import NumberField
from firm.forms.quantities import MeasuredField, TemperatureField
from firm.measure.loads import WIND_SPEED
from scheduling.selectors.pour_weather import Drying, PourWeather

TYPED = {"inputmode": "decimal", "autocomplete": "off"}


class DryingForm(forms.Form):
    """Air, humidity and wind at the pour, and how warm the concrete is."""

    air_f = TemperatureField(label="Air", least=-40, most=130)
    humidity_pct = NumberField(
        label="Humidity, %", min_value=0, max_value=100, widget=forms.TextInput(attrs=TYPED)
    )
    wind_mph = MeasuredField(measure=WIND_SPEED, label="Wind, {unit}", least=0, most=100)
    concrete_f = TemperatureField(
        label="Concrete",
        least=32,
        most=130,
        required=False,
        help_text="Empty: as warm as the air.",
    )

    @classmethod
    def of(cls, weather: PourWeather, data: Mapping[str, Any] | None = None) -> "DryingForm":
        """Return the form with what was typed, else with what is kept, else the air if known."""
        known: dict[str, Any] = {"air_f": weather.air_f}
        if weather.kept:
            known = asdict(weather.kept)
            known["humidity_pct"] = f"{weather.kept.humidity_pct:g}"
        return cls(data, initial=known)

    def drying(self) -> Drying:
        """Return what was typed."""
        return Drying(**self.cleaned_data)
