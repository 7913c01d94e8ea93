"""Finds nothing at addresses whose number no row can have."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse

# The largest number of a row in either database; asked for a larger one, both fail.
LARGEST = 2**63 - 1


class RowNumberMiddleware:
    """Answer 404 where a number in the address is larger than that of any row can be."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_view(
        self,
        request: HttpRequest,
        view: Callable[..., HttpResponse],
        args: Sequence[Any],
        kwargs: Mapping[str, Any],
    ) -> None:
        """Look at the numbers before any view does.

        Raises:
            Http404: one of them is too large.
        """
        if any(isinstance(value, int) and value > LARGEST for value in kwargs.values()):
            raise Http404
