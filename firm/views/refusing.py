"""The one way a page with forms is answered: 422 where what was sent is refused."""

from collections.abc import Mapping
from typing import Any

from django.forms import BaseForm, BaseFormSet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render


def page_with_forms(
    request: HttpRequest, template: str, context: Mapping[str, Any]
) -> HttpResponse:
    """Return a page; 422 (RFC 9110, section 15.5.21) where a form in its context has errors.

    Browsers show it like any page, and what a person typed is in the fields; a program, a log and
    htmx can tell that nothing was kept.
    """
    status = 422 if any(_is_refused(value) for value in context.values()) else 200
    return render(request, template, dict(context), status=status)


def _is_refused(value: object) -> bool:
    if isinstance(value, BaseFormSet):
        return value.is_bound and not value.is_valid()
    return isinstance(value, BaseForm) and bool(value.errors)
