"""Keeping the papers and photos of a site: looked into, hashed, and kept as they came."""

import datetime as dt
import hashlib
import io
import warnings
from dataclasses import dataclass
from pathlib import PurePosixPath
from typing import Any

from django.conf import settings
from django.core.files.base import ContentFile
from django.db import transaction
from django.utils import timezone
from PIL import Image, UnidentifiedImageError

from firm.errors import Refusal
from firm.models import Attachment, JobSite, User
from firm.services.audit import record

PDF_BEGINS = b"%PDF-"
PDF_ENDS = b"%%EOF"
PDF_TAIL_BYTES = 4096
PICTURES = {"JPEG": ("image/jpeg", ".jpg"), "PNG": ("image/png", ".png")}
# Exif 2.32 (CIPA DC-008): the Exif sub-directory, the moment of capture, its offset from UTC.
EXIF_DIRECTORY, CAPTURED, CAPTURED_OFFSET = 0x8769, 0x9003, 0x9011
SMALL_SIDE_PX = 480
MOST_PNG_PIXELS = 50_000_000
NOT_TAKEN = (
    "{name} is no PDF, JPEG or PNG. Drawings in SVG, web pages and HEIC pictures are not taken: "
    "save it as PDF or JPEG."
)


@dataclass(frozen=True, kw_only=True, slots=True)
class LookedInto:
    """What a file turned out to be, whatever its name says."""

    content_type: str
    ending: str
    captured_at: dt.datetime | None = None


@transaction.atomic
def add_attachment(
    *,
    actor: User | None,
    site: JobSite,
    kind: str,
    name: str,
    content: bytes,
    note: str,
    at: dt.datetime,
) -> Attachment:
    """Keep one file; the same bytes sent twice to a site are kept once.

    Raises:
        Refusal: it is too large, empty, or neither a PDF nor a picture we can read.
    """
    seen = look_into(name=name, content=content)
    digest = hashlib.sha256(content).hexdigest()
    known = Attachment.objects.filter(site=site, sha256=digest).first()
    if known:
        return known
    paper = Attachment(
        site=site,
        kind=kind,
        original_name=name[:200],
        content_type=seen.content_type,
        size_bytes=len(content),
        sha256=digest,
        captured_at=seen.captured_at,
        note=note,
        uploaded_by=actor,
        uploaded_at=at,
    )
    # On disk it is named by its bytes: what people call a file never becomes a path.
    paper.file.save(f"{digest[:32]}{seen.ending}", ContentFile(content), save=False)
    try:
        paper.save(force_insert=True)
        record(
            actor=actor,
            action="added a paper",
            target=paper,
            after={"site": str(site), "kind": kind, "sha256": digest, "size_bytes": len(content)},
            at=at,
        )
    except BaseException:
        # A file without its row would lie there for ever.
        paper.file.storage.delete(paper.file.name or "")
        raise
    return paper


def look_into(*, name: str, content: bytes) -> LookedInto:
    """Return what the bytes are.

    Raises:
        Refusal: they are too many, none, or of a kind that is not taken.
    """
    most = settings.FF_UPLOAD_MAX_BYTES
    if len(content) > most:
        raise Refusal(too_large(name, len(content)), field="papers")
    if not content:
        raise Refusal(f"{name} is empty.", field="papers")
    if content.startswith(PDF_BEGINS) and PDF_ENDS in content[-PDF_TAIL_BYTES:]:
        return LookedInto(content_type="application/pdf", ending=".pdf")
    try:
        return _picture(content)
    except (UnidentifiedImageError, OSError, ValueError, SyntaxError) as error:
        raise Refusal(NOT_TAKEN.format(name=name), field="papers") from error
    except Image.DecompressionBombError as error:
        raise Refusal(f"{name} has too many pixels to be opened safely.", field="papers") from error


def too_large(name: str, size_bytes: int) -> str:
    """Return the sentence for a file over the limit."""
    most_mb = settings.FF_UPLOAD_MAX_BYTES / 1024**2
    return f"{name} has {size_bytes / 1024**2:.1f} MB; {most_mb:.0f} MB is the most for one file."


def small_picture(content: bytes) -> bytes:
    """Return a picture turned upright and shrunk for a list, as JPEG without its Exif data."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", Image.DecompressionBombWarning)
        warnings.simplefilter("ignore", UserWarning)
        picture = _opened(content)
        orientation = picture.getexif().get(0x0112)
        picture.draft("RGB", (SMALL_SIDE_PX * 2, SMALL_SIDE_PX * 2))
        picture.thumbnail((SMALL_SIDE_PX, SMALL_SIDE_PX))
        turned = TURNS.get(orientation)
        upright = picture.transpose(turned) if turned is not None else picture
        out = io.BytesIO()
        upright.convert("RGB").save(out, format="JPEG", quality=78)
    return out.getvalue()


# Exif's orientation tag: how the picture must be turned to stand upright.
TURNS: dict[Any, Image.Transpose] = {
    3: Image.Transpose.ROTATE_180,
    6: Image.Transpose.ROTATE_270,
    8: Image.Transpose.ROTATE_90,
}


def _picture(content: bytes) -> LookedInto:
    with warnings.catch_warnings():
        # Twice this size is refused; a phone's best camera lies between.
        warnings.simplefilter("ignore", Image.DecompressionBombWarning)
        # Meddled Exif data makes the reader warn, and then leave it out.
        warnings.simplefilter("ignore", UserWarning)
        with _opened(content) as picture:
            _refuse_bomb(picture)
            content_type, ending = PICTURES[picture.format or ""]
            picture.verify()
        # A picture that was verified can't be read any further: it is opened once more.
        with _opened(content) as picture:
            captured_at = _captured_at(picture)
    return LookedInto(content_type=content_type, ending=ending, captured_at=captured_at)


def _opened(content: bytes) -> Image.Image:
    return Image.open(io.BytesIO(content), formats=tuple(PICTURES))


def _refuse_bomb(picture: Image.Image) -> None:
    """Refuse a PNG that needs a gigabyte to be opened: no camera writes one, and it packs well."""
    if picture.format == "PNG" and picture.width * picture.height > MOST_PNG_PIXELS:
        raise Image.DecompressionBombError


def _captured_at(picture: Image.Image) -> dt.datetime | None:
    """Return when the camera says the picture was taken; its clock has no zone before Exif 2.31."""
    if picture.format == "PNG" and "exif" not in picture.info:
        # Asked for Exif it does not begin with, a PNG is unpacked whole.
        return None
    tags = picture.getexif().get_ifd(EXIF_DIRECTORY)
    written = str(tags.get(CAPTURED, "")).strip("\x00 ")
    offset = str(tags.get(CAPTURED_OFFSET, "")).strip("\x00 ")
    try:
        if offset:
            return dt.datetime.strptime(written + offset, "%Y:%m:%d %H:%M:%S%z")
        return dt.datetime.strptime(written, "%Y:%m:%d %H:%M:%S").replace(
            tzinfo=timezone.get_current_timezone()
        )
    except ValueError:
        return None


def name_of(raw: str) -> str:
    """Return a file's name without the folders some browsers put before it."""
    return PurePosixPath(raw.replace("\\", "/")).name or "file"
