"""Fields of a fence system's items: how many of each, how it is cut, where it counts."""

import re
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from django import forms

from estimating.forms.figure_fields import (
    LEAST_IN,
    Figure,
    choice_of,
    feet_of,
    flag,
    length_of,
    measured,
    number_of,
)
from estimating.forms.item_fields import ItemField, SomeOfField, Words
from estimating.forms.system_rows import made_field
from estimating.selectors import system_words as words
from estimating.selectors.by_foot import for_one, shown_for_one
from firm.measure import loads
from firm.selectors.profile import firm_units

BLANK_ROWS = 2
LIMITS: tuple[tuple[str, str, Words, str], ...] = (
    ("roles", "Only at", words.PLACES_OF_ITEMS, "any post"),
    ("leaves", "Only for gates of", words.LEAVES, "one or two leaves"),
    ("uses", "Only for these uses", words.USES, "gates of any use"),
    ("kinds", "Only for gates that", words.KINDS, "gates that swing"),
    ("gate_posts", "Only at gate posts", words.SIZES, "every size but a slide gate's"),
)
MATERIAL_FIGURES = (
    Figure(
        name="less",
        label="... less, each time",
        make=number_of(1e6),
        blank="0",
        help="4 bands of a fence of 5 ft are each foot of height, less 1.",
    ),
    Figure(name="usable_ft", label="One piece covers", make=feet_of(low=LEAST_IN), blank="-"),
    Figure(name="extra_ft", label="More for each section", make=feet_of(), blank="none"),
    Figure(name="width_in", label="Width of one", make=length_of(120), blank="-"),
    Figure(name="overlap_in", label="Lapped by", make=length_of(120), blank="-"),
    Figure(name="gap_in", label="Gap between", make=length_of(120), blank="-"),
    Figure(
        name="cut",
        label="It is cut",
        make=choice_of(words.CUTS),
        blank="bought as it is",
        help="What is cut stands on the saw list.",
    ),
    Figure(name="piece_in", label="... to pieces of", make=length_of(1200), blank="-"),
    Figure(
        name="kerf_in",
        label="The saw takes",
        make=length_of(12),
        blank="as the firm's saw",
        help="0 for what is clipped.",
    ),
    Figure(
        name="offcut_serves",
        label="The rest of a panel may fill a shorter bay",
        make=flag,
    ),
    Figure(
        name="hung", label="Each piece is hung by itself", make=flag, help="Its hours are by piece."
    ),
    Figure(
        name="infill",
        label="It is part of the infill",
        make=flag,
        help="Left out where only posts are set.",
    ),
    Figure(
        name="reach",
        label="A stiffener goes down its post",
        make=choice_of(words.REACHES),
        blank="no stiffener of a post",
    ),
    Figure(
        name="section_in2",
        label="... and its metal is, {unit}",
        make=measured(loads.AREA, 400),
        help="What it takes of the concrete.",
        blank="not counted",
    ),
    Figure(name="stiffens", label="It stiffens", make=choice_of(words.STIFFENS), blank="no rail"),
)
QUANTITY = Figure(name="quantity", label="How many", make=number_of(1e6), blank="1")


def add_materials(form: Any, base: Mapping[str, Any], names: Mapping[str, str]) -> None:
    """Add a row for each item, and some more to fill."""
    rows = base.get("materials") or []
    units = firm_units()
    drivers = [("", "-"), *((key, words.driver_words(key, units)) for key in words.DRIVERS)]
    for number, row in enumerate([*rows, *({} for _ in range(BLANK_ROWS))]):
        start = f"materials-{number}-"
        is_kept = number < len(rows)
        form.fields[f"{start}item"] = ItemField(
            names=names, label="Item", required=is_kept, initial=row.get("item")
        )
        quantity = replace(QUANTITY, blank="") if is_kept else QUANTITY
        form.fields[f"{start}quantity"] = made_field(
            quantity,
            shown_for_one(row.get("quantity", 1), _kept_in_one(form, row)) if row else None,
        )
        form.fields[f"{start}driver"] = forms.ChoiceField(
            label="For",
            choices=drivers,
            required=is_kept,
            initial=row.get("driver"),
        )
        for figure in MATERIAL_FIGURES:
            form.fields[f"{start}{figure.name}"] = made_field(figure, row.get(figure.name))
        others = row.get("other_lengths") or []
        for place, item in enumerate([*others, None]):
            form.fields[f"{start}other_lengths-{place}"] = ItemField(
                names=names,
                label="... or cut from" if place == 0 else "... or from",
                required=False,
                initial=item,
                help_text="" if place else "The same in another length.",
            )
        if is_kept:
            form.fields[f"{start}drop"] = forms.BooleanField(
                label="Leave this item out", required=False
            )


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


def _kept_in_one(form: Any, row: Mapping[str, Any]) -> float:
    is_length = row.get("item") in form.in_feet
    return for_one(str(row.get("driver", "")), firm_units(), is_length=is_length)


def counted_for_a_foot(form: Any) -> list[str]:
    """Turn counts typed for a metre into those kept; return what is to be laid over for that.

    A count that stands while its item goes from the piece to the metre is another one to keep.
    """
    rows, also = form.base.get("materials") or [], []
    names = [name for name in form.fields if re.fullmatch(r"materials-\d+-quantity", name)]
    for number, name in enumerate(names):
        typed, start = form.cleaned_data.get(name), name.removesuffix("quantity")
        each = {key: form.cleaned_data.get(f"{start}{key}") for key in ("item", "driver")}
        was = _kept_in_one(form, rows[number]) if number < len(rows) else 1.0
        now = _kept_in_one(form, each)
        if typed is None or (name not in form.changed_data and was == now):
            continue
        form.cleaned_data[name] = typed * now
        if name not in form.changed_data:
            also.append(name)
    return also


def without_struck(made: dict[str, Any], form: Any) -> None:
    """Leave out items that were struck, and other lengths that were emptied."""
    rows = made.get("materials")
    if not isinstance(rows, list):
        return
    for number, row in enumerate(rows):
        others = row.get("other_lengths") if isinstance(row, dict) else None
        start = f"materials-{number}-other_lengths-"
        if isinstance(others, list) and any(name.startswith(start) for name in form.changed_data):
            row["other_lengths"] = [each for each in others if each]
            if not row["other_lengths"]:
                del row["other_lengths"]
    made["materials"] = [
        row
        for number, row in enumerate(rows)
        if row and not form.cleaned_data.get(f"materials-{number}-drop")
    ]
