"""Reads an uploaded logo and draws it anew, so that nothing but pixels is kept."""

import hashlib
import io
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.core.files.base import ContentFile
from django.core.files.uploadedfile import UploadedFile
from PIL import Image, UnidentifiedImageError

MAX_BYTES = 2 * 1024 * 1024
MAX_SIDE_PX = 6000
KEPT_SIZE_PX = (1200, 600)
NOT_A_PICTURE = "This is not a PNG or JPEG picture. Other kinds, SVG among them, are not taken."


def redraw_logo(data: bytes) -> ContentFile[bytes]:
    """Return the picture in `data` as a PNG of at most 1200 x 600 pixels.

    Raises:
        ValidationError: it is no PNG or JPEG picture, is broken, or too large to open safely.
    """
    try:
        picture = Image.open(io.BytesIO(data), formats=("PNG", "JPEG"))
        if max(picture.size) > MAX_SIDE_PX:
            raise ValidationError(
                f"The picture is {picture.width} x {picture.height} pixels; "
                f"{MAX_SIDE_PX} on a side is the most.",
                code="too_large",
            )
        drawn = picture.convert("RGBA")
    except Image.DecompressionBombError as error:
        raise ValidationError(
            f"The picture has far too many pixels; {MAX_SIDE_PX} on a side is the most.",
            code="too_large",
        ) from error
    except (UnidentifiedImageError, OSError, ValueError, SyntaxError) as error:
        raise ValidationError(NOT_A_PICTURE, code="not_a_picture") from error
    drawn.thumbnail(KEPT_SIZE_PX)
    out = io.BytesIO()
    drawn.save(out, format="PNG", optimize=True)
    content = out.getvalue()
    return ContentFile(content, name=f"logo-{hashlib.sha256(content).hexdigest()[:12]}.png")


class LogoField(forms.FileField):
    """A PNG or JPEG picture of at most 2 MB, kept as a PNG drawn anew."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("widget", forms.FileInput(attrs={"accept": "image/png,image/jpeg"}))
        super().__init__(**kwargs)

    def clean(self, data: Any, initial: Any = None) -> Any:
        """Return the redrawn picture, the one there already, or False to remove it."""
        upload = super().clean(data, initial)
        if not isinstance(upload, UploadedFile):
            return upload
        if (upload.size or 0) > MAX_BYTES:
            raise ValidationError(
                f"The picture has {(upload.size or 0) / 1024**2:.1f} MB; 2 MB is the most.",
                code="too_many_bytes",
            )
        return redraw_logo(upload.read())
