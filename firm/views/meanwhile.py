"""Telling who saved a page that lay open what another changed meanwhile."""

from django import forms
from django.contrib import messages
from django.http import HttpRequest

from firm.forms.meanwhile import kept_meanwhile_words


def say_kept_meanwhile(request: HttpRequest, *parts: forms.BaseForm) -> None:
    """Say which fields another changed meanwhile, where there are any: they were left alone."""
    if words := kept_meanwhile_words(parts):
        messages.info(request, words)
