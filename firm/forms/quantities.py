"""Form fields for places on the map, speeds and rain, as people type them."""

import math
import re
from typing import Any, ClassVar

from django import forms
from django.core.exceptions import ValidationError
from django.forms.boundfield import BoundField
from django.utils.translation import gettext as _

from firm.forms.fields import WRITTEN_NUMBER, KeptFigureMixin
from firm.measure.loads import Measure, plain_number
from firm.measure.places import PlaceError, parse_place, place_words
from firm.measure.written import FREEZING_F, METRIC
from firm.selectors.profile import firm_units

_QUANTITY = re.compile(
    r"(?P<number>-?(?:\d+(?:\.\d*)?|\.\d+))\s*(?P<unit>[a-z/\"]*)", re.IGNORECASE
)
_WITH_UNIT = re.compile(rf"(?P<number>{WRITTEN_NUMBER.pattern})\s*(?P<unit>(?:[^\d\s].*)?)", re.I)


class PlaceField(forms.CharField):
    """A place as a pair of degrees north and east, typed as '41.59, -93.62'."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("max_length", 60)
        kwargs.setdefault("required", False)
        kwargs.setdefault(
            "help_text", "Latitude and longitude as the phone's map shows them: 41.59, -93.62."
        )
        super().__init__(**kwargs)
        self.widget.attrs.setdefault("autocomplete", "off")

    def prepare_value(self, value: Any) -> Any:
        """Show a pair as it is typed; leave what was typed as it was typed."""
        if isinstance(value, tuple):
            return "" if None in value else place_words(*value)
        return value

    def clean(self, value: Any) -> Any:
        """Return the pair, a pair of None for an empty field."""
        text = super().clean(value)
        if not text:
            return (None, None)
        try:
            return parse_place(text)
        except PlaceError as error:
            raise ValidationError(str(error), code="place") from error

    def has_changed(self, initial: Any, data: Any) -> bool:
        """Compare places, not spellings."""
        try:
            differs: bool = parse_place(str(data or "")) != initial
        except PlaceError:
            return super().has_changed(self.prepare_value(initial), data)
        return differs


class QuantityField(KeptFigureMixin, forms.CharField):
    """A figure with its unit; a bare number means the firm's own unit, in which it is shown.

    `units` says how many of the unit it is kept in each is worth.
    """

    units: ClassVar[dict[str, float]]
    own_unit: ClassVar[dict[str, str]]
    digits = 2
    # What a message gives as an example: a figure that is met often.
    usual: ClassVar[float]
    like = ""
    metric_like = ""

    def __init__(self, *, least: float, most: float, **kwargs: Any) -> None:
        kwargs.setdefault("max_length", 20)
        super().__init__(**kwargs)
        self.least, self.most = least, most
        self.widget.attrs.setdefault("autocomplete", "off")

    @property
    def unit(self) -> str:
        """The firm's own unit."""
        return self.own_unit.get(firm_units(), self.own_unit["us"])

    def get_bound_field(self, form: forms.BaseForm, field_name: str) -> BoundField:
        """Return the field with the help that fits the firm's units."""
        if not self.help_text:
            self.help_text = self.metric_like if firm_units() == METRIC else self.like
        return super().get_bound_field(form, field_name)

    def written(self, value: float) -> str:
        """Return a figure as this field shows it."""
        return f"{round(value / self.units[self.unit], self.digits):g} {self.unit}"

    def told(self, value: float) -> str:
        """Return a figure with its unit, for a message."""
        return self.written(value)

    @property
    def unreadable(self) -> str:
        """What is said of a text that is no figure."""
        usual = min(max(self.usual, self.least), self.most)
        return _("Type a figure such as {figure}.").format(figure=self.told(usual))

    def prepare_value(self, value: Any) -> Any:
        """Show a figure in the firm's unit; leave what was typed as it was typed."""
        return self.written(value) if isinstance(value, int | float) else value

    def read(self, text: str) -> float | None:
        """Return what a text comes to in the unit it is kept in, or None where it is no figure."""
        found = _QUANTITY.fullmatch(text.strip())
        factor = self.units.get((found["unit"] or self.unit).lower()) if found else None
        return float(found["number"]) * factor if found and factor else None

    def typed_figure(self, value: Any) -> float | None:
        """Return the figure in the unit it is kept in, or None for an empty field."""
        text = super().typed_figure(value)
        if not text:
            return None
        figure = self.read(text)
        if figure is None:
            raise ValidationError(self.unreadable, code="unit")
        if not self.least - 1e-9 <= figure <= self.most + 1e-9:
            raise ValidationError(
                _("This must be from {least} to {most}.").format(
                    least=self.told(self.least), most=self.told(self.most)
                ),
                code="range",
            )
        return figure

    def has_changed(self, initial: Any, data: Any) -> bool:
        """Compare figures, not spellings."""
        typed = self.read(str(data or ""))
        if typed is not None and isinstance(initial, int | float):
            # What is shown is rounded: it is read back as the same figure.
            shown = self.read(self.written(initial))
            return shown is None or not math.isclose(typed, shown, abs_tol=1e-9)
        return super().has_changed(self.prepare_value(initial), data)


