"""The form of the firm's soil classes."""

from typing import Any

from django import forms

from estimating.selectors.soil import bearing_choices
from firm.forms.fields import PlainTextMixin
from firm.models import JobSite

NO_CLASS = "none"


class SoilBearingForm(PlainTextMixin, forms.Form):
    """The building code's class of soil that stands for each soil the office can choose."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        choices = [*bearing_choices(), (NO_CLASS, "None: its posts are not judged against wind")]
        for soil, label in JobSite.Soil.choices:
            self.fields[soil] = forms.ChoiceField(label=label, choices=choices)
            self.initial.setdefault(soil, NO_CLASS)

    def chosen(self) -> dict[str, str]:
        """Return the class of each soil, "" for none."""
        return {
            soil: "" if bearing == NO_CLASS else bearing
            for soil, bearing in self.cleaned_data.items()
        }
