"""What a customer enters to sign a change on the crew lead's phone."""

from django import forms

from firm.forms.fields import PlainTextMixin
from firm.forms.signatures import StrokesField


class SignChangeForm(PlainTextMixin, forms.Form):
    """The customer's name and signature, and the fingerprint of what was read."""

    signed_name = forms.CharField(
        label="Your full name",
        max_length=120,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
        error_messages={"required": "Type your name: it stands for your signature."},
    )
    strokes = StrokesField()
    seen = forms.CharField(widget=forms.HiddenInput, max_length=64)
