"""The languages a page can speak, and saying a sentence in the one that is spoken now."""

from collections.abc import Iterable

from django.utils.translation import gettext, override

from firm.measure.said import ENGLISH, Said, in_words_of

# Spanish as it is spoken in North America, which writes numbers with a decimal point.
_CODES = {ENGLISH: "en-us", "es": "es-mx"}


def speaking(language: str) -> override:
    """Return a context in which pages are written in a language."""
    return override(_CODES.get(language, _CODES[ENGLISH]))


def spoken(text: object) -> str:
    """Return a sentence, or a word the app knows, in the language that is spoken now."""
    if isinstance(text, Said):
        return in_words_of(text, gettext)
    words = str(text)
    return gettext(words) if words else ""


def spoken_list(words: Iterable[object]) -> str:
    """Return words in a row: 'Gas, Water'."""
    return ", ".join(spoken(each) for each in words)
