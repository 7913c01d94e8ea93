"""Finds English on a page that speaks another language, by comparing it with its English self."""

import re
from collections.abc import Callable, Iterable
from html import unescape
from typing import Any

from django.test import Client
from django.urls import reverse

_DROPPED = re.compile(r"<script.*?</script>|<code>.*?</code>|<style.*?</style>", re.DOTALL)
# Text between tags, and the texts of tags that people see or hear.
_TEXT = re.compile(r">([^<>]+)<")
_SAID = re.compile(r'\b(?:aria-label|alt|placeholder|title)="([^"]+)"')
# Between the clauses of a text: one may be left in English among others that are not.
_BREAK = re.compile(r"(?<=[.:;,?!])\s")
_WORD = re.compile(r"[^\W\d_]{3,}")


def texts_of(html: str) -> set[str]:
    """Return every text of a page that a reader meets, of its parts for later too."""
    body = _DROPPED.sub("", html)
    found = [*_TEXT.findall(body), *_SAID.findall(body)]
    return {" ".join(unescape(each).split()) for each in found} - {""}


def left_in_english(english: str, other: str, *, data: Iterable[str]) -> set[str]:
    """Return the clauses with a word in them that both pages have, less what people typed."""
    typed = sorted(data, key=len, reverse=True)
    ours, theirs = (
        {clause for text in texts_of(html) for clause in _clauses(_without(text, typed))}
        for html in (english, other)
    )
    return {each for each in ours & theirs if _WORD.search(each)}


def _clauses(text: str) -> set[str]:
    return {each.strip(" .:;,?!") for each in _BREAK.split(text)}


def spoken_both_ways(ask: Callable[[], Any], client: Client) -> tuple[str, str]:
    """Return what a crew lead is answered in English and in Spanish."""
    answers = []
    for language in ("en", "es"):
        client.get(reverse("my_days"), {"lang": language})
        answers.append(ask().content.decode())
    return answers[0], answers[1]


def _without(text: str, typed: Iterable[str]) -> str:
    for each in typed:
        text = text.replace(each, "")
    return text
