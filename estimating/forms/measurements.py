"""The form of a measured site: one page for the whole document."""

import re
from dataclasses import dataclass, field
from typing import Any

from django import forms
from django.forms.boundfield import BoundField

from estimating.engine.errors import EngineError
from estimating.forms.measure_conditions import ConditionsForm, HeadForm
from estimating.forms.measure_places import PLACE, placed
from estimating.forms.measure_rows import (
    BayPinForm,
    FixedPointForm,
    GateForm,
    GroundForm,
    LegForm,
    LineForm,
    NoDigForm,
    PointForm,
    RowForm,
)
from estimating.selectors.place_words import at_its_field, in_words

ROWS: dict[str, type[RowForm]] = {
    "legs": LegForm,
    "points": PointForm,
    "gates": GateForm,
    "ground": GroundForm,
    "bay_pins": BayPinForm,
    "no_dig": NoDigForm,
    "fixed_points": FixedPointForm,
}
# kind: heading, what the button adds, help
GROUPS = {
    "legs": ("Legs", "a leg", "From corner to corner. A turn to the right is plus, left minus."),
    "points": (
        "Coordinates instead of legs",
        "a corner",
        "Two corners or more, each east and north of one point of your choice.",
    ),
    "gates": ("Gates", "a gate", "Where the clear opening begins along the line, and its width."),
    "ground": (
        "Ground shots",
        "a shot",
        "Heights of the ground along the line against any one level, up is plus.",
    ),
    "bay_pins": (
        "Bays set by hand",
        "a bay",
        "How bays meet their ground is worked out. Name a place in a bay to decide it yourself.",
    ),
    "no_dig": (
        "Utility marks",
        "a mark",
        "Lines and pipes that cross the fence. No post is dug by machine in their zone.",
    ),
    "fixed_points": (
        "Trees, drains and standing posts",
        "a fixed point",
        "What stands in the line already: posts keep off it, or the fence hangs on it.",
    ),
}
PATH = re.compile(r"^lines\[(\d+)\](?:\.(.*))?$")
ROW_PATH = re.compile(
    r"^(legs|points|gates|ground|bay_pins|no_dig|fixed_points)(?:\[(\d+)\])?(?:\.(\w+))?$"
)


@dataclass(frozen=True, kw_only=True, slots=True)
class RowGroup:
    """The rows of one kind with the words around them."""

    kind: str
    heading: str
    adds: str
    help: str
    rows: list[RowForm]
    target: str
    is_open: bool

    @property
    def row_word(self) -> str:
        """What one row is called, such as Leg."""
        return self.adds.partition(" ")[2].capitalize()


@dataclass(slots=True)
class LineForms:
    """One line: its own form and its rows by kind."""

    form: LineForm
    rows: dict[str, list[RowForm]]
    prefix: str
    number: int

    @property
    def mark(self) -> str:
        """The letter a line is called by."""
        return str(self.form["id"].value() or letter(self.number - 1))

    @property
    def groups(self) -> list[RowGroup]:
        """The rows of this line, kind by kind; those in use stand open."""
        return [
            RowGroup(
                kind=kind,
                heading=heading,
                adds=adds,
                help=help_text,
                rows=self.rows[kind],
                target=f"{self.prefix}-{kind}",
                is_open=kind == "legs" or bool(self.rows[kind]),
            )
            for kind, (heading, adds, help_text) in GROUPS.items()
        ]

    def _fields(self, *names: str) -> list[BoundField]:
        return [self.form[name] for name in names]

    @property
    def head_fields(self) -> list[BoundField]:
        """What every line is asked."""
        return self._fields(
            "name",
            "system",
            "scope",
            "yard",
            "finished_face",
            "taped",
            "division",
            "rail_stiffener",
            "old_footings",
        )

    @property
    def start_fields(self) -> list[BoundField]:
        """How the line starts."""
        return self._fields(
            "start_kind", "start_measured_at", "start_shared_line", "start_shared_at"
        )

    @property
    def end_fields(self) -> list[BoundField]:
        """How the line ends."""
        return self._fields("end_kind", "end_measured_at", "end_shared_line", "end_shared_at")

    @property
    def place_fields(self) -> list[BoundField]:
        """Where the line stands on the plan."""
        return self._fields("start_x_in", "start_y_in", "bearing_deg")

    @property
    def place_in_use(self) -> bool:
        """Whether ends or place were changed from what a plain line has, or need another look."""
        plain = {"start_kind": "post", "end_kind": "post", "bearing_deg": "90", "closed": "False"}
        plain |= {"start_measured_at": "post_centre", "end_measured_at": "post_centre"}
        has_errors = any(name in self.form.errors for name in self.form.fields if name != "system")
        return has_errors or any(
            str(self.form[name].value() or value).removesuffix(".0") != value
            for name, value in plain.items()
        )

    def filled(self, kind: str) -> list[RowForm]:
        """Return the rows of a kind in which something was typed."""
        return [row for row in self.rows[kind] if not row.is_blank]

    def is_valid(self) -> bool:
        """Check the line and every filled row, all of them, so that all messages show at once."""
        results = [self.form.is_valid()]
        results += [row.is_valid() for kind in ROWS for row in self.filled(kind)]
        self._check_shape()
        return not self.form.errors and all(results)

    @property
    def has_errors(self) -> bool:
        """Whether a message stands anywhere on the line."""
        rows = (row for kind in ROWS for row in self.filled(kind))
        return bool(self.form.errors) or any(row.errors for row in rows)

    def _check_shape(self) -> None:
        if self.filled("legs") and self.filled("points"):
            self.form.add_error(None, "Give this line by legs or by coordinates, not by both.")
        if not self.filled("legs") and not self.filled("points"):
            first = self.rows["legs"][0] if self.rows["legs"] else None
            if first and first.is_bound:
                first.add_error("length_in", "Type the length of this leg.")
            self.form.add_error(None, "This line has no length yet.")

    def values(self) -> dict[str, Any]:
        """Return the line as the document keeps it."""
        mark = self.form.cleaned_data.get("id") or letter(self.number - 1)
        values = {"name": f"Line {mark}", **self.form.values(), "id": mark}
        for kind in ROWS:
            if rows := [row.values() for row in self.filled(kind)]:
                values[kind] = rows
        for number, gate in enumerate(values.get("gates", []), start=1):
            gate["id"] = gate.get("id") or f"{mark}{number}"
            gate["latch"] = gate.get("latch") or "standard"
        if "points" in values:
            for name in PLACE:
                values.pop(name, None)
        return values

    def add_error(self, path: str, message: str) -> None:
        """Show a message at the field that a path below this line names."""
        match = ROW_PATH.match(path)
        if match and match[2] is not None:
            rows = self.filled(match[1])
            if int(match[2]) < len(rows):
                row = rows[int(match[2])]
                name = match[3] if match[3] in row.fields else row.typed[0]
                row.add_error(name, message)
                return
        name = path.replace(".", "_")
        self.form.add_error(name if name in self.form.fields else None, message)


