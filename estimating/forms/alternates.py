"""The form of an alternate: for each line another system, for each gate another opening."""

from collections.abc import Sequence
from typing import Any

from django import forms

from estimating.engine.alternates import Swap
from estimating.selectors.alternates import LinePlace
from firm.forms.fields import LengthField, PlainTextMixin

WIDEST_IN = 480.0


class AlternateForm(PlainTextMixin, forms.Form):
    """A name, and what is otherwise; what is left alone is as in the estimate."""

    use_required_attribute = False

    name = forms.CharField(
        label="Name of the alternate",
        max_length=80,
        help_text="As the customer would say it: Chain link instead, Wider gate.",
    )

    def __init__(
        self, *args: Any, places: Sequence[LinePlace], systems: dict[str, str], **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self._places = places
        choices = sorted(systems.items(), key=lambda each: each[1])
        for place in places:
            self.fields[f"system_{place.line_id}"] = forms.ChoiceField(
                label=f"{place.name}: fence system",
                required=False,
                choices=[
                    ("", f"As estimated: {place.system_name}"),
                    *((key, name) for key, name in choices if key != place.system),
                ],
            )
            for gate in place.gates:
                self.fields[f"gate_{place.line_id}_{gate.gate_id}"] = LengthField(
                    label=f"{place.name}, gate {gate.gate_id}: clear opening",
                    required=False,
                    min_in=12.0,
                    max_in=WIDEST_IN,
                    is_short=True,
                    initial=gate.opening_in,
                )

    def swaps(self) -> list[Swap]:
        """Return what is otherwise than in the estimate."""
        swaps = []
        for place in self._places:
            if system := self.cleaned_data[f"system_{place.line_id}"]:
                swaps.append(Swap(line_id=place.line_id, system=system))
            for gate in place.gates:
                name = f"gate_{place.line_id}_{gate.gate_id}"
                opening_in = self.cleaned_data[name]
                if opening_in and name in self.changed_data:
                    swaps.append(
                        Swap(line_id=place.line_id, gate_id=gate.gate_id, opening_in=opening_in)
                    )
        return swaps
