"""Reads JSON that people hand in, and refuses what no database or page can hold."""

import json
import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django.core.exceptions import ValidationError

from firm.validators import plain_text

DEEPEST = 30
LONGEST_NUMBER = 40
# Lone halves of UTF-16 pairs: JSON can spell them, but they are no characters (RFC 8259, 8.2).
SURROGATES = range(0xD800, 0xE000)


def read_json(text: str) -> Any:
    """Return what the text says.

    Raises:
        ValidationError: it is no JSON, nested too deep, or holds a number or a text that can't be
            kept; the message names the line or the field.
    """
    try:
        value = json.loads(
            text, parse_constant=_refuse_constant, parse_int=_whole, parse_float=_fraction
        )
    except json.JSONDecodeError as error:
        raise ValidationError(
            f"Line {error.lineno}, column {error.colno}: this is not JSON ({error.msg})."
        ) from error
    except RecursionError as error:
        raise ValidationError("This is nested too deep.") from error
    for place, one in _texts(value):
        _check(place, one)
    return value


@dataclass(frozen=True, slots=True)
class _Place:
    """Where a value stands: its own step and the place above. A path is written only if asked
    for: with one for every item of a list, a small file would fill the memory.
    """

    above: "_Place | None"
    step: str | int

    def __str__(self) -> str:
        steps: list[str | int] = []
        place: _Place | None = self
        while place:
            steps.append(place.step)
            place = place.above
        words = [f"[{step}]" if isinstance(step, int) else f".{step}" for step in reversed(steps)]
        return "".join(words).removeprefix(".")


def _texts(value: Any) -> Iterator[tuple[_Place | None, str]]:
    """Yield every text with its place, names of fields among them; a list, not recursion, waits."""
    waiting: list[tuple[_Place | None, int, Any]] = [(None, 0, value)]
    while waiting:
        place, depth, one = waiting.pop()
        if depth > DEEPEST:
            raise ValidationError("This is nested too deep.")
        if isinstance(one, str):
            yield place, one
        elif isinstance(one, list):
            waiting += [(_Place(place, i), depth + 1, each) for i, each in enumerate(one)]
        elif isinstance(one, dict):
            for name, each in one.items():
                yield place, name
                waiting.append((_Place(place, name), depth + 1, each))


def _check(place: _Place | None, text: str) -> None:
    if any(ord(letter) in SURROGATES for letter in text):
        raise ValidationError("A text in this file holds half a character (a lone surrogate).")
    try:
        plain_text(text)
    except ValidationError as error:
        where = str(place)[:100] if place else "the document"
        raise ValidationError(f"{where}: {error.messages[0]}", code=error.code) from error


def _refuse_constant(name: str) -> float:
    raise ValidationError(f"{name} is no number here.")


def _whole(digits: str) -> int:
    if len(digits) > LONGEST_NUMBER:
        raise ValidationError(f"The number {digits[:20]}... is too large.")
    return int(digits)


def _fraction(digits: str) -> float:
    number = float(digits)
    if not math.isfinite(number):
        raise ValidationError(f"The number {digits[:20]} is too large.")
    return number
