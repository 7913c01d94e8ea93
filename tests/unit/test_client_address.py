"""The visitor's address: the proxy's word where one is trusted, and nobody else's."""

import pytest
from django.http import HttpRequest, HttpResponse
from django.test import RequestFactory
from pytest_django import Settings

from firm.middleware.client_address import ClientAddressMiddleware


def seen_address(forwarded_for: str) -> str:
    seen: list[str] = []

    def answer(request: HttpRequest) -> HttpResponse:
        seen.append(request.META["REMOTE_ADDR"])
        return HttpResponse()

    request = RequestFactory().get(
        "/", headers={"x-forwarded-for": forwarded_for}, REMOTE_ADDR="127.0.0.1"
    )
    ClientAddressMiddleware(answer)(request)
    return seen[0]


@pytest.mark.parametrize(
    ("forwarded_for", "expected"),
    [
        ("203.0.113.9", "203.0.113.9"),
        # The first one came from the visitor, who may write anything.
        ("198.51.100.1, 203.0.113.9", "203.0.113.9"),
        ("2001:db8::9", "2001:db8::9"),
        ("", "127.0.0.1"),
        ("somewhere", "127.0.0.1"),
        ("203.0.113.9, <script>", "127.0.0.1"),
    ],
)
def test_last_address_counts_behind_a_trusted_proxy(
    forwarded_for: str, expected: str, settings: Settings
) -> None:
    settings.FF_TRUST_PROXY = True
    assert seen_address(forwarded_for) == expected


def test_header_is_ignored_where_no_proxy_is_trusted(settings: Settings) -> None:
    settings.FF_TRUST_PROXY = False
    assert seen_address("203.0.113.9") == "127.0.0.1"
