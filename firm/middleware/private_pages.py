"""Keeps pages of the firm to the browser that asked for them."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse, HttpResponseBadRequest

NUL = "\x00"


class PrivatePagesMiddleware:
    """Let no cache on the way keep an answer, unless its view says otherwise.

    Not no-store: going back to a half-filled form would then find it empty. Log-out empties the
    browser's own cache.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        response.headers.setdefault("Cache-Control", "private, no-cache")
        return response


class NoNulMiddleware:
    """Refuse addresses with a NUL in them: no name has one, and PostgreSQL can't look for it.

    Forms refuse it in what is typed by themselves.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if NUL in request.path_info or "%00" in request.META.get("QUERY_STRING", ""):
            return HttpResponseBadRequest("No address holds a NUL.\n", content_type="text/plain")
        return self.get_response(request)
