"""Sends the Content-Security-Policy header with every answer."""

from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponse

HEADER = "Content-Security-Policy"


class ContentSecurityPolicyMiddleware:
    """Forbid inline script and style, and anything fetched from another host.

    Django has a policy of its own from version 6 on, which needs a newer Python than ours.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response
        self.policy = "; ".join(
            f"{directive} {sources}"
            for directive, sources in settings.CONTENT_SECURITY_POLICY.items()
        )

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        response.headers.setdefault(HEADER, self.policy)
        response.headers.setdefault("Permissions-Policy", "camera=(), microphone=(), payment=()")
        return response
