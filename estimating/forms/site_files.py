"""A site document handed in as a file."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from firm.forms.fields import WholeNumberField
from firm.forms.json_text import read_json

LARGEST_BYTES = 2 * 1024 * 1024


class SiteFileForm(forms.Form):
    """Takes a JSON file; what it says is checked against the schema and by the engine."""

    file = forms.FileField(
        label="Site document",
        help_text="A JSON file, 2 MB at most.",
        widget=forms.FileInput(attrs={"accept": ".json,application/json"}),
    )

    based_on = WholeNumberField(min_value=0, max_value=1_000_000, widget=forms.HiddenInput)

    def clean_file(self) -> dict[str, Any]:
        """Return the document."""
        upload = self.cleaned_data["file"]
        if upload.size > LARGEST_BYTES:
            megabytes = upload.size / 1024 / 1024
            raise ValidationError(
                f"This file has {megabytes:.0f} MB; a site document has 2 at most."
            )
        try:
            text = upload.read().decode("utf-8-sig")
        except UnicodeDecodeError as error:
            raise ValidationError("This is not a JSON file.") from error
        document = read_json(text)
        if not isinstance(document, dict):
            raise ValidationError("This JSON file is not a site document.")
        return document
