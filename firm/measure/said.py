"""Sentences that remember what they are made of, so that they can be said in another language.

A `Said` is the English sentence, as any string; a page that speaks another language puts it
together anew from the phrase and its parts. The engines need not know which languages there are.
"""

from collections.abc import Callable, Iterable
from typing import Any, Self

ENGLISH = "en"
LANGUAGES = ((ENGLISH, "English"), ("es", "Español"))


class Said(str):
    """A sentence with its phrase, `Signed on {day}.`, and what stands in the braces."""

    phrase: str
    parts: dict[str, Any]

    def __new__(cls, phrase: str, /, **parts: Any) -> Self:
        made = super().__new__(cls, phrase.format(**parts) if parts else phrase)
        made.phrase, made.parts = phrase, parts
        return made

    def __str__(self) -> str:
        """Return the sentence itself: str() forgets no phrase."""
        return self


def joined(sentences: Iterable[str], between: str = " ") -> str:
    """Return sentences one after the other, less the empty ones, each still to be translated."""
    found = [each for each in sentences if each]
    if not found:
        return ""
    phrase = between.join(f"{{p{number}}}" for number in range(len(found)))
    return Said(phrase, **{f"p{number}": each for number, each in enumerate(found)})


def in_words_of(text: str, translate: Callable[[str], str]) -> str:
    """Return a sentence as `translate` says its phrase; a plain string stays as it is."""
    if not isinstance(text, Said):
        return text
    phrase = translate(text.phrase)
    if not text.parts:
        return phrase
    return phrase.format(
        **{
            name: in_words_of(part, translate) if isinstance(part, str) else part
            for name, part in text.parts.items()
        }
    )
