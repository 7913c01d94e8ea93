"""The form field of a signature drawn on a screen."""

import json
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from firm.errors import Refusal
from firm.services.signatures import NOT_DRAWN, checked_strokes

# Twice what the most points take as text, so that nobody makes us read megabytes.
MOST_CHARS = 150_000


class StrokesField(forms.CharField):
    """Strokes as `signature.js` writes them; an empty field is a typed signature, an empty list."""

    widget = forms.HiddenInput

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("required", False)
        kwargs.setdefault("label", _("Signature"))
        kwargs.setdefault(
            "help_text",
            _("Sign with a finger, a pen or the mouse. The typed name alone is a signature too."),
        )
        super().__init__(**kwargs)

    def clean(self, value: Any) -> Any:
        """Return the strokes as lists."""
        text = super().clean(value)
        if not text:
            return []
        if len(text) > MOST_CHARS:
            raise ValidationError(NOT_DRAWN, code="strokes")
        try:
            return checked_strokes(json.loads(text))
        except (ValueError, RecursionError, Refusal) as error:
            message = error.message if isinstance(error, Refusal) else NOT_DRAWN
            raise ValidationError(message, code="strokes") from error
