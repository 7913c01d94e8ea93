"""Where something stands in a document, said in words."""

import pytest

from estimating.selectors.place_words import at_its_field, in_words

SAID = [
    ("lines[3].legs[0].length_in can't be negative.", "Line 4, leg 1: length can't be negative."),
    ("lines[0].system is missing.", "Line 'Back': system is missing."),
    ("typed_lines[1].unit_cost must be above 0.", "Typed line 2: price must be above 0."),
    ("conditions.frost_depth_in must be a number.", "Conditions: frost depth must be a number."),
    ("rates.hours.set.end", "The production rate \u201cSet: end\u201d"),
    (
        "Line B is left out: fence_systems.my_own.hole.base_depth_in is missing.",
        "Line B is left out: fence system 'my_own', holes: at least this deep is missing.",
    ),
    (
        "fence_systems.mine.materials[2].item names 'cap', which is not in the price book.",
        "Fence system 'mine', material 3: item names 'cap', which is not in the price book.",
    ),
    ("prices.cap.pack can't be below 0.001.", "Price of 'cap': pack can't be below 0.001."),
    ("Two lines cross at 12.5 ft. Move one.", "Two lines cross at 12.5 ft. Move one."),
    ("line A, post 7", "Line A, post 7"),
]


@pytest.mark.parametrize(("text", "words"), SAID)
def test_a_path_is_said_in_words(text: str, words: str) -> None:
    assert in_words(text, ["Back"]) == words


def test_beside_its_field_a_refusal_names_no_place() -> None:
    path = "lines[3].legs[0].length_in"
    assert at_its_field(f"{path} must be above 0.", path) == "This must be above 0."
    assert at_its_field("There is no such system.", path) == "There is no such system."
