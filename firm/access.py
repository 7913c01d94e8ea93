"""Who may open which page: every view says it with one of these decorators."""

from collections.abc import Callable
from functools import wraps
from typing import Any, Concatenate, ParamSpec

from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest
from django.http.response import HttpResponseBase

from firm.models import Role, User

P = ParamSpec("P")
View = Callable[Concatenate[HttpRequest, P], HttpResponseBase]

EVERYONE_IN_THE_FIRM = frozenset(Role)


def requires(*roles: Role) -> Callable[[View[P]], View[P]]:
    """Let only people with one of `roles` in; strangers go to the log-in page, others get 403."""
    allowed = frozenset(roles) or EVERYONE_IN_THE_FIRM

    def decorate(view: View[P]) -> View[P]:
        @wraps(view)
        def guarded(request: HttpRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponseBase:
            if not request.user.is_authenticated:
                return redirect_to_login(request.get_full_path())
            if request.user.role not in allowed:
                raise PermissionDenied
            return view(request, *args, **kwargs)

        guarded.allowed_roles = allowed  # type: ignore[attr-defined]
        return guarded

    return decorate


def open_to_all(view: Callable[..., Any]) -> Callable[..., Any]:
    """Mark a view that strangers may open: it guards itself, by a token or by having no secrets."""
    view.allowed_roles = None  # type: ignore[attr-defined]
    return view


def signed_in(request: HttpRequest) -> User:
    """Return the person behind a request that `requires` let through."""
    if not request.user.is_authenticated:
        raise PermissionDenied
    return request.user
