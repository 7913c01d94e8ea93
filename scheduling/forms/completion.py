"""What people type at the end of a job."""

from django import forms
from django.utils.translation import gettext_lazy as _

from firm.forms.fields import PlainTextMixin, WholeNumberField
from firm.forms.signatures import StrokesField

MOST_POSTS = 9999


class PunchForm(PlainTextMixin, forms.Form):
    """A thing to be put right."""

    text = forms.CharField(
        label=_("What is to be put right?"),
        max_length=200,
        help_text=_("For instance: cap missing, latch drags."),
        error_messages={"required": _("Write down what is to be put right.")},
    )
    post_number = WholeNumberField(
        label=_("At post"),
        required=False,
        min_value=1,
        max_value=MOST_POSTS,
        error_messages={"max_value": _("No fence of yours has so many posts.")},
        widget=forms.NumberInput(attrs={"inputmode": "numeric"}),
    )


class FinishForm(PlainTextMixin, forms.Form):
    """The customer's word that the job is done."""

    leaves_open = forms.BooleanField(
        label=_("The customer agrees: what is open above is done later"), required=False
    )
    ends_phases = forms.BooleanField(
        label=_("These phases are finished too: the crew forgot to mark them"), required=False
    )
    remarks = forms.CharField(
        label=_("What the customer wishes to add"),
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 3}),
    )
    signed_name = forms.CharField(
        label=_("Name of who signs"),
        max_length=120,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
        help_text=_("The customer types it, or watches you type it."),
        error_messages={"required": _("Type the name: it stands for the signature.")},
    )
    strokes = StrokesField()
    seen = forms.CharField(widget=forms.HiddenInput, required=False, max_length=64)
