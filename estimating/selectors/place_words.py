"""Says in words where in a document something stands: the engine's paths are for files.

This is the one place where pages turn `lines[3].legs[0].length_in` into "Line 4, leg 1: length".
"""

import re
from collections.abc import Mapping, Sequence
from typing import Any

from estimating.selectors.rates import rate_label
from estimating.selectors.system_facts import LABELS
from estimating.selectors.system_words import ACTIVITIES, ROLES

TOPS = "lines|typed_lines|overrides|fence_systems|prices|rates|conditions|rules"
PATH = re.compile(rf"(?<![\w.'])(?:{TOPS})(?:\[\d+\]|\.\w+(?:-\w+)*)+")
STEP = re.compile(r"(\w+(?:-\w+)*)(?:\[(\d+)\])?")
LISTS = {
    "lines": "line",
    "typed_lines": "typed line",
    "overrides": "figure set by hand",
    "legs": "leg",
    "points": "corner",
    "gates": "gate",
    "ground": "ground shot",
    "bay_pins": "bay set by hand",
    "no_dig": "utility mark",
    "fixed_points": "fixed point",
    "materials": "material",
    "heavier_posts": "heavier gate post",
}
FIELDS = {
    "turn_deg": "turn",
    "crossing_deg": "angle",
    "clear_opening_in": "opening",
    "facility_width_in": "width of the facility",
    "conditions": "conditions",
    "hole": "holes",
    "gate": "gates",
    "posts": "posts",
    "unit_cost": "price",
}
UNIT = re.compile(r"_(in|ft|deg|pct|ft2|ft3|lb|mph|min|f)$")


def in_words(text: str, names: Sequence[str] = ()) -> str:
    """Return a sentence with every path in words; `names` are those of the lines in their order."""
    said = PATH.sub(lambda match: _place(match[0], names), text)
    return said[:1].upper() + said[1:]


def line_names(document: Mapping[str, Any]) -> list[str]:
    """Return what the lines of a document are called, in their order."""
    lines = document.get("lines")
    return [
        str(line.get("name") or line.get("id") or "") if isinstance(line, Mapping) else ""
        for line in (lines if isinstance(lines, list) else [])
    ]


def at_its_field(message: str, path: str) -> str:
    """Return a refusal as it reads beside the field it means, without the field's place."""
    reason = message.removeprefix(path).removeprefix(":").strip() if path else message
    return f"This {reason}" if reason != message and reason[:1].islower() else in_words(reason)


def _place(path: str, names: Sequence[str]) -> str:
    top, _, rest = path.partition(".")
    if top == "rates":
        kind, _, key = rest.partition(".")
        return f"the production rate \u201c{rate_label(key, kind)}\u201d" if key else "the rates"
    holders: list[str] = []
    value = ""
    steps = STEP.findall(path)
    if top in ("fence_systems", "prices"):
        what = "fence system" if top == "fence_systems" else "price of"
        holders.append(f"{what} '{steps[1][0]}'")
        steps = steps[2:]
    for name, index in steps:
        if value:
            holders.append(value)
        value = "" if index else _field(name)
        if index:
            holders.append(_numbered(name, int(index), names))
    where = ", ".join(holders)
    return ": ".join(part for part in (where, value) if part)


def _numbered(name: str, index: int, names: Sequence[str]) -> str:
    if name == "lines" and index < len(names) and names[index]:
        return f"line '{names[index]}'"
    return f"{LISTS.get(name, _field(name))} {index + 1}"


def _field(name: str) -> str:
    known = FIELDS.get(name) or ROLES.get(name) or ACTIVITIES.get(name) or LABELS.get(name)
    plain = known or UNIT.sub("", name).replace("_", " ")
    return plain[:1].lower() + plain[1:]
