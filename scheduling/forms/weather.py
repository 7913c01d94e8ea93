"""Lows and highs as they are typed: one line for each day with its rain, or for each month."""

import calendar
import datetime as dt
from collections.abc import Iterable, Mapping
from typing import Any, cast

from django import forms
from django.core.exceptions import ValidationError

from firm.forms.meanwhile import MeanwhileMixin
from firm.forms.quantities import RainField, TemperatureField
from scheduling.engine.air import COLDEST_F, HOTTEST_F, LowHigh
from scheduling.engine.errors import EngineError
from scheduling.models import AirTemperature, RainDay
from scheduling.services.weather import MOST_RAIN_IN

Data = Mapping[str, Any] | None
ONE_DAY = dt.timedelta(days=1)


def _temperature(label: str) -> TemperatureField:
    return TemperatureField(
        label=label,
        required=False,
        least=COLDEST_F,
        most=HOTTEST_F,
        # Minus signs are on no phone's row of digits.
        widget=forms.TextInput(attrs={"inputmode": "text", "autocomplete": "off"}),
        # What the page was drawn with tells what was typed from what another changed meanwhile.
        show_hidden_initial=True,
    )


class LowHighForm(MeanwhileMixin, forms.Form):
    """One line: a low and a high, or neither; kept in Fahrenheit, written as the firm measures."""

    low_f = _temperature("Low")
    high_f = _temperature("High")

    def __init__(self, data: Data, *, prefix: str, title: str, row: AirTemperature | None) -> None:
        super().__init__(data, prefix=prefix)
        # Written at once: what was typed is compared with what the page showed.
        for name in ("low_f", "high_f") if row else ():
            self.initial[name] = self.fields[name].prepare_value(getattr(row, name))
        self.title = title
        self.source = row.get_source_display() if row and row.date else ""
        for name in self.fields:
            self.fields[name].widget.attrs["aria-label"] = f"{self[name].label}, {title}"

    def clean(self) -> dict[str, Any]:
        """Refuse one without the other, and a low over its high, at the field."""
        cleaned: dict[str, Any] = super().clean() or {}
        low_f, high_f = cleaned.get("low_f"), cleaned.get("high_f")
        if self.errors:
            return cleaned
        if low_f is None and high_f is not None:
            self.add_error("low_f", ValidationError("Give the low as well.", code="alone"))
        elif high_f is None and low_f is not None:
            self.add_error("high_f", ValidationError("Give the high as well.", code="alone"))
        elif low_f is not None and high_f is not None:
            try:
                LowHigh(low_f=low_f, high_f=high_f)
            except EngineError as error:
                self.add_error(error.field, ValidationError(self._said(error), code="order"))
        return cleaned

    def _said(self, error: EngineError) -> str:
        """Say in the firm's own unit what is wrong; the engine counts in Fahrenheit."""
        low_f, high_f = self.cleaned_data["low_f"], self.cleaned_data["high_f"]
        if low_f <= high_f:
            return str(error)
        field = cast("TemperatureField", self.fields["low_f"])
        unit = f"\N{DEGREE SIGN}{field.unit.upper()}"
        low, high = field.written(low_f), field.written(high_f)
        return f"A day's low of {low} {unit} stands above its high of {high} {unit}."

    @property
    def pair(self) -> tuple[float, float] | None:
        """What was typed, None where both fields are empty."""
        low_f, high_f = self.cleaned_data["low_f"], self.cleaned_data["high_f"]
        return None if low_f is None else (low_f, high_f)


class DayForm(LowHighForm):
    """A day's line: the same, and its rain."""

    rain_in = RainField(
        label="Rain", least=0.0, most=MOST_RAIN_IN, required=False, show_hidden_initial=True
    )

    def __init__(self, data: Data, *, rain: RainDay | None, **kwargs: Any) -> None:
        super().__init__(data, **kwargs)
        # Written at once: it is compared with what the page showed, in the firm's units.
        self.initial["rain_in"] = self.fields["rain_in"].prepare_value(rain.rain_in) if rain else ""


class LowHighForms:
    """The lines of a page: saved together or not at all, and only those that were changed."""

    def __init__(self, lines: Iterable[LowHighForm]) -> None:
        self.lines = list(lines)

    def are_valid(self) -> bool:
        """Look at every line, so that every slip is told at once."""
        return all([line.is_valid() for line in self.lines])  # noqa: C419 - all are looked at

    @property
    def changed(self) -> list[LowHighForm]:
        """Return the lines that somebody typed into."""
        return [line for line in self.lines if line.has_changed()]

    @property
    def rain(self) -> dict[dt.date, float | None]:
        """Return the rain that somebody typed or took away, by its day."""
        return {
            dt.date.fromisoformat(str(line.prefix)): line.cleaned_data["rain_in"]
            for line in self.lines
            if "rain_in" in line.changed_data
        }

    @property
    def error_count(self) -> int:
        """Return how many fields need another look."""
        return sum(len(line.errors) for line in self.lines)


def day_lines(
    data: Data,
    *,
    first: dt.date,
    days: int,
    rows: Mapping[dt.date, AirTemperature],
    rain: Mapping[dt.date, RainDay],
) -> LowHighForms:
    """Return a line for each of some days, named by its date."""
    dates = [first + ONE_DAY * count for count in range(days)]
    return LowHighForms(
        DayForm(
            data,
            prefix=day.isoformat(),
            title=f"{day:%a %b} {day.day}, {day.year}",
            row=rows.get(day),
            rain=rain.get(day),
        )
        for day in dates
    )


def month_lines(data: Data, *, rows: Mapping[int, AirTemperature]) -> LowHighForms:
    """Return a line for each month, named by its number."""
    return LowHighForms(
        LowHighForm(data, prefix=str(month), title=calendar.month_name[month], row=rows.get(month))
        for month in range(1, 13)
    )
