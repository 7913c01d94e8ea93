"""The language a crew's page is asked for in, and the links to the same page in others."""

from typing import Any

from django.http import HttpRequest

from firm.selectors.languages import LANGUAGE_FIELD, known_language, other_languages


def asked_language(request: HttpRequest) -> str:
    """Return the language that the address asks for, else the one a crew lead chose before."""
    asked = known_language(request.GET.get(LANGUAGE_FIELD, ""))
    return asked or known_language(request.session.get(LANGUAGE_FIELD, ""))


def language_links(request: HttpRequest, language: str) -> dict[str, Any]:
    """Return what a page needs to offer itself in the other languages."""
    links = other_languages(request.GET, language)
    return {"other_languages": links, "asked": asked_language(request)}
