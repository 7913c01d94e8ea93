"""Puts the fields of a fence system's figures, posts, materials and labour into its form."""

import re
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from estimating.engine.fields import LONGEST_SHOWN
from estimating.forms.figure_fields import LEAST_IN, Figure
from estimating.forms.system_figures import (
    MATERIAL_FIGURES,
    POST_FIGURES,
    QUANTITY,
    SECTIONS,
    default_of,
)
from estimating.selectors.system_words import (
    ACTIVITIES,
    DRIVERS,
    ROLES,
    longer_words,
    rate_choices,
)
from firm.forms.fields import LengthField
from firm.selectors.profile import firm_units
from firm.validators import plain_text

BLANK_ROWS = 2
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


def field_name(path: str) -> str:
    """Return the form's name for a path: hole.gravel_in as hole-gravel_in."""
    steps = re.findall(r"\w+", path)
    return "-".join(steps if len(steps) > 1 else ["top", *steps])


def path_of(name: str) -> tuple[str | int, ...]:
    """Return where the definition keeps a field of the form."""
    steps = name.removeprefix("top-").split("-")
    return tuple(int(step) if step.isdigit() else step for step in steps)


def add_figures(form: Any) -> None:
    """Add the figures of the whole fence, its holes, gates and wind."""
    for section in SECTIONS:
        part: Any = form.base
        for step in section.part.split("-") if section.part else ():
            part = part.get(step) if isinstance(part, dict) else None
        kept = part if isinstance(part, dict) else {}
        is_there = bool(kept) or section.part not in ("wind", "gate-slide")
        for figure in section.figures:
            default = default_of(section.part, figure.name) if is_there else None
            name = f"{section.part or 'top'}-{figure.name}"
            form.fields[name] = made_field(figure, kept.get(figure.name, default))


def made_field(figure: Figure, initial: Any) -> forms.Field:
    """Return the field of a figure, with what an empty one means in its help."""
    help_text = figure.help
    if figure.blank and figure.blank != "-":
        help_text = f"{help_text} Empty: {figure.blank}.".strip()
    return figure.make(
        label=figure.label, help_text=help_text, required=not figure.blank, initial=_plain(initial)
    )


def _plain(value: Any) -> Any:
    """Return a number as people write it: 3 and not 3.0."""
    is_whole = isinstance(value, float) and value.is_integer()
    return int(value) if is_whole else value


def add_posts(form: Any, base: Mapping[str, Any], names: Mapping[str, str]) -> None:
    """Add what stands in each role; a role without a product takes the end post's."""
    posts = base.get("posts") or {}
    for role in ROLES:
        post = posts.get(role) or {}
        start = f"posts-{role}-"
        is_end = role == "end"
        form.fields[f"{start}item"] = ItemField(
            names=names,
            label="Item",
            required=is_end,
            initial=post.get("item"),
            help_text="" if is_end else "Empty: as the end post.",
        )
        for figure in POST_FIGURES:
            form.fields[f"{start}{figure.name}"] = made_field(figure, post.get(figure.name))
        form.fields[f"{start}longer"] = LongerField(
            names=names,
            label="Longer ones, for deeper holes",
            required=False,
            initial=post.get("longer"),
            help_text="One a line: name, colon, length.",
        )


def add_materials(form: Any, base: Mapping[str, Any], names: Mapping[str, str]) -> None:
    """Add a row for each item, and some more to fill."""
    rows = base.get("materials") or []
    for number, row in enumerate([*rows, *({} for _ in range(BLANK_ROWS))]):
        start = f"materials-{number}-"
        is_kept = number < len(rows)
        form.fields[f"{start}item"] = ItemField(
            names=names, label="Item", required=is_kept, initial=row.get("item")
        )
        quantity = replace(QUANTITY, blank="") if is_kept else QUANTITY
        form.fields[f"{start}quantity"] = made_field(
            quantity, row.get("quantity", 1) if row else None
        )
        form.fields[f"{start}driver"] = forms.ChoiceField(
            label="For",
            choices=[("", "-"), *DRIVERS.items()],
            required=is_kept,
            initial=row.get("driver"),
        )
        for figure in MATERIAL_FIGURES:
            form.fields[f"{start}{figure.name}"] = made_field(figure, row.get(figure.name))
        if is_kept:
            form.fields[f"{start}drop"] = forms.BooleanField(
                label="Leave this item out", required=False
            )


def add_labor(form: Any, base: Mapping[str, Any], rates: set[str]) -> None:
    """Add the production rate of each phase."""
    labor = base.get("labor") or {}
    choices = rate_choices(rates | {str(rate) for rate in labor.values()})
    for activity, label in ACTIVITIES.items():
        form.fields[f"labor-{activity}"] = forms.ChoiceField(
            label=label, choices=choices, required=False, initial=labor.get(activity)
        )
