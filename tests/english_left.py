"""Finds English on a page that speaks another language, by comparing it with its English self."""

import re
from collections.abc import Iterable
from html import unescape

_DROPPED = re.compile(r"<script.*?</script>|<code>.*?</code>|<style.*?</style>", re.DOTALL)
# Text between tags, and the texts of tags that people see or hear.
_TEXT = re.compile(r">([^<>]+)<")
_SAID = re.compile(r'\b(?:aria-label|alt|placeholder|title)="([^"]+)"')
_WORD = re.compile(r"[^\W\d_]{3,}")


def texts_of(html: str) -> set[str]:
    """Return every text of a page that a reader meets, of its parts for later too."""
    body = _DROPPED.sub("", html)
    found = [*_TEXT.findall(body), *_SAID.findall(body)]
    return {" ".join(unescape(each).split()) for each in found} - {""}


def left_in_english(english: str, other: str, *, data: Iterable[str]) -> set[str]:
    """Return the texts with a word in them that both pages have, less what people typed."""
    same = texts_of(english) & texts_of(other)
    typed = sorted(data, key=len, reverse=True)
    return {each for each in same if _WORD.search(_without(each, typed))}


def _without(text: str, typed: Iterable[str]) -> str:
    for each in typed:
        text = text.replace(each, "")
    return text
