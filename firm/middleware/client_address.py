"""Finds the visitor's own address behind a proxy."""

import ipaddress
from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponse


class ClientAddressMiddleware:
    """Put the visitor's address in REMOTE_ADDR where a trusted proxy passes it on.

    The last address of X-Forwarded-For counts: the proxy wrote it, while those before it are
    whatever the visitor sent. Kept beside an acceptance, it must not be the visitor's choice.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if settings.FF_TRUST_PROXY:
            last = request.headers.get("X-Forwarded-For", "").rpartition(",")[2].strip()
            if _is_address(last):
                request.META["REMOTE_ADDR"] = last
        return self.get_response(request)


def _is_address(text: str) -> bool:
    try:
        ipaddress.ip_address(text)
    except ValueError:
        return False
    return True
