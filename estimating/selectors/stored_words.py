"""Sentences that an estimate keeps as text, read back into the phrases they were made from.

What was sold is frozen as it was worded, in English; a crew's sheet may speak another language.
"""

import re

from firm.measure.said import Said, joined

# The messages of the findings a crew is told of when the layout can't be built.
STOPS = (
    "Bay {number} of line {line} is wider than the system allows.",
    "The posts of bay {number} stand in each other's place.",
    "The hole of post {number} reaches into the {utility} mark itself.",
    "The post does not fit its hole.",
    "The post is shorter than its depth in the ground and its height above it.",
    "Corner {number} lies behind the line's end post, so it is left out.",
    "Line {line} crosses itself: leg {second} meets leg {first}.",
    "Gate {gate}'s opening was moved {moved} towards the line's {end} to stand on its post.",
)
# Words of places, figures and limits; the longest first, so that none is taken for a part of it.
WORDS = (
    "a line meets itself nowhere but at a closed line's start",
    "from the hole's edge to the mark's centre",
    "half the mark, square to it",
    "half of each post",
    "across the post",
    "on centre",
    "in needed",
    "at least",
    "in hole",
    "in post",
    "station",
    "corner",
    "limit",
    "meets",
    "posts",
    "post",
    "bays",
    "bay",
    "legs",
    "leg",
    "line",
    "gate",
    "more",
    "all",
    "and",
    "to",
)
_ANY_WORD = re.compile(rf"\b({'|'.join(re.escape(word) for word in WORDS)})\b")
_FIELD = re.compile(r"\\\{(\w+)\\\}")
_STOPS = [
    (phrase, re.compile(_FIELD.sub(r"(?P<\1>.+?)", re.escape(phrase)) + r"\Z")) for phrase in STOPS
]


def stop_sentence(message: str) -> str:
    """Return a finding's message with its phrase, or as it is where no phrase is known."""
    for phrase, pattern in _STOPS:
        if found := pattern.match(message):
            return Said(
                phrase, **{key: place_words(part) for key, part in found.groupdict().items()}
            )
    return message


def place_words(text: str) -> str:
    """Return a place or a figure with its words marked: line A, bays 1-4."""
    parts = [Said(part) if part in WORDS else part for part in _ANY_WORD.split(text)]
    return joined(parts, between="")
