"""Lets pages and forms ask for the firm's units as often as they like: they are read once."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

from firm.selectors.profile import units_of_one_request


class UnitsMiddleware:
    """Keep the firm's units while a request is answered, and forget them afterwards."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        with units_of_one_request():
            return self.get_response(request)
