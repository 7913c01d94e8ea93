"""Reads JSON that people hand in, and refuses what no database or page can hold."""

import json
import math
from collections.abc import Iterator
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
    for path, one in _texts(value):
        _check(path, one)
    return value


def _texts(value: Any) -> Iterator[tuple[str, str]]:
    """Yield every text with its path, names of fields among them; a list, not recursion, waits."""
    waiting: list[tuple[str, int, Any]] = [("", 0, value)]
    while waiting:
        path, depth, one = waiting.pop()
        if depth > DEEPEST:
            raise ValidationError("This is nested too deep.")
        if isinstance(one, str):
            yield path, one
        elif isinstance(one, list):
            waiting += [(f"{path}[{i}]", depth + 1, each) for i, each in enumerate(one)]
        elif isinstance(one, dict):
            for name, each in one.items():
                yield path or "the document", name
                waiting.append((f"{path}.{name}" if path else name, depth + 1, each))


def _check(path: str, text: str) -> None:
    if any(ord(letter) in SURROGATES for letter in path + text):
        raise ValidationError("A text in this file holds half a character (a lone surrogate).")
    try:
        plain_text(text)
    except ValidationError as error:
        raise ValidationError(f"{path[:100]}: {error.messages[0]}", code=error.code) from error


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
