"""What a sample line of a fence system stands on, and the gate in it."""

from typing import Any

from django import forms

from estimating.selectors.sample_line import GATES, GROUNDS, SampleAsked
from firm.measure.written import lengths_in


class SampleForm(forms.Form):
    """The ground and the gate of a sample line; what is none of them is the first."""

    prefix = "sample"

    ground = forms.ChoiceField(required=False)
    gate = forms.ChoiceField(required=False)

    def __init__(self, *args: Any, units: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, known in (("ground", GROUNDS), ("gate", GATES)):
            words = [(key, lengths_in(one[0], units)) for key, one in known.items()]
            self.fields[name].choices = words  # type: ignore[attr-defined]

    @property
    def asked(self) -> SampleAsked:
        """Return what was chosen."""
        chosen = self.cleaned_data if self.is_valid() else {}
        return SampleAsked(**{name: key for name, key in chosen.items() if key})
