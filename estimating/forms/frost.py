"""The form for an estimate of frost depth: a winter, a soil and the surface over it."""

from typing import Any

from django import forms

from firm.forms.fields import NumberField, PlainTextMixin
from firm.measure.written import F_PER_C, METRIC, US


def _number(label: str, help_text: str, low: float, high: float) -> NumberField:
    return NumberField(
        label=label,
        help_text=help_text,
        min_value=low,
        max_value=high,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
    )


class FrostForm(PlainTextMixin, forms.Form):
    """A winter as the weather service sums it up, in the firm's units."""

    use_required_attribute = False

    soil = forms.ChoiceField(label="Soil")
    surface = forms.ChoiceField(label="Surface over it")

    field_order = ("index", "freezing_days", "mean_annual", "soil", "surface")

    def __init__(
        self,
        *args: Any,
        units: str = US,
        soils: list[tuple[str, str]],
        surfaces: list[tuple[str, str]],
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self._is_metric = units == METRIC
        degree = "C" if self._is_metric else "F"
        scale = 1 / F_PER_C if self._is_metric else 1.0
        self.fields["index"] = _number(
            f"Air-freezing index ({degree} degree-days)",
            "Of the design winter: the coldest in ten years, or the mean of the three coldest in "
            "thirty.",
            0,
            round(10_000 * scale),
        )
        self.fields["freezing_days"] = _number("Length of the freezing season (days)", "", 1, 300)
        self.fields["mean_annual"] = _number(
            f"Mean temperature of the year ({degree})",
            "",
            -20 if self._is_metric else 0,
            30 if self._is_metric else 90,
        )
        self.fields["soil"].choices = soils  # type: ignore[attr-defined]
        self.fields["surface"].choices = surfaces  # type: ignore[attr-defined]
        self.order_fields(self.field_order)

    @property
    def index_f_days(self) -> float:
        """The index in Fahrenheit degree-days."""
        return float(self.cleaned_data["index"]) * (F_PER_C if self._is_metric else 1.0)

    @property
    def mean_annual_f(self) -> float:
        """The year's mean in degrees Fahrenheit."""
        given = float(self.cleaned_data["mean_annual"])
        return given * F_PER_C + 32 if self._is_metric else given
