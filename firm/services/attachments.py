"""Keeping the papers and photos of a site: looked into, hashed, and kept as they came."""

import datetime as dt
import hashlib
from pathlib import PurePosixPath

from django.conf import settings
from django.core.files.base import ContentFile
from django.db import transaction
from PIL import Image

from firm.errors import Refusal
from firm.measure.said import Said
from firm.models import Attachment, JobSite, User
from firm.services.audit import record
from firm.services.pictures import NO_PICTURE, Seen, look_at_picture

PDF_BEGINS = b"%PDF-"
PDF_ENDS = b"%%EOF"
PDF_TAIL_BYTES = 4096
NOT_TAKEN = (
    "{name} is no PDF, JPEG or PNG. Drawings in SVG, web pages and HEIC pictures are not taken: "
    "save it as PDF or JPEG."
)


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


def look_into(*, name: str, content: bytes) -> Seen:
    """Return what the bytes are.

    Raises:
        Refusal: they are too many, none, or of a kind that is not taken.
    """
    refuse_size(name=name, content=content, field="papers")
    if content.startswith(PDF_BEGINS) and PDF_ENDS in content[-PDF_TAIL_BYTES:]:
        return Seen(content_type="application/pdf", ending=".pdf")
    try:
        return look_at_picture(content)
    except NO_PICTURE as error:
        raise Refusal(NOT_TAKEN.format(name=name), field="papers") from error
    except Image.DecompressionBombError as error:
        raise Refusal(too_many_pixels(name), field="papers") from error


def refuse_size(*, name: str, content: bytes, field: str) -> None:
    """Refuse a file that is empty or over the limit."""
    if len(content) > settings.FF_UPLOAD_MAX_BYTES:
        raise Refusal(too_large(name, len(content)), field=field)
    if not content:
        raise Refusal(Said("{name} is empty.", name=name), field=field)


def too_many_pixels(name: str) -> str:
    """Return the sentence for a picture that would unpack to more than is safe."""
    return Said("{name} has too many pixels to be opened safely.", name=name)


def too_large(name: str, size_bytes: int) -> str:
    """Return the sentence for a file over the limit."""
    most_mb = settings.FF_UPLOAD_MAX_BYTES / 1024**2
    return Said(
        "{name} has {size} MB; {most} MB is the most for one file.",
        name=name,
        size=f"{size_bytes / 1024**2:.1f}",
        most=f"{most_mb:.0f}",
    )


def name_of(raw: str) -> str:
    """Return a file's name without the folders some browsers put before it."""
    return PurePosixPath(raw.replace("\\", "/")).name or "file"
