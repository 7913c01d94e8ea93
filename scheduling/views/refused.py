"""The page of an address where nothing is, in the language of whoever asked."""

from django.http import HttpRequest, HttpResponse
from django.views.defaults import page_not_found

from scheduling.middleware import speak_to_reader


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Say that there is nothing; no view may have found out who reads."""
    speak_to_reader(request)
    return page_not_found(request, exception)