@dataclass(slots=True)
class MeasureForm:
    """The whole page."""

    head: HeadForm
    conditions: ConditionsForm
    lines: list[LineForms]
    carried: dict[str, Any] = field(default_factory=dict)
    messages: list[str] = field(default_factory=list)
    newer_version: int = 0

    def is_overtaken(self, message: str, *, version: int) -> None:
        """Say that someone saved `version` meanwhile; sending the page again replaces it."""
        self.messages.append(message)
        self.newer_version = version
        data = {**dict(self.head.data.items()), self.head.add_prefix("based_on"): str(version)}
        self.head = HeadForm(data, prefix="site")

    def is_valid(self) -> bool:
        """Check every part, all of them."""
        results = [self.head.is_valid(), self.conditions.is_valid()]
        results += [line.is_valid() for line in self.lines]
        if not self.lines:
            self.messages.append("Add one line at least.")
            return False
        return all(results)

    @property
    def error_count(self) -> int:
        """How many fields carry a message."""
        parts: list[forms.Form] = [self.head, self.conditions]
        for line in self.lines:
            parts += [line.form, *(row for kind in ROWS for row in line.rows[kind] if row.errors)]
        return sum(len(part.errors) for part in parts if part.is_bound)

    def sound_lines(self) -> list[LineForms]:
        """Return the lines in which every figure can be read, once the form was checked."""
        if not (self.head.is_valid() and self.conditions.is_valid()):
            return []
        return [line for line in self.lines if not line.has_errors]

    def document(self, lines: list[LineForms] | None = None) -> dict[str, Any]:
        """Return the document as typed, with what the page does not show carried along.

        With `lines` given only these go into it.
        """
        head = self.head.cleaned_data
        document = {
            "format": "firm-footing-site",
            "version": 1,
            "name": head["name"],
            "conditions": self.conditions.values(),
            "lines": placed(line.values() for line in (self.lines if lines is None else lines)),
            **self.carried,
        }
        if head["notes"]:
            document["notes"] = head["notes"]
        return document

    def add_engine_error(self, error: EngineError) -> None:
        """Show the engine's refusal at the very field it names, or above the page."""
        path = error.field
        message = at_its_field(str(error), path)
        match = PATH.match(path)
        if match and int(match[1]) < len(self.lines):
            self.lines[int(match[1])].add_error(match[2] or "", message)
            return
        top, _, name = path.partition(".")
        if top == "conditions" and name in self.conditions.fields:
            self.conditions.add_error(name, message)
        elif path in self.head.fields:
            self.head.add_error(path, message)
        else:
            words = str(error) if path in str(error) else f"{path}: {error}"
            self.messages.append(in_words(words, [line.mark for line in self.lines]))


def letter(index: int) -> str:
    """Return A, B, ... Z, AA for a line's index."""
    name = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        name = chr(65 + rest) + name
    return name
