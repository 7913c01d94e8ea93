"""Fields that name items of the price book, and fields for several of some words."""

from collections.abc import Mapping
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from estimating.engine.fields import LONGEST_SHOWN
from estimating.forms.figure_fields import LEAST_IN
from estimating.selectors.system_words import longer_words
from firm.forms.fields import LengthField
from firm.selectors.profile import firm_units
from firm.validators import plain_text

Words = Mapping[Any, str]
ITEMS = "price-book-items"
LONGEST_NAME = 200


class ItemField(forms.CharField):
    """An item of the price book, typed or picked by its name, kept by its short name."""

    def __init__(self, *, names: Mapping[str, str], **kwargs: Any) -> None:
        widget = forms.TextInput(attrs={"list": ITEMS, "autocomplete": "off"})
        super().__init__(widget=widget, max_length=LONGEST_NAME, **kwargs)
        self.names = names
        self.validators = [*self.validators, plain_text]

    def prepare_value(self, value: Any) -> Any:
        """Show an item's name; what was typed stays as it was typed."""
        return self.names.get(value, value)

    def clean(self, value: Any) -> Any:
        """Return the item's short name."""
        text = super().clean(value)
        return item_key(text, self.names) if text else None

    def has_changed(self, initial: Any, data: Any) -> bool:
        """Compare what is shown."""
        return super().has_changed(self.prepare_value(initial), data)


class LongerField(forms.CharField):
    """The same post in greater lengths, one a line: its name, a colon, its length."""

    def __init__(self, *, names: Mapping[str, str], **kwargs: Any) -> None:
        super().__init__(widget=forms.Textarea(attrs={"rows": 3}), max_length=4000, **kwargs)
        self.names = names

    def prepare_value(self, value: Any) -> Any:
        """Show each in a line of its own."""
        is_kept = isinstance(value, dict)
        return longer_words(value, dict(self.names), firm_units()) if is_kept else value

    def clean(self, value: Any) -> Any:
        """Return the lengths by item."""
        length = LengthField(is_short=True, min_in=LEAST_IN, max_in=600)
        found: dict[str, float] = {}
        for line in (super().clean(value) or "").splitlines():
            name, colon, text = line.rpartition(":")
            if not line.strip():
                continue
            if not colon or not name.strip():
                raise ValidationError(
                    f"'{line.strip()[:LONGEST_SHOWN]}' needs a name, a colon and a length."
                )
            found[item_key(name.strip(), self.names)] = length.clean(text)
        return found or None

    def has_changed(self, initial: Any, data: Any) -> bool:
        """Compare what is shown, however the browser ends its lines."""
        shown = self.prepare_value(initial) or ""
        return bool(shown.split() != str(data or "").split())


def item_key(text: str, names: Mapping[str, str]) -> str:
    """Return the short name of the item that a text names.

    Raises:
        ValidationError: the price book has none of this name, or several.
    """
    if text in names:
        return text
    keys = [key for key, name in names.items() if name.casefold() == text.casefold()]
    if len(keys) == 1:
        return keys[0]
    if keys:
        raise ValidationError(f"Several items have this name: type {' or '.join(keys)}.")
    raise ValidationError(
        f"The price book has no item '{text[:LONGEST_SHOWN]}'. Add it there first."
    )


class SomeOfField(forms.CharField):
    """Several of some words with commas between; kept as a list of their short names.

    With `is_open` a word that has no short name is kept as it is typed.
    """

    def __init__(self, *, words: Words, is_open: bool = False, **kwargs: Any) -> None:
        super().__init__(max_length=400, **kwargs)
        self.words = words
        self.is_open = is_open
        self.validators = [*self.validators, plain_text]

    def prepare_value(self, value: Any) -> Any:
        """Show a kept list in words; what was typed stays as it was typed."""
        is_kept = isinstance(value, list | tuple)
        return ", ".join(self.words.get(each, str(each)) for each in value) if is_kept else value

    def clean(self, value: Any) -> Any:
        """Return the list, or None for an empty field."""
        text = super().clean(value) or ""
        return [self._kept(each.strip()) for each in text.split(",") if each.strip()] or None

    def _kept(self, typed: str) -> Any:
        for key, said in self.words.items():
            if typed.casefold() in (said.casefold(), str(key).casefold()):
                return key
        if self.is_open:
            return typed
        raise ValidationError(
            f"'{typed[:LONGEST_SHOWN]}' is none of these: {', '.join(self.words.values())}."
        )

    def has_changed(self, initial: Any, data: Any) -> bool:
        """Compare what is shown."""
        return super().has_changed(self.prepare_value(initial) or "", data)
