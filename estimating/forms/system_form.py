"""The form of a fence system: its figures as fields, and the whole definition as text.

The fields are laid over the definition that the page was opened with: what nobody changed, and what
the page does not show, stays to the last digit.
"""

import copy
import datetime as dt
from collections.abc import Container, Iterator, Mapping
from typing import Any, ClassVar

from django import forms
from django.core.exceptions import ValidationError
from django.forms.boundfield import BoundField

from estimating.engine.errors import EngineError
from estimating.forms.definition_lengths import as_text, read_lengths
from estimating.forms.system_materials import add_limits, add_materials
from estimating.forms.system_overlay import CHANGED_TWICE, laid_over
from estimating.forms.system_page import Part, parts_of
from estimating.forms.system_posts import add_gate_posts, add_posts, add_strengths
from estimating.forms.system_rows import add_figures, add_labor, field_name
from estimating.models import FenceSystem
from estimating.selectors.place_words import at_its_field
from firm.forms.fields import PlainTextMixin
from firm.forms.json_text import read_json
from firm.selectors.profile import firm_units

KEY_HELP = "Letters, digits, - and _. Fence systems and files call it by this; it stays."
TEXT = "definition_text"


class SystemForm(PlainTextMixin, forms.ModelForm[FenceSystem]):
    """A fence system; `base` is the definition that the page shows, `names` its items' names.

    `in_feet` are the items that are counted in feet."""

    definition_text = forms.CharField(
        label="Definition",
        required=False,
        max_length=60_000,
        help_text=(
            "JSON. Keep the names on the left; change the figures. A length is a number in inches "
            "(in feet where its name ends in _ft), or a text with its unit: "
            '"8 ft", "98 1/2 in", "2.45 m", "2450 mm".'
        ),
        widget=forms.Textarea(attrs={"class": "data", "rows": 30, "spellcheck": "false"}),
    )
    seen_changed_at = forms.CharField(required=False, widget=forms.HiddenInput)
    use_required_attribute = False

    class Meta:
        model = FenceSystem
        fields = ("name", "key", "is_active")
        labels: ClassVar = {"key": "Short name", "is_active": "Offered for new estimates"}
        help_texts: ClassVar = {"key": KEY_HELP}

    def __init__(
        self,
        data: Mapping[str, Any] | None = None,
        *,
        base: dict[str, Any],
        names: Mapping[str, str],
        rates: set[str],
        in_feet: Container[str] = frozenset(),
        **kwargs: Any,
    ) -> None:
        super().__init__(data, **kwargs)
        self.base = base
        self.names, self.in_feet = names, in_feet
        # Built before the fields are filled, so that a field can look up what it starts with.
        add_figures(self)
        add_posts(self, base, names)
        add_materials(self, base, names)
        add_limits(self, base)
        add_gate_posts(self, base, names)
        add_strengths(self, base)
        add_labor(self, base, rates)
        self.fields[TEXT].initial = as_text(base, firm_units()) if base else ""
        if self.instance.pk:
            self.fields["key"].disabled = True
            self.fields["seen_changed_at"].initial = self.instance.changed_at.isoformat()
        if data is not None:
            self._stand_in_for_what_was_not_sent(data)

    def _stand_in_for_what_was_not_sent(self, data: Mapping[str, Any]) -> None:
        """A figure that was not sent at all stands as it is; one sent empty was emptied."""
        sent = dict(data.items())
        for name, field in self.fields.items():
            if "-" in name and name not in sent and not name.endswith("-drop"):
                field.required = False
                initial = self.get_initial_for_field(field, name)
                sent[name] = field.prepare_value(initial)
        self.data = sent

    def clean_definition_text(self) -> Any:
        """Return the parsed definition; a slip is named by its line, or by its field."""
        text = self.cleaned_data[TEXT]
        if not text.strip():
            return copy.deepcopy(self.base)
        definition = read_lengths(read_json(text), firm_units())
        if not isinstance(definition, dict):
            raise ValidationError("A definition is an object in braces: { ... }.")
        return definition

    def clean_seen_changed_at(self) -> dt.datetime | None:
        """Return the time of the version the page showed."""
        text = self.cleaned_data["seen_changed_at"]
        try:
            return dt.datetime.fromisoformat(text) if text else None
        except ValueError as error:
            raise ValidationError("Open this page again.") from error

    def clean(self) -> dict[str, Any]:
        """Lay the fields over the text, and look at what belongs together."""
        values = super().clean() or self.cleaned_data
        text = values.get(TEXT)
        if isinstance(text, dict):
            values["definition"], twice = laid_over(self, text)
            for name in twice:
                self.add_error(name, CHANGED_TWICE)
        hole = values.get("definition", {}).get("hole")
        if isinstance(hole, dict):
            bell = [hole.get(name) for name in ("bell_diameter_in", "bell_height_in")]
            if any(bell) and not all(bell) and not self._is_in_text_only("hole-bell_height_in"):
                self.add_error("hole-bell_height_in", "A bell has a width and a height, or none.")
        return values

    def _is_in_text_only(self, name: str) -> bool:
        """Whether a wrong figure was typed into the text and no field of its part was touched."""
        part = name.partition("-")[0]
        return not any(each.startswith(f"{part}-") for each in self.changed_data)

    def definition_to_try(self) -> dict[str, Any] | None:
        """Return what a sample line is worked out with, None while a figure can't be read.

        A trial asks for no name yet.
        """
        for name in ("name", "key"):
            self.errors.pop(name, None)
        made: dict[str, Any] | None = self.cleaned_data.get("definition")
        return None if self.errors else made

    def add_engine_error(self, message: str, path: str) -> None:
        """Show what the engine refuses at its field, or at the text where that was changed."""
        name = field_name(path)
        name = name if name in self.fields else f"{name}-item"
        reason = message.removeprefix(path).removeprefix(":").strip()
        is_typed = name in self.fields and (
            name in self.changed_data or TEXT not in self.changed_data
        )
        if is_typed:
            self.add_error(name, at_its_field(message, path))
        else:
            self.add_error(TEXT, f"{path}: {reason}" if path and reason != message else message)

    # --- For the page ---

    @property
    def parts(self) -> Iterator[Part]:
        """What the page folds: figures by what they are about, posts, material."""
        return parts_of(self)

    @property
    def labor(self) -> list[BoundField]:
        """The rate for each phase."""
        return [self[name] for name in self.fields if name.startswith("labor-")]

    @property
    def problems(self) -> list[tuple[str, str]]:
        """Every message with the words of its field, for a page that shows no fields."""
        return [
            (str(self[name].label) if name in self.fields else "", str(message))
            for name, messages in self.errors.items()
            for message in messages
        ]


def place_of(error: EngineError, key: str) -> str:
    """Return the path of a refused figure below its fence system."""
    return error.field.removeprefix(f"fence_systems.{key}").removeprefix(".")
