"""The form on the page of mail settings."""

from django import forms

from firm.forms.fields import PlainTextMixin


class MailTestForm(PlainTextMixin, forms.Form):
    """Whom to send a test mail to."""

    to = forms.EmailField(
        label="Send a test mail to",
        max_length=254,
        widget=forms.EmailInput(attrs={"autocomplete": "email"}),
    )
