"""Lays the fields that were changed over a fence system's definition."""

import copy
from collections.abc import Sequence
from itertools import pairwise
from typing import Any

from django import forms

from estimating.forms.system_materials import counted_for_a_foot, without_struck
from estimating.forms.system_posts import without_emptied
from estimating.forms.system_rows import path_of

CHANGED_TWICE = "This was changed here and in the text below. Change it in one place."
Path = Sequence[str | int]


def value_at(definition: Any, path: Path) -> Any:
    """Return what stands at a path, None where nothing does."""
    for step in path:
        if isinstance(step, int):
            fits = isinstance(definition, list) and step < len(definition)
            definition = definition[step] if fits else None
        else:
            definition = definition.get(step) if isinstance(definition, dict) else None
    return definition


def laid_over(form: Any, text: dict[str, Any]) -> tuple[dict[str, Any], list[str]]:
    """Return the definition with the changed fields in it, and the fields the text contradicts."""
    made = copy.deepcopy(text)
    twice: list[str] = []
    also = counted_for_a_foot(form)
    changed = [name for name in form.changed_data if "-" in name and name in form.cleaned_data]
    changed += also
    if any(name.startswith("materials-") for name in changed) and (
        text.get("materials") != form.base.get("materials")
    ):
        first = next(name for name in changed if name.startswith("materials-"))
        return made, [first]
    for name in changed:
        path, value = path_of(name), form.cleaned_data[name]
        if path[-1] == "drop":
            continue
        in_text = value_at(text, path)
        if in_text != value_at(form.base, path) and in_text != value:
            twice.append(name)
            continue
        _put(made, path, value)
    _tidy(form, made)
    return made, twice


def _put(definition: dict[str, Any], path: Path, value: Any) -> None:
    """Set the value at a path, or take it away where it was emptied."""
    holder: Any = definition
    for step, following in pairwise(path):
        holder = _step_into(holder, step, [] if isinstance(following, int) else {})
        if holder is None:
            return
    last = path[-1]
    if isinstance(holder, list) and isinstance(last, int):
        holder.extend(None for _ in range(last + 1 - len(holder)))
        holder[last] = value
    if not isinstance(holder, dict):
        return
    if value is None or value == "":
        holder.pop(last, None)
    else:
        holder[last] = value


def _step_into(holder: Any, step: str | int, fresh: Any) -> Any:
    """Return what stands under a step, made where it is missing."""
    if isinstance(holder, list) and isinstance(step, int):
        holder.extend({} for _ in range(step + 1 - len(holder)))
        return holder[step]
    if isinstance(holder, dict):
        if holder.get(step) is None:
            holder[step] = fresh
        return holder[step]
    return None


def _tidy(form: forms.Form, made: dict[str, Any]) -> None:
    """Leave out what was emptied or struck: rows, roles, a check against wind or of a pool."""
    without_struck(made, form)
    posts = made.get("posts")
    if isinstance(posts, dict):
        for role in [role for role in posts if f"posts-{role}-item" in form.changed_data]:
            if not form.cleaned_data.get(f"posts-{role}-item"):
                del posts[role]
    for part, first in (("wind", "wind-solidity"), ("barrier", "barrier-infill")):
        if first in form.changed_data and not form.cleaned_data.get(first):
            made.pop(part, None)
    without_emptied(made, form)
