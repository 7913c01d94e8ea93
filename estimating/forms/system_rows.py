"""Puts the fields of a fence system's figures and labour into its form."""

import re
from collections.abc import Mapping
from typing import Any

from django import forms

from estimating.forms.figure_fields import Figure
from estimating.forms.system_figures import SECTIONS, default_of
from estimating.selectors.system_words import ACTIVITIES, in_metric_words, rate_choices
from firm.selectors.profile import firm_units


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
        is_there = bool(kept) or section.part not in ("wind", "barrier", "gate-slide")
        for figure in section.figures:
            default = default_of(section.part, figure.name) if is_there else None
            name = f"{section.part or 'top'}-{figure.name}"
            form.fields[name] = made_field(figure, kept.get(figure.name, default))


def made_field(figure: Figure, initial: Any) -> forms.Field:
    """Return the field of a figure; its help or first choice says what an empty one means."""
    field = figure.make(
        label=in_metric_words(figure.name, figure.label, firm_units()),
        help_text=in_metric_words(f"{figure.name} help", figure.help, firm_units()),
        required=not figure.blank,
        initial=_plain(initial),
    )
    if not figure.blank or figure.blank == "-":
        return field
    if isinstance(field.widget, forms.Select):
        kept = [choice for choice in field.widget.choices if choice[0] != ""]
        field.choices = [("", figure.blank.capitalize()), *kept]  # type: ignore[attr-defined]
    else:
        field.help_text = f"{field.help_text} Empty: {figure.blank}.".strip()
    return field


def _plain(value: Any) -> Any:
    """Return a number as people write it: 3 and not 3.0."""
    is_whole = isinstance(value, float) and value.is_integer()
    return int(value) if is_whole else value


def add_labor(form: Any, base: Mapping[str, Any], rates: set[str]) -> None:
    """Add the production rate of each phase."""
    labor = base.get("labor") or {}
    choices = rate_choices(rates | {str(rate) for rate in labor.values()})
    for activity, label in ACTIVITIES.items():
        form.fields[f"labor-{activity}"] = forms.ChoiceField(
            label=in_metric_words(activity, label, firm_units()),
            choices=choices,
            required=False,
            initial=labor.get(activity),
        )
