"""What is typed to reckon how fast a pour dries; nothing of it is kept."""

from collections.abc import Mapping
from typing import Any

from django import forms

from firm.forms.fields import NumberField
from firm.forms.quantities import MeasuredField, TemperatureField
from firm.measure.loads import WIND_SPEED
from scheduling.engine.weather_advice import evaporation_kg_m2_h

TYPED = {"inputmode": "decimal", "autocomplete": "off"}
NAMES = ("air_f", "humidity_pct", "wind_mph", "concrete_f")


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
    def of(cls, query: Mapping[str, Any], *, air_f: float | None) -> "DryingForm":
        """Return the form with what was asked, or empty, with the air where it is known."""
        asked = any(name in query for name in NAMES)
        return cls(query if asked else None, initial={"air_f": air_f})

    def evaporation(self) -> float | None:
        """Return what evaporates in kg a square metre an hour, where all of it was typed."""
        if not self.is_bound or not self.is_valid():
            return None
        typed = self.cleaned_data
        concrete_f = typed["concrete_f"]
        return evaporation_kg_m2_h(
            concrete_f=typed["air_f"] if concrete_f is None else concrete_f,
            air_f=typed["air_f"],
            humidity_pct=typed["humidity_pct"],
            wind_mph=typed["wind_mph"],
        )
