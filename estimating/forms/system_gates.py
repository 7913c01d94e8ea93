"""Fields of what carries a gate, of how strong posts are, and of where an item alone counts."""

from collections.abc import Mapping
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from estimating.engine.fields import LONGEST_SHOWN
from estimating.forms.figure_fields import (
    LEAST_IN,
    Figure,
    choice_of,
    flag,
    length_of,
    number_of,
    wall,
)
from estimating.forms.system_figures import POST_FIGURES
from estimating.forms.system_rows import ItemField, LongerField, made_field
from estimating.selectors import system_words as words
from firm.validators import plain_text

Words = Mapping[Any, str]
BLANK_GATE_POSTS = 1
LIMITS: tuple[tuple[str, str, Words, str], ...] = (
    ("roles", "Only for", words.PLACES_OF_ITEMS, "any post"),
    ("leaves", "Only for gates of", words.LEAVES, "one or two leaves"),
    ("uses", "Only for", words.USES, "gates of any use"),
    ("kinds", "Only for gates that", words.KINDS, "gates that swing"),
    ("gate_posts", "Only at gate posts", words.SIZES, "every size but a slide gate's"),
)


GATE_POST_LIMITS = (
    Figure(
        name="up_to_leaf_in",
        label="Enough for a leaf up to",
        make=length_of(600, low=LEAST_IN),
        blank="-",
    ),
    Figure(
        name="up_to_leaf_lb",
        label="... and up to a weight of, lb",
        make=number_of(10_000, low=0.1),
        blank="any weight",
    ),
)
STRENGTH_FIGURES = (
    Figure(
        name="material",
        label="It is of",
        make=choice_of(words.MATERIALS_OF_POSTS),
        blank="not known",
    ),
    Figure(
        name="bending_psi",
        label="Timber: bending stress of its grade, psi",
        make=number_of(20_000),
        blank="not known",
    ),
    Figure(name="size_factor", label="... its size factor", make=number_of(3, low=0.01), blank="1"),
    Figure(name="is_incised", label="... is it incised", make=flag, blank="-"),
    Figure(name="wall_in", label="Steel: wall", make=wall, blank="not known"),
    Figure(
        name="yield_psi", label="... its yield, psi", make=number_of(200_000), blank="not known"
    ),
    Figure(
        name="insert", label="Vinyl: stiffener inside", make=choice_of(words.INSERTS), blank="none"
    ),
    Figure(
        name="insert_section_in3",
        label="... its section modulus, in\N{SUPERSCRIPT THREE}",
        make=number_of(1000),
        blank="not known",
    ),
    Figure(
        name="insert_yield_psi",
        label="... its yield, psi",
        make=number_of(200_000),
        blank="not known",
    ),
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


def add_limits(form: Any, base: Mapping[str, Any]) -> None:
    """Add to each item the fields that say where alone it counts."""
    rows = base.get("materials") or []
    number = 0
    while f"materials-{number}-item" in form.fields:
        row = rows[number] if number < len(rows) else {}
        for name, label, each, blank in LIMITS:
            form.fields[f"materials-{number}-{name}"] = SomeOfField(
                words=each,
                is_open=name == "gate_posts",
                label=label,
                required=False,
                initial=row.get(name),
                help_text=f"With commas: {', '.join(each.values())}. Empty: {blank}.",
            )
        number += 1


def add_gate_posts(form: Any, base: Mapping[str, Any], names: Mapping[str, str]) -> None:
    """Add a row for each heavier gate post and one more to fill, and the slide gate's post."""
    gate = base.get("gate") or {}
    rows = gate.get("heavier_posts") or []
    for number, row in enumerate([*rows, *({} for _ in range(BLANK_GATE_POSTS))]):
        start = f"gate-heavier_posts-{number}-"
        is_kept = number < len(rows)
        form.fields[f"{start}key"] = forms.CharField(
            label="Short name",
            max_length=40,
            required=is_kept,
            initial=row.get("key"),
            help_text="Items name it where they count at this post alone.",
            validators=[plain_text],
        )
        for figure in GATE_POST_LIMITS:
            form.fields[f"{start}{figure.name}"] = made_field(figure, row.get(figure.name))
        _add_post(form, f"{start}post-", row.get("post") or {}, names)
        _add_strength(form, f"{start}strength-", row.get("strength") or {})
        if is_kept:
            form.fields[f"{start}drop"] = forms.BooleanField(
                label="Leave this post out", required=False
            )
    _add_post(form, "gate-slide-post-", (gate.get("slide") or {}).get("post") or {}, names)


def add_strengths(form: Any, base: Mapping[str, Any]) -> None:
    """Add what is known of the strength of the post in each role."""
    posts = (base.get("wind") or {}).get("posts") or {}
    for role in words.ROLES:
        _add_strength(form, f"wind-posts-{role}-", posts.get(role) or {})


def _add_post(form: Any, start: str, post: Mapping[str, Any], names: Mapping[str, str]) -> None:
    form.fields[f"{start}item"] = ItemField(
        names=names, label="Item", required=False, initial=post.get("item")
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


def _add_strength(form: Any, start: str, strength: Mapping[str, Any]) -> None:
    for figure in STRENGTH_FIGURES:
        form.fields[f"{start}{figure.name}"] = made_field(figure, strength.get(figure.name))


def without_emptied(made: dict[str, Any], form: Any) -> None:
    """Leave out heavier posts that were struck, and strengths whose material was emptied."""
    gate = made.get("gate")
    rows = gate.get("heavier_posts") if isinstance(gate, dict) else None
    if isinstance(gate, dict) and isinstance(rows, list):
        for number, row in enumerate(rows):
            _drop_emptied(row, "strength", form, f"gate-heavier_posts-{number}-strength")
        kept = [
            row
            for number, row in enumerate(rows)
            if row and not form.cleaned_data.get(f"gate-heavier_posts-{number}-drop")
        ]
        gate["heavier_posts"] = kept
        if not kept and "heavier_posts" not in (form.base.get("gate") or {}):
            del gate["heavier_posts"]
    wind = made.get("wind")
    posts = wind.get("posts") if isinstance(wind, dict) else None
    if isinstance(posts, dict):
        for role in list(posts):
            _drop_emptied(posts, role, form, f"wind-posts-{role}")


def _drop_emptied(holder: Any, key: str, form: Any, start: str) -> None:
    """Take a strength away whose material was emptied; one that never had any is refused."""
    name = f"{start}-material"
    is_emptied = name in form.changed_data and not form.cleaned_data.get(name)
    if is_emptied and isinstance(holder, dict):
        holder.pop(key, None)
