"""What the page of a day's report sends at once: ticks of posts, and photos."""

from collections.abc import Iterable, Sequence
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile
from django.utils.translation import gettext_lazy as _

from firm.errors import Refusal
from firm.forms.attachments import FilesField, FilesInput
from firm.forms.fields import PlainTextMixin, WholeNumberField
from firm.selectors.languages import spoken
from firm.services.attachments import name_of
from scheduling.models import JobPhoto
from scheduling.services.photos import About, LookedAt, look_at_photo
from scheduling.services.report_entries import PostTicks
from scheduling.services.report_posts import LAST_NUMBER
from scheduling.services.reports import Photos


class NumbersField(forms.Field):
    """Whole numbers, each sent by itself."""

    widget = forms.MultipleHiddenInput

    def clean(self, value: Any) -> frozenset[int]:
        """Return the numbers."""
        return _numbers(value or ())


class NumberListField(forms.CharField):
    """Whole numbers in one field, with commas between them: what the page showed."""

    widget = forms.HiddenInput

    def clean(self, value: Any) -> frozenset[int]:
        """Return the numbers."""
        return _numbers(str(value or "").split(",")) if value else frozenset()


def _numbers(texts: Iterable[Any]) -> frozenset[int]:
    words = [str(text).strip() for text in texts]
    if not all(word.isascii() and word.isdecimal() and len(word) < 10 for word in words):
        raise ValidationError(_("One of these is no number."), code="invalid")
    return frozenset(int(word) for word in words)


class TickForm(forms.Form):
    """One tick, all of them, or those taken back that all of them made."""

    ALL, TAKE_BACK = "all", "take_back"

    act = forms.CharField(required=False)
    number = NumberListField(required=False)
    posts = NumbersField(required=False)
    was_set = NumberListField(required=False)

    def clean(self) -> dict[str, Any] | None:
        """See that a post is named, where not all are meant."""
        cleaned = super().clean()
        if self.errors or not (self.is_whole or self.cleaned_data["number"]):
            self.add_error(None, _("This is no post's number."))
        return cleaned

    @property
    def is_all(self) -> bool:
        """Say whether all posts are meant."""
        return bool(self.cleaned_data.get("act") == self.ALL)

    @property
    def is_whole(self) -> bool:
        """Say whether more than one box changes."""
        return self.is_all or self.cleaned_data.get("act") == self.TAKE_BACK

    def ticks(self) -> PostTicks:
        """Return what was ticked, or is no longer."""
        values = self.cleaned_data
        if self.is_all:
            return PostTicks(all_set=True)
        numbers: frozenset[int] = values["number"]
        if self.is_whole or not numbers <= values["posts"]:
            return PostTicks(unset=numbers)
        return PostTicks(newly_set=numbers)


class PhotoForm(PlainTextMixin, forms.Form):
    """Photos handed in together, and what they show."""

    use_required_attribute = False

    photo_subject = forms.ChoiceField(
        label=_("They show"),
        choices=lambda: [(key, spoken(name)) for key, name in JobPhoto.Subject.choices],
        initial=JobPhoto.Subject.OTHER,
        required=False,
    )
    photo_post = WholeNumberField(
        label=_("At post"),
        required=False,
        min_value=1,
        max_value=LAST_NUMBER,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
    )
    photo_note = forms.CharField(label=_("Note"), required=False, max_length=200)
    photos = FilesField(
        label=_("Photos"),
        required=False,
        help_text=_("JPEG or PNG, up to 25 MB each, several at once."),
        # No camera is forced open: a phone offers it beside the pictures taken before.
        widget=FilesInput(attrs={"accept": "image/*"}),
    )

    sound: Sequence[LookedAt] = ()

    def clean_photos(self) -> list[LookedAt]:
        """Return the photos, looked into and drawn anew; `sound` has those beside a bad one."""
        files: list[UploadedFile[Any]] = self.cleaned_data["photos"]
        looked_at, refused = [], []
        for one in files:
            try:
                looked_at.append(look_at_photo(name=name_of(one.name or ""), content=one.read()))
            except Refusal as refusal:
                refused.append(ValidationError(spoken(refusal.message), code="refused"))
        self.sound = looked_at
        if refused:
            raise ValidationError(refused)
        return looked_at

    def handed_in(self) -> Photos | None:
        """Return the photos, or None where none were chosen or none can be kept."""
        values = self.cleaned_data
        if not self.sound or set(self.errors) & {"photo_subject", "photo_post", "photo_note"}:
            return None
        about = About(
            subject=values["photo_subject"] or JobPhoto.Subject.OTHER,
            post_number=values["photo_post"],
            note=values["photo_note"],
        )
        return Photos(photos=self.sound, about=about)
