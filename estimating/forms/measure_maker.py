"""Makes the form of a measured site: from a document, or from what was typed."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from django import forms

from estimating.forms.measure_conditions import ConditionsForm, HeadForm
from estimating.forms.measure_rows import LineForm, RowForm
from estimating.forms.measurements import ROWS, LineForms, MeasureForm, letter

# One more than the engine takes of anything: it refuses them, none is dropped in silence.
MOST_ROWS = 502
MOST_DIGITS = 4
# What a line of a file stands at that names no place.
AT_ZERO = {"start_x_in": 0.0, "start_y_in": 0.0, "bearing_deg": 90.0}


@dataclass(frozen=True, kw_only=True, slots=True)
class FormMaker:
    """Makes the page's form: from a document, from what was typed, or blank rows of it.

    `kept` is what each part of the page was filled with, by its prefix: a figure that comes back
    as it was shown, in whatever unit, stays as it is to the last digit.
    """

    systems: list[tuple[str, str]]
    units: str
    kept: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)

    def from_document(
        self, document: Mapping[str, Any], *, based_on: int, conditions: Mapping[str, Any]
    ) -> MeasureForm:
        """Return the form of a document; `conditions` stand where it has none."""
        head = {"based_on": based_on, "name": document["name"], "notes": document.get("notes", "")}
        lines = [
            self._line_from({**AT_ZERO, **values} if values else {}, number)
            for number, values in enumerate(document.get("lines") or [{}], start=1)
        ]
        return MeasureForm(
            head=HeadForm(initial=head, prefix="site"),
            conditions=ConditionsForm(
                initial=dict(document.get("conditions", conditions)),
                prefix="conditions",
                units=self.units,
            ),
            lines=lines,
        )

    def _line_from(self, values: Mapping[str, Any], number: int) -> LineForms:
        prefix = f"lines-{number - 1}"
        flat = _flat(values)
        rows = {
            kind: [
                self.row(kind, f"{prefix}-{kind}-{i}", initial=_row(row))
                for i, row in enumerate(values.get(kind, []))
            ]
            for kind in ROWS
        }
        if not rows["legs"] and not rows["points"]:
            rows["legs"] = [self.row("legs", f"{prefix}-legs-0")]
        flat.setdefault("id", letter(number - 1))
        return LineForms(
            form=self.line(prefix, initial=flat), rows=rows, prefix=prefix, number=number
        )

    def from_typed(self, data: Mapping[str, str]) -> MeasureForm:
        """Return the form bound to what was typed, to be checked."""
        return self._typed(data, is_checked=True)

    def draft(self, data: Mapping[str, str], act: str) -> MeasureForm:
        """Return the form as typed, unchecked, with a row added or taken out by `act`."""
        verb, _, target = act.partition(":")
        kept = {
            key: value
            for key, value in data.items()
            if not (verb == "remove" and key.startswith(f"{target}-"))
        }
        form = self._typed(kept, is_checked=False)
        if verb == "add" and target == "lines":
            self._add_line(form)
        elif verb == "add":
            self._add_row(form, target)
        return form

    def _add_line(self, form: MeasureForm) -> None:
        last = form.lines[-1] if form.lines else None
        index = int(last.prefix.partition("-")[2]) + 1 if last else 0
        line = self._line_from({"id": letter(index)}, index + 1)
        if last:
            line.form.initial["system"] = last.form["system"].value()
        form.lines.append(line)

    def _add_row(self, form: MeasureForm, target: str) -> None:
        for line in form.lines:
            for kind, rows in line.rows.items():
                if target == f"{line.prefix}-{kind}":
                    index = int(str(rows[-1].prefix).rpartition("-")[2]) + 1 if rows else 0
                    rows.append(self.row(kind, f"{target}-{index}"))

    def _typed(self, data: Mapping[str, str], *, is_checked: bool) -> MeasureForm:
        lines = []
        indexes = _indexes(data)
        for number, index in enumerate(indexes.get("lines", ()), start=1):
            prefix = f"lines-{index}"
            rows = {
                kind: [
                    self.row(kind, f"{prefix}-{kind}-{i}", data=data, is_checked=is_checked)
                    for i in indexes.get(f"{prefix}-{kind}", ())
                ]
                for kind in ROWS
            }
            form = self.line(prefix, data=data, is_checked=is_checked)
            lines.append(LineForms(form=form, rows=rows, prefix=prefix, number=number))
        head, conditions = (
            (
                HeadForm(data, prefix="site"),
                ConditionsForm(
                    data,
                    initial=self.kept.get("conditions"),
                    prefix="conditions",
                    units=self.units,
                ),
            )
            if is_checked
            else (
                HeadForm(initial=_raw(data, "site", HeadForm), prefix="site"),
                ConditionsForm(
                    initial=_raw(data, "conditions", ConditionsForm),
                    prefix="conditions",
                    units=self.units,
                ),
            )
        )
        return MeasureForm(head=head, conditions=conditions, lines=lines)

    def line(
        self,
        prefix: str,
        *,
        initial: Mapping[str, Any] | None = None,
        data: Mapping[str, str] | None = None,
        is_checked: bool = False,
    ) -> LineForm:
        """Return a line's own form."""
        initial = initial if data is None else self.kept.get(prefix)
        given = _given(LineForm, prefix, initial=initial, data=data, is_checked=is_checked)
        return LineForm(prefix=prefix, units=self.units, systems=self.systems, **given)

    def row(
        self,
        kind: str,
        prefix: str,
        *,
        initial: Mapping[str, Any] | None = None,
        data: Mapping[str, str] | None = None,
        is_checked: bool = False,
    ) -> RowForm:
        """Return the form of one row."""
        initial = initial if data is None else self.kept.get(prefix)
        given = _given(ROWS[kind], prefix, initial=initial, data=data, is_checked=is_checked)
        return ROWS[kind](prefix=prefix, units=self.units, **given)

    def blank_line(self) -> LineForms:
        """Return the line that the page copies when one is added without a reload."""
        rows: dict[str, list[RowForm]] = {kind: [] for kind in ROWS} | {
            "legs": [self.row("legs", "lines-__line__-legs-0")]
        }
        return LineForms(
            form=self.line("lines-__line__", initial={"id": "__mark__"}),
            rows=rows,
            prefix="lines-__line__",
            number=0,
        )

    def blank_rows(self) -> dict[str, RowForm]:
        """Return one row of each kind, to be copied likewise."""
        return {kind: self.row(kind, f"__parent__-{kind}-__row__") for kind in ROWS}


