"""A crew that reads Spanish is told of a finding in Spanish: its words are known phrases."""

import ast
import re
from collections.abc import Iterator
from itertools import product

import pytest

from estimating.selectors.sheet_parts import CREW_CODES
from estimating.selectors.stored_words import known_sentence, place_words
from firm.measure.said import Said, in_words_of
from tests.phrases import ROOT

WORD = re.compile(r"[^\W\d_]{3,}")
FIGURE = "9"


def told() -> list[tuple[str, str, str]]:
    """Return code, field and text of all a finding of these codes can say, figures as 9."""
    return sorted(
        (code, name, text)
        for path in (ROOT / "estimating/engine").rglob("*.py")
        for code, call in _findings(ast.parse(path.read_text(encoding="utf-8")))
        for name in ("message", "place", "figure", "limit", "action")
        if name in call
        for text in set(_texts(call[name]))
        if WORD.search(text)
    )


def _findings(tree: ast.AST) -> Iterator[tuple[str, dict[str, ast.expr]]]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "Finding":
            given = {each.arg: each.value for each in node.keywords if each.arg}
            code = ast.literal_eval(given["code"]) if _is_plain(given["code"]) else ""
            if code in CREW_CODES:
                yield code, given


def _is_plain(node: ast.expr) -> bool:
    return isinstance(node, ast.Constant)


def _texts(node: ast.expr) -> Iterator[str]:
    """Yield each text an expression can be; what is worked out elsewhere is a figure."""
    match node:
        case ast.Constant(value=str(text)):
            yield text
        case ast.JoinedStr(values=parts):
            yield from map("".join, product(*(list(_texts(part)) for part in parts)))
        case ast.IfExp(body=body, orelse=other):
            yield from (*_texts(body), *_texts(other))
        case ast.BoolOp(values=values):
            for value in values:
                yield from _texts(value)
        case ast.BinOp(left=left, right=right):
            yield from map("".join, product(list(_texts(left)), list(_texts(right))))
        case _:
            yield FIGURE


def test_every_code_a_crew_is_told_of_is_looked_at() -> None:
    assert {code for code, _, _ in told()} == CREW_CODES


@pytest.mark.parametrize(("code", "name", "text"), told())
def test_is_made_of_phrases_that_are_known(code: str, name: str, text: str) -> None:
    if name in ("message", "action"):
        assert isinstance(known_sentence(text), Said), (code, text)
    else:
        # Each known word goes; one that stays would be read in English.
        assert not WORD.search(in_words_of(place_words(text), lambda word: "-")), (code, text)
