"""The form that takes papers and photos of a site."""

from typing import Any

from django import forms
from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile
from django.utils.translation import gettext as _

from firm.forms.fields import PlainTextMixin
from firm.models import Attachment
from firm.selectors.languages import spoken
from firm.services.attachments import name_of, too_large

MOST_FILES = 30


class FilesInput(forms.ClearableFileInput):
    """A file input that takes several files."""

    allow_multiple_selected = True


class FilesField(forms.FileField):
    """Several files, each within the limit."""

    def clean(self, data: Any, initial: Any = None) -> Any:
        """Return the files as a list."""
        files = data if isinstance(data, list | tuple) else [data] if data else []
        if not files and not self.required:
            return []
        if not files:
            raise ValidationError(self.error_messages["required"], code="required")
        if len(files) > MOST_FILES:
            raise ValidationError(
                _("{most} files at once are the most.").format(most=MOST_FILES), code="too_many"
            )
        cleaned: list[UploadedFile[Any]] = [super(FilesField, self).clean(one) for one in files]
        errors = [
            ValidationError(
                spoken(too_large(name_of(one.name or ""), one.size or 0)), code="too_large"
            )
            for one in cleaned
            if (one.size or 0) > settings.FF_UPLOAD_MAX_BYTES
        ]
        if errors:
            raise ValidationError(errors)
        return cleaned


class AttachmentForm(PlainTextMixin, forms.Form):
    """What the files are, and the files."""

    kind = forms.ChoiceField(label="What it is", choices=Attachment.Kind.choices)
    note = forms.CharField(
        label="Note", required=False, max_length=200, help_text="Such as: north-east pin."
    )
    papers = FilesField(
        label="Files",
        help_text="PDF, JPEG or PNG, up to 25 MB each. They are kept exactly as they are.",
        widget=FilesInput(attrs={"accept": "application/pdf,image/jpeg,image/png"}),
    )
