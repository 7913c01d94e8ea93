"""Lengths inside a fence system's definition: typed with any unit, kept as inches or feet.

A field is a length by its name: `height_in`, `usable_ft`, and each length of post under `longer`.
"""

import json
from collections.abc import Callable
from typing import Any

from django.core.exceptions import ValidationError

from firm.measure.lengths import IN_PER_FT, PER_INCH, LengthError, parse_length
from firm.measure.written import METRIC, short_length

Step = Callable[[Any, float, str], Any]
KEPT_BY_IN = {"_in": 1.0, "_ft": IN_PER_FT}
POST_LENGTHS = "longer"


def read_lengths(definition: Any, units: str) -> Any:
    """Return a definition with each length that was typed as text as a number on the 1/16 in.

    A number stays as it is: inches, or feet where the name ends so.

    Raises:
        ValidationError: a text is no length; the message names its field.
    """

    def read(value: Any, kept_by_in: float, path: str) -> Any:
        if not isinstance(value, str):
            return value
        text = value.strip().replace("\u2212", "-")
        sign = -1 if text.startswith("-") else 1
        try:
            inches = parse_length(text.removeprefix("-"), units=units)
        except LengthError as error:
            raise ValidationError(f"{path}: {error}", code="length") from error
        return sign * _on_grid(inches) / kept_by_in

    return _each_length(definition, read)


def written_lengths(definition: Any, units: str) -> Any:
    """Return a definition as it is shown: for a metric firm its lengths in millimetres.

    A length that would not be read back as just that, being off the grid, stays a number.
    """
    if units != METRIC:
        return definition

    def write(value: Any, kept_by_in: float, _path: str) -> Any:
        if isinstance(value, bool) or not isinstance(value, int | float):
            return value
        inches = value * kept_by_in
        text = short_length(inches, units)
        read_back_in = _on_grid(parse_length(text.removeprefix("-"), units=units))
        return text if read_back_in == abs(inches) else value

    return _each_length(definition, write)


def as_text(definition: Any, units: str) -> str:
    """Return a definition as it is shown for editing."""
    return json.dumps(written_lengths(definition, units), indent=2, ensure_ascii=False)


def _each_length(value: Any, step: Step, *, path: str = "", kept_by_in: float | None = None) -> Any:
    """Return a copy of a definition with every length of it put through `step`."""
    if isinstance(value, dict):
        return {
            name: _each_length(
                each,
                step,
                path=f"{path}.{name}" if path else name,
                kept_by_in=1.0 if path.endswith(POST_LENGTHS) else _kept_by_in(name),
            )
            for name, each in value.items()
        }
    if isinstance(value, list):
        return [
            _each_length(each, step, path=f"{path}[{number}]") for number, each in enumerate(value)
        ]
    return value if kept_by_in is None else step(value, kept_by_in, path)


def _kept_by_in(name: str) -> float | None:
    """Return the inches in the unit a field's name ends in, None where it is no length."""
    # Inches of depth for each foot of height are a slope.
    return None if "_per_" in name else KEPT_BY_IN.get(name[-3:])


def _on_grid(inches: float) -> float:
    return round(inches * PER_INCH) / PER_INCH
