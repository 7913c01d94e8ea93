"""Checks of what people type that models and forms share."""

import re

from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

# A tag, its end, a comment or a declaration; "posts < 6 ft" and "<3" are plain words.
MARKUP = re.compile(r"<\s*[/!?]?\s*[a-zA-Z]")
# Control characters but tab and line breaks: they break PDFs and XML.
CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")
# All twelve characters with the property Bidi_Control (Unicode Standard Annex 9): unseen, they turn
# the letters after them around, so that a name reads as another.
DIRECTION = re.compile("[\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069]")


def plain_text(value: str) -> None:
    """Refuse markup, control characters and turned writing: names and notes are plain words.

    Pages escape what they show anyway; refusing it keeps it out of mails and exports as well.
    """
    if MARKUP.search(value):
        raise ValidationError(
            _("Write plain words here: tags such as <b> or <script> can't be kept."), code="markup"
        )
    if CONTROL.search(value):
        raise ValidationError(_("This contains characters that can't be printed."), code="control")
    if DIRECTION.search(value):
        raise ValidationError(
            _(
                "This contains an unseen character that turns the direction of writing. "
                "Type it anew instead of pasting it."
            ),
            code="direction",
        )
