"""Fields of a fence system's posts: in each role, for heavier gates, and how strong they are."""

from collections.abc import Mapping
from typing import Any

from django import forms

from estimating.forms.figure_fields import (
    LEAST_IN,
    Figure,
    choice_of,
    flag,
    length_of,
    measured,
    number_of,
    wall,
)
from estimating.forms.item_fields import ItemField, LongerField
from estimating.forms.system_rows import made_field
from estimating.selectors import system_words as words
from firm.measure import loads
from firm.validators import plain_text

BLANK_GATE_POSTS = 1
POST_FIGURES = (
    Figure(name="width_in", label="Width", make=length_of(48, low=LEAST_IN), blank="-"),
    Figure(name="length_in", label="Length", make=length_of(600, low=LEAST_IN), blank="-"),
    Figure(
        name="hole_diameter_in",
        label="Hole across",
        make=length_of(120, low=LEAST_IN),
        blank="by its width",
    ),
    Figure(name="least_depth_in", label="Depth it asks for", make=length_of(240), blank="none"),
    Figure(name="shape", label="Shape", make=choice_of(words.SHAPES), blank="square"),
    Figure(name="wall_in", label="Wall, {unit}", make=wall, blank="not known"),
    Figure(
        name="setting",
        label="How it is set",
        make=choice_of(words.SETTINGS),
        blank="as the other posts",
    ),
    *(
        Figure(
            name=f"displaces-{setting}",
            label=label,
            make=choice_of(words.TAKES_UP),
            blank="nothing",
        )
        for setting, label in words.IN_CONCRETE.items()
    ),
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
        label="... and up to a weight of, {unit}",
        make=measured(loads.WEIGHT, 10_000, low=0.1),
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
        label="Timber: bending stress of its grade, {unit}",
        make=measured(loads.STRESS, 20_000),
        blank="not known",
    ),
    Figure(name="size_factor", label="... its size factor", make=number_of(3, low=0.01), blank="1"),
    Figure(name="is_incised", label="... is it incised", make=flag),
    Figure(name="wall_in", label="Steel: wall, {unit}", make=wall, blank="not known"),
    Figure(
        name="yield_psi",
        label="... its yield, {unit}",
        make=measured(loads.STRESS, 200_000),
        blank="not known",
    ),
    Figure(
        name="insert", label="Vinyl: stiffener inside", make=choice_of(words.INSERTS), blank="none"
    ),
    Figure(
        name="insert_section_in3",
        label="... its section modulus, {unit}",
        make=measured(loads.SECTION, 1000),
        blank="not known",
    ),
    Figure(
        name="insert_yield_psi",
        label="... its yield, {unit}",
        make=measured(loads.STRESS, 200_000),
        blank="not known",
    ),
)


def add_posts(form: Any, base: Mapping[str, Any], names: Mapping[str, str]) -> None:
    """Add what stands in each role; a role without a product takes the end post's."""
    posts = base.get("posts") or {}
    for role in words.ROLES:
        is_end = role == "end"
        _add_post(form, f"posts-{role}-", posts.get(role) or {}, names, is_needed=is_end)
        if not is_end:
            form.fields[f"posts-{role}-item"].help_text = "Empty: as the end post."


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


def _add_post(
    form: Any,
    start: str,
    post: Mapping[str, Any],
    names: Mapping[str, str],
    *,
    is_needed: bool = False,
) -> None:
    form.fields[f"{start}item"] = ItemField(
        names=names, label="Item", required=is_needed, initial=post.get("item")
    )
    for figure in POST_FIGURES:
        part, _, name = figure.name.rpartition("-")
        kept = (post.get(part) or {}) if part else post
        form.fields[f"{start}{figure.name}"] = made_field(figure, kept.get(name))
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
