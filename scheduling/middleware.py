"""Writes the pages of a crew lead in the language they read."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.utils.translation import activate

from firm.measure.said import ENGLISH
from firm.models import Role
from firm.selectors.languages import (
    LANGUAGE_FIELD,
    browser_language,
    code_of,
    known_language,
    speaking,
)
from scheduling.selectors.crew_languages import language_of

# Sheets know their crew and its people anyway and say themselves which language they speak; files
# speak none. They need not ask the database. What a customer signs on the phone is in English,
# the language of the contract.
WITHOUT_ASKING = frozenset(
    {"day_sheet", "day_sheet_pdf", "crew_load_pdf", "home", "attachment"}
    | {"attachment_small", "job_photo", "job_photo_small", "logout"}
    | {"change_sign", "job_completion_pdf"}
)


# Where nobody is known yet: the browser says which language its reader wants.
AT_THE_DOOR = frozenset(
    {"login", "password_reset", "password_reset_done", "password_reset_confirm"}
)


class CrewLanguageMiddleware:
    """Speak a crew lead's language on every page, and English to everybody else.

    The log-in and forgotten-password pages speak what the browser asks for: nobody is known there.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        with speaking(ENGLISH):  # until it is known who reads
            return self.get_response(request)

    def process_view(
        self,
        request: HttpRequest,
        view: Callable[..., HttpResponse],
        args: Sequence[Any],
        kwargs: Mapping[str, Any],
    ) -> None:
        """Find out who reads, and keep the language they chose by a link."""
        match = request.resolver_match
        if match is not None and match.url_name in AT_THE_DOOR:
            activate(code_of(browser_language(request.headers.get("Accept-Language", ""))))
            return
        speak_to_reader(
            request,
            crew=kwargs.get("crew"),
            is_asked=match is not None and match.url_name not in WITHOUT_ASKING,
        )


def speak_to_reader(
    request: HttpRequest, *, crew: int | None = None, is_asked: bool = True
) -> None:
    """Speak a crew lead's language from here on, unless nobody asks which it is."""
    if not request.user.is_authenticated or request.user.role != Role.CREW_LEAD:
        return
    kept = known_language(request.session.get(LANGUAGE_FIELD, ""))
    chosen = known_language(request.GET.get(LANGUAGE_FIELD, "")) or kept
    if chosen != kept:
        request.session[LANGUAGE_FIELD] = chosen
    if is_asked:
        activate(code_of(language_of(request.user, crew=crew, asked=chosen)))