def kept_parts(
    document: Mapping[str, Any], *, conditions: Mapping[str, Any]
) -> dict[str, Mapping[str, Any]]:
    """Return what a document fills each part of its page with, by the part's prefix."""
    parts = {"conditions": document.get("conditions", conditions)}
    for number, values in enumerate(document.get("lines") or ()):
        parts[f"lines-{number}"] = _flat({**AT_ZERO, **values})
        for kind in ROWS:
            for place, row in enumerate(values.get(kind, ())):
                parts[f"lines-{number}-{kind}-{place}"] = _row(row)
    return parts


def _flat(line: Mapping[str, Any]) -> dict[str, Any]:
    """Return a line without its rows, its ends among its own figures."""
    flat = {name: value for name, value in line.items() if name not in ROWS}
    for end in ("start", "end"):
        flat |= {f"{end}_{name}": value for name, value in line.get(end, {}).items()}
    return flat


def _row(row: Mapping[str, Any]) -> dict[str, Any]:
    # A turn of 0 is what an empty field means.
    return {**row, "turn_deg": row.get("turn_deg") or None}


def _given(
    form_class: type[forms.Form],
    prefix: str,
    *,
    initial: Mapping[str, Any] | None,
    data: Mapping[str, str] | None,
    is_checked: bool,
) -> dict[str, Any]:
    if data is None:
        return {"initial": dict(initial or {})}
    return (
        {"data": data, "initial": dict(initial or {})}
        if is_checked
        else {"initial": _raw(data, prefix, form_class)}
    )


def _raw(data: Mapping[str, str], prefix: str, form_class: type[forms.Form]) -> dict[str, Any]:
    """Return what was typed into a form, as it was typed."""
    return {name: data.get(f"{prefix}-{name}", "") for name in form_class.base_fields}


def _indexes(data: Iterable[str]) -> dict[str, list[int]]:
    """Return the numbers of the rows that were sent, in order, by what stands before them.

    Read in one go: a large site sends thousands of fields.
    """
    found: dict[str, set[int]] = {}
    for key in data:
        parts = key.split("-")
        for i, part in enumerate(parts[1:-1], start=1):
            if part.isdecimal() and len(part) <= MOST_DIGITS:
                found.setdefault("-".join(parts[:i]), set()).add(int(part))
    return {prefix: sorted(numbers)[:MOST_ROWS] for prefix, numbers in found.items()}
