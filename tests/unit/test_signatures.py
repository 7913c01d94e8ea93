"""Strokes of a signature: what may be kept, and how they are drawn back."""

import json
from typing import Any

import pytest
from django.core.exceptions import ValidationError

from firm.errors import Refusal
from firm.forms.signatures import StrokesField
from firm.services.signatures import checked_strokes, signature_path

ONE_STROKE = [[0, 0], [500, 1000], [1000, 250]]


def test_strokes_are_kept_as_they_were_drawn() -> None:
    assert checked_strokes([ONE_STROKE, [[10, 20]]]) == [ONE_STROKE, [[10, 20]]]
    assert checked_strokes([]) == []


@pytest.mark.parametrize(
    "strokes",
    [
        None,
        "M0 0",
        {"0": [[1, 2]]},
        [[]],
        [[[1]]],
        [[[1, 2, 3]]],
        [[[1, 1001]]],
        [[[-1, 5]]],
        [[[1.5, 5]]],
        [[[True, 5]]],
        [[["1", 5]]],
        [[[1, 2]], None],
        [[[0, 0]]] * 201,
        [[[0, 0]] * 5001],
    ],
    ids=lambda value: str(value)[:20],
)
def test_what_no_page_draws_is_refused(strokes: Any) -> None:
    with pytest.raises(Refusal) as refused:
        checked_strokes(strokes)
    assert refused.value.field == "strokes"


def test_the_most_that_may_be_drawn_fits_the_field() -> None:
    longest = [[[1000, 1000]] * 25] * 200
    assert StrokesField().clean(json.dumps(longest)) == longest


@pytest.mark.parametrize(
    "text", ["{", "[[[1,2]", "true", "[" * 100_000, "[[[1e3,2]]]", "x" * 200_000]
)
def test_field_refuses_text_that_is_no_signature(text: str) -> None:
    with pytest.raises(ValidationError):
        StrokesField().clean(text)


def test_a_typed_signature_has_no_strokes() -> None:
    assert StrokesField().clean("") == []


def test_path_is_drawn_five_wide_and_two_high() -> None:
    # y counts thousandths of a height of 400: 1000 is 400, 250 is 100. A dot goes nowhere.
    assert signature_path([ONE_STROKE, [[10, 25]]]) == "M0 0 L500 400 L1000 100 M10 10 L10 10"
