"""The form of a row that the firm is not sure of."""

from typing import Any, ClassVar

from django import forms

from estimating import mapping
from estimating.engine.errors import EngineError
from estimating.models import UncertainRow
from firm.forms.fields import NumberField, PlainTextMixin

FIGURES = ("low_pct", "likely_pct", "high_pct", "chance_pct", "extra")


def _figure(label: str, help_text: str) -> NumberField:
    return NumberField(
        label=label,
        help_text=help_text,
        required=False,
        widget=forms.TextInput(attrs={"inputmode": "decimal"}),
    )


class UncertainForm(PlainTextMixin, forms.ModelForm[UncertainRow]):
    """A range or a chance; a figure left empty is 0."""

    low_pct = _figure("Range: low", "Per cent more than estimated; less where negative.")
    likely_pct = _figure("Range: most likely", "Per cent; 0 is as estimated.")
    high_pct = _figure("Range: high", "Per cent.")
    chance_pct = _figure("Chance", "In so many per cent of all cases.")
    extra = _figure(
        "Chance: what it adds",
        "Per cent of the figure; labour hours for a hole in rock and for one more trip.",
    )

    class Meta:
        model = UncertainRow
        fields = ("name", "target", "shape", *FIGURES, "source", "is_active")
        labels: ClassVar = {
            "target": "What is uncertain",
            "shape": "How it turns out",
            "source": "Where the figures come from",
            "is_active": "Counts in the risk of estimates",
        }

    def clean(self) -> dict[str, Any] | None:
        """Take an empty figure for 0, and name the figure that makes no sense beside the others."""
        cleaned = super().clean()
        for name in FIGURES:
            if name in self.cleaned_data and self.cleaned_data[name] is None:
                self.cleaned_data[name] = 0.0
        if not self.errors:
            try:
                mapping.uncertain(UncertainRow(**self.cleaned_data))
            except EngineError as error:
                self.add_error(error.field or None, str(error))
        return cleaned
