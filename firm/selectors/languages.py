"""The languages a page can speak, and saying a sentence in the one that is spoken now."""

from collections.abc import Iterable

from django.http import QueryDict
from django.utils.translation import get_language, gettext, override
from django.utils.translation.trans_real import parse_accept_lang_header

from firm.measure.said import ENGLISH, LANGUAGES, Said, in_words_of

# Spanish as it is spoken in North America, which writes numbers with a decimal point.
_CODES = {ENGLISH: "en-us", "es": "es-mx"}
# What an address asks for a language with, and where a session keeps what was asked for last.
LANGUAGE_FIELD = "lang"


def code_of(language: str) -> str:
    """Return what Django calls a language, English where the key is none."""
    return _CODES.get(language, _CODES[ENGLISH])


def speaking(language: str) -> override:
    """Return a context in which pages are written in a language."""
    return override(code_of(language))


def spoken_now() -> str:
    """Return the key of the language that is spoken now: 'es'."""
    return (get_language() or ENGLISH).partition("-")[0]


def known_language(asked: str) -> str:
    """Return a language that is asked for, or nothing where no page speaks it."""
    return asked if asked in dict(LANGUAGES) else ""


def browser_language(accepted: str) -> str:
    """Return the first language that a browser accepts (RFC 9110, 12.5.4) and pages speak."""
    asked = (tag.partition("-")[0] for tag, _ in parse_accept_lang_header(accepted))
    return next(filter(known_language, asked), ENGLISH)


def other_languages(query: QueryDict, language: str) -> list[tuple[str, str, str]]:
    """Return links to the same page in each other language: address, key and name."""
    links = []
    for key, name in LANGUAGES:
        if key != language:
            address = query.copy()
            address[LANGUAGE_FIELD] = key
            links.append((f"?{address.urlencode()}", key, name))
    return links


def spoken(text: object) -> str:
    """Return a sentence, or a word the app knows, in the language that is spoken now."""
    if isinstance(text, Said):
        return in_words_of(text, gettext)
    words = str(text)
    return gettext(words) if words else ""


def spoken_list(words: Iterable[object]) -> str:
    """Return words in a row: 'Gas, Water'."""
    return ", ".join(spoken(each) for each in words)
