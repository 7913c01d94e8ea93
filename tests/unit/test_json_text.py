"""JSON that people hand in: what is refused, where, and that a small file stays small."""

import json
import tracemalloc

import pytest
from django.core.exceptions import ValidationError

from firm.forms.json_text import read_json


def test_sound_text_comes_back_as_it_says() -> None:
    assert read_json('{"a": [1, 2.5, "post"]}') == {"a": [1, 2.5, "post"]}


@pytest.mark.parametrize(
    ("value", "where"),
    [
        ({"lines": [{"id": "A"}, {"id": "a\x00b"}]}, "lines[1].id: "),
        (["a\x00b"], "[0]: "),
        ("a\x00b", "the document: "),
        ({"a\x00b": 1}, "the document: "),
        ({"lines": {"a\x00b": 1}}, "lines: "),
    ],
)
def test_refusal_names_the_place(value: object, where: str) -> None:
    with pytest.raises(ValidationError) as refused:
        read_json(json.dumps(value))
    assert refused.value.messages[0].startswith(where)


def test_long_name_over_a_long_list_takes_little_memory() -> None:
    # With a path written for every item this took 2,000 x 50,000 characters: 100 MB.
    text = json.dumps({"k" * 50_000: ["post"] * 2_000})
    tracemalloc.start()
    try:
        read_json(text)
        _, peak_bytes = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert peak_bytes < 5_000_000
