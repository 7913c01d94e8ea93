"""Forms that lay open while another saved: what either wrote is kept, or told at its field."""

import datetime as dt
from collections.abc import Iterable
from typing import Any, ClassVar

from django import forms
from django.core.exceptions import ValidationError
from django.forms.boundfield import BoundField
from django.utils.formats import date_format
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

CHANGED = _(
    "This was changed meanwhile: it now says '{now}'. "
    "Save again to put what you typed here in its place."
)
EMPTIED = _("This was emptied meanwhile. Save again to put what you typed here in its place.")


class MeanwhileMixin(forms.BaseForm):
    """Compares each field with `show_hidden_initial` with what it showed, and with what stands.

    One that was left as the page showed it keeps what stands now. One that was changed, and
    meanwhile to something else by another, is refused with what stands now; the page that comes
    back shows that as known, so that it counts when it is saved once more.
    """

    # Fields that are written by the program as well: what was typed there counts at once.
    counts_as_typed: ClassVar[frozenset[str]] = frozenset()
    kept_meanwhile: tuple[str, ...] = ()

    def compare(self, names: Iterable[str] | None = None) -> None:
        """Have these fields, or all of them, send along what they showed."""
        for name in self.fields if names is None else names:
            self.fields[name].show_hidden_initial = True

    def full_clean(self) -> None:
        """Judge every field by what stands now."""
        told = self._meet() if self.is_bound else {}
        super().full_clean()
        for name, words in told.items():
            self.add_error(name, ValidationError(words, code="meanwhile"))

    def _meet(self) -> dict[str, str]:
        """Take over what stands where nothing was changed; return what is told, by field."""
        sent, told = self.data, {}
        self.data = sent.copy()  # type: ignore[attr-defined]  # a dict, or a QueryDict
        for bound in self:
            if not bound.field.show_hidden_initial:
                continue
            name, stands = bound.html_initial_name, _written(bound)
            shown: Any = stands
            if name in sent:
                hidden = bound.field.hidden_widget()
                shown = hidden.value_from_datadict(sent, self.files, name)
            changed_meanwhile = _differ(bound.field, stands, shown)
            if self._is_as_shown(bound, shown):
                self._put(bound.html_name, stands)
                if changed_meanwhile:
                    self.kept_meanwhile = (*self.kept_meanwhile, _name_of(bound))
            elif (
                changed_meanwhile
                and bound.name not in self.counts_as_typed
                and _differ(bound.field, stands, bound.data)
            ):
                told[bound.name] = _told(bound, stands)
            self._put(name, stands)
        return told

    def _is_as_shown(self, bound: BoundField, shown: Any) -> bool:
        """Say whether a field came back as the page showed it, or not at all."""
        widget = bound.field.widget
        if widget.value_omitted_from_data(self.data, self.files, bound.html_name):
            return True
        return not _differ(bound.field, shown, bound.data)

    def _put(self, name: str, value: str | list[str]) -> None:
        if isinstance(value, list) and hasattr(self.data, "setlist"):
            self.data.setlist(name, value)
        else:
            self.data[name] = value  # type: ignore[index]  # it is a copy of our own


def kept_meanwhile_words(parts: Iterable[forms.BaseForm]) -> str:
    """Return a sentence that names what another changed meanwhile and this page left alone."""
    names = [one for form in parts for one in getattr(form, "kept_meanwhile", ())]
    if not names:
        return ""
    words = gettext("Changed meanwhile, and kept as it is now: {fields}.")
    return words.format(fields=", ".join(dict.fromkeys(names)))


def _written(bound: BoundField) -> str | list[str]:
    """Return what stands now, as the field would send it."""
    value = bound.field.prepare_value(bound.initial)
    if isinstance(value, dt.date | dt.time):
        # Seconds that the page does not show are no change.
        value = bound.field.widget.format_value(value)
    if isinstance(value, list | tuple):
        return [str(one) for one in value]
    return "" if value is None else str(value)


def _differ(field: forms.Field, first: Any, second: Any) -> bool:
    """Say whether two values as they are sent mean something else."""
    if _flat(first) == _flat(second):
        return False
    try:
        return field.has_changed(field.to_python(first), second)
    except ValidationError:
        return True


def _flat(value: Any) -> str | list[str]:
    if isinstance(value, list | tuple):
        return sorted(str(one) for one in value)
    # Browsers send every line break as two signs.
    return "" if value is None else "\n".join(str(value).splitlines()).strip()


def _told(bound: BoundField, stands: str | list[str]) -> str:
    """Return what is said at a field that both changed."""
    now = _in_words(bound, stands)
    return str(CHANGED).format(now=now) if now else str(EMPTIED)


def _in_words(bound: BoundField, stands: str | list[str]) -> str:
    choices = getattr(bound.field, "choices", None)
    if choices is not None:
        chosen = stands if isinstance(stands, list) else [stands]
        return ", ".join(str(label) for key, label in choices if str(key) in chosen)
    if isinstance(bound.initial, dt.date):
        return date_format(bound.initial, "D M j, Y")
    return str(stands).strip()


def _name_of(bound: BoundField) -> str:
    """Return what a field is called, its line named where it stands in one of several."""
    return str(bound.field.widget.attrs.get("aria-label") or bound.label)
