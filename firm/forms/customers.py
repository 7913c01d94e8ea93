"""Forms for customers and for the file they are imported from."""

from typing import Any, ClassVar

from django import forms
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile

from firm.forms.fields import PlainTextMixin
from firm.models import Customer

IMPORT_MAX_BYTES = 2 * 1024 * 1024
PHONE = {"type": "tel", "autocomplete": "off"}


class CustomerForm(PlainTextMixin, forms.ModelForm[Customer]):
    """Who someone is and how they are reached."""

    class Meta:
        model = Customer
        fields = (
            "name",
            "company",
            "phone",
            "other_phone",
            "email",
            "street",
            "city",
            "state",
            "postcode",
            "source",
            "notes",
        )
        labels: ClassVar = {
            "other_phone": "Second phone",
            "email": "E-mail",
            "street": "Street and number",
            "city": "Town",
            "postcode": "ZIP code",
            "source": "How they heard of us",
        }
        help_texts: ClassVar = {
            "email": "Proposals are sent here.",
            "street": "Where the post goes. Job sites have addresses of their own.",
        }
        widgets: ClassVar = {
            "phone": forms.TextInput(attrs=PHONE),
            "other_phone": forms.TextInput(attrs=PHONE),
            "notes": forms.Textarea(attrs={"rows": 3}),
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            field.widget.attrs.setdefault("autocomplete", "off")


class CustomerFileForm(forms.Form):
    """A CSV file of customers."""

    file = forms.FileField(
        label="CSV file",
        help_text="Saved from a spreadsheet or another program: up to 2 MB and 5,000 rows.",
        widget=forms.ClearableFileInput(attrs={"accept": ".csv,.txt,.tsv,text/csv"}),
    )

    def clean_file(self) -> "UploadedFile[Any]":
        """Refuse a file that is too large to look through."""
        upload: UploadedFile[Any] = self.cleaned_data["file"]
        size = upload.size or 0
        if size > IMPORT_MAX_BYTES:
            raise ValidationError(
                f"The file has {size / 1024**2:.1f} MB; 2 MB is the most. "
                "Split it, or leave out columns that aren't needed.",
                code="too_many_bytes",
            )
        return upload
