"""What is asked of a rain-out: how much of the day is lost, and how the rest follows."""

from typing import Any

from django import forms

from firm.forms.quantities import RainField
from scheduling.models import Crew, RainOut
from scheduling.services.weather import MOST_RAIN_IN


class RainOutForm(forms.Form):
    """The day is the page's own."""

    work = forms.ChoiceField(
        label="What is lost",
        choices=RainOut.Work,
        widget=forms.RadioSelect,
        initial=RainOut.Work.BARRED,
    )
    rain_in = RainField(label="Rain of the day", least=0.0, most=MOST_RAIN_IN, required=False)
    crew = forms.ModelChoiceField(
        queryset=Crew.objects.filter(is_active=True), required=False, empty_label="All crews"
    )
    others = forms.ChoiceField(
        label="Who moves",
        choices=RainOut.Others,
        widget=forms.RadioSelect,
        initial=RainOut.Others.STAY,
    )
    with_fixed = forms.BooleanField(
        label="Move blocks of that day that were placed by hand as well",
        required=False,
        help_text="Those of other days stay in any case.",
    )
    # What the page showed when it was looked at; empty before that.
    mark = forms.CharField(max_length=64, required=False, widget=forms.HiddenInput)

    def asked(self) -> dict[str, Any]:
        """Return what the services ask for, without the mark."""
        return {name: value for name, value in self.cleaned_data.items() if name != "mark"} | {
            "crew": self.cleaned_data["crew"]
        }
