"""The language a crew's page is asked for in, and the links to the same page in others."""

from typing import Any

from django.http import HttpRequest

from firm.measure.said import LANGUAGES

FIELD = "lang"


def asked_language(request: HttpRequest) -> str:
    """Return the language that the address asks for, if any."""
    asked = request.GET.get(FIELD, "")
    return asked if asked in dict(LANGUAGES) else ""


def language_links(request: HttpRequest, language: str) -> dict[str, Any]:
    """Return what a page needs to offer itself in the other languages."""
    links = []
    for key, name in LANGUAGES:
        if key != language:
            address = request.GET.copy()
            address[FIELD] = key
            links.append((f"?{address.urlencode()}", key, name))
    return {"other_languages": links, "asked": asked_language(request)}
