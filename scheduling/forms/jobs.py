"""What people type about a job."""

from django import forms

from firm.forms.fields import PlainTextMixin


class CallOffForm(PlainTextMixin, forms.Form):
    """Why a job is called off."""

    reason = forms.CharField(
        label="Why?",
        max_length=300,
        help_text="For instance: cancelled in writing on May 6.",
    )
