"""Sentences that an estimate keeps as text, read back into the phrases they were made from.

What was sold is frozen as it was worded, in English; a crew's sheet may speak another language.
"""

import re

from firm.measure.said import Said, joined

# What the findings a crew is told of say, what to do about each, and what refuses found ground. Of
# two that fit the same sentence the narrower stands first.
SENTENCES = (
    "Bay {number} of line {line} is wider than the system allows.",
    "Bay {number} is narrower than the fence system's narrowest.",
    "Bay {number} is clear by more than a full panel's width: beside a wall or a thinner post the "
    "same spacing leaves more between the faces.",
    "The posts of bay {number} stand in each other's place.",
    "The hole of post {number} reaches into the {utility} mark itself.",
    "Post {number} stands in the tolerance zone of the {utility} mark.",
    "The post does not fit its hole.",
    "The post is shorter than its depth in the ground and its height above it.",
    "Corner {number} lies behind the line's end post, so it is left out.",
    "Line {line} crosses itself: leg {second} meets leg {first}.",
    "Gate {gate}'s opening was moved {moved} towards the {end}, to the face of the post it hangs "
    "beside.",
    "Move a post back, or ask the office for a post more.",
    "Move the gate onto its neighbour's post, or further away from it.",
    "Check the length that was taped; where it is right, let one post do for both.",
    "Divide the section into equal bays, or move the gate or the end.",
    "Add a bay there or move the wall's end post, or buy longer rails.",
    "Move the post: shift a gate or an end, or part the line at the mark.",
    "The {post} can't be planned elsewhere: move it with its gate towards the {end} by {mark} to "
    "clear the mark, {zone} to clear the zone.",
    "The {post} can't be planned elsewhere: move it with its gate towards the {end} by {zone} to "
    "clear the zone.",
    "The {post} can't be planned elsewhere: move it towards the {end} by {mark} to clear the mark, "
    "{zone} to clear the zone.",
    "The {post} can't be planned elsewhere: move it towards the {end} by {zone} to clear the zone.",
    "Dig it by hand or by vacuum until the line is seen, or move the post.",
    "Dig it by hand or by vacuum until the line is seen. {move}",
    "Give the post's product a wider hole.",
    "Order posts of {length} or more: the fence system has to name them as its longer posts, and "
    "the price book their price. A shallower hole helps only where the local rules allow one.",
    "Check the leg's length and the point the tape was held to.",
    "Check the lengths and turns of these legs.",
    "Check the station of the opening's near face.",
    "The opening of gate {gate} is {opening}, longer than any leg of its line ({leg} at most).",
    "The station of gate {gate} lies past the line's end at {end}.",
    "lines are longer than {feet} ft together.",
)
# Words of places, figures and limits; the longest first, so that none is taken for a part of it.
WORDS = (
    "the opening starts and ends at the faces of its posts",
    "a line meets itself nowhere but at a closed line's start",
    "from the hole's edge to the mark's centre",
    "half the mark, square to it",
    "square to the mark",
    "half of each post",
    "across the post",
    "post at a bend",
    "line's start",
    "corner post",
    "line's end",
    "gate post",
    "pull post",
    "end post",
    "on centre",
    "in needed",
    "at least",
    "in hole",
    "in post",
    "utility",
    "station",
    "corner",
    "clear",
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
_SENTENCES_AS_READ = [
    (phrase, re.compile(_FIELD.sub(r"(?P<\1>.+?)", re.escape(phrase)) + r"\Z"))
    for phrase in SENTENCES
]


def known_sentence(text: str) -> str:
    """Return a sentence of the engine with its phrase, or as it is where no phrase is known."""
    for phrase, pattern in _SENTENCES_AS_READ:
        if found := pattern.match(text):
            return Said(phrase, **{key: _part(part) for key, part in found.groupdict().items()})
    return text


def _part(text: str) -> str:
    """Return what stands in a sentence: a sentence of its own, or a place or figure."""
    sentence = known_sentence(text)
    return sentence if isinstance(sentence, Said) else place_words(text)


def place_words(text: str) -> str:
    """Return a place or a figure with its words marked: line A, bays 1-4."""
    parts = [Said(part) if part in WORDS else part for part in _ANY_WORD.split(text)]
    return joined(parts, between="")