class SpeedField(QuantityField):
    """A speed, kept in miles an hour: 30 mph, 50 km/h."""

    units: ClassVar = {"mph": 1.0, "km/h": 1 / 1.609344, "kmh": 1 / 1.609344, "kph": 1 / 1.609344}
    own_unit: ClassVar = {"us": "mph", METRIC: "km/h"}
    usual = 30.0
    digits = 1


class MeasuredField(QuantityField):
    """A figure shown as a bare number; its label names the firm's unit, where {unit} stands in it.

    It may be typed with any unit of its measure.
    """

    def __init__(self, *, measure: Measure, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.measure = measure
        self.widget.attrs.setdefault("inputmode", "decimal")

    def get_bound_field(self, form: forms.BaseForm, field_name: str) -> BoundField:
        """Return the field with the firm's unit in its label."""
        found = super().get_bound_field(form, field_name)
        found.label = str(self.label).replace("{unit}", self.measure.unit(firm_units()))
        return found

    def written(self, value: float) -> str:
        """Return the bare number: all of it in the unit it is kept in, else as a page shows it."""
        units = firm_units()
        shown = self.measure.shown(value, units)
        return plain_number(shown, self.measure.typed_places(units))

    def told(self, value: float) -> str:
        """Return a figure with its unit, for a message."""
        return f"{self.written(value)} {self.measure.unit(firm_units())}"

    @property
    def unreadable(self) -> str:
        """What is said of a text that is no figure."""
        return f"Type a number; alone it is in {self.measure.unit(firm_units())}."

    def read(self, text: str) -> float | None:
        """Return what a text comes to in the unit it is kept in, or None where it is no figure."""
        found = _WITH_UNIT.fullmatch(text.strip())
        worth = self.measure.typed(found["unit"] or self.measure.unit(firm_units())) if found else 0
        return float(found["number"]) * worth if found and worth else None


class RainField(QuantityField):
    """Rain of a day, kept in inches: 0.4 in, 10 mm."""

    units: ClassVar = {"in": 1.0, '"': 1.0, "inch": 1.0, "mm": 1 / 25.4, "cm": 1 / 2.54}
    own_unit: ClassVar = {"us": "in", METRIC: "mm"}
    usual = 0.5

    def get_bound_field(self, form: forms.BaseForm, field_name: str) -> BoundField:
        """Return the field with the firm's unit in its label."""
        found = super().get_bound_field(form, field_name)
        found.label = f"{self.label}, {self.unit}"
        return found


class TemperatureField(QuantityField):
    """The air, kept in degrees Fahrenheit: 41.5, 5 C. The label names the firm's own unit."""

    units: ClassVar = {"f": 1.0, "c": 9 / 5}
    own_unit: ClassVar = {"us": "f", METRIC: "c"}
    # 15 degrees Celsius.
    usual = 59.0
    digits = 1
    _DEGREES = re.compile(
        r"(?P<number>[-\u2212]?(?:\d+(?:\.\d*)?|\.\d+))\s*\u00b0?\s*(?P<unit>[cf]?)", re.IGNORECASE
    )

    def written(self, value: float) -> str:
        """Return a temperature as this field shows it: a bare number."""
        shown = (value - FREEZING_F) / self.units["c"] if self.unit == "c" else value
        return f"{round(shown, self.digits) + 0.0:g}"

    def read(self, text: str) -> float | None:
        """Return what a text comes to in Fahrenheit, or None where it is no temperature."""
        found = self._DEGREES.fullmatch(text.strip())
        if not found:
            return None
        number = float(found["number"].replace("\u2212", "-"))
        is_celsius = (found["unit"] or self.unit).lower() == "c"
        return number * self.units["c"] + FREEZING_F if is_celsius else number

    def get_bound_field(self, form: forms.BaseForm, field_name: str) -> BoundField:
        """Return the field with the firm's unit in its label."""
        found = super().get_bound_field(form, field_name)
        found.label = f"{self.label}, \N{DEGREE SIGN}{self.unit.upper()}"
        return found
