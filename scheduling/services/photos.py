"""Photos from a job: looked into, what the camera knew kept, and only the pixels stored."""

import datetime as dt
import hashlib
from dataclasses import dataclass

from django.core.files.base import ContentFile
from django.db import transaction
from PIL import Image

from firm.errors import Refusal
from firm.measure.said import Said
from firm.models import User
from firm.services.attachments import refuse_size, too_many_pixels
from firm.services.pictures import NO_PICTURE, Seen, drawn_anew, look_at_picture
from firm.services.saving import add_row
from scheduling.models import DayReport, FenceJob, JobPhoto

FIELD = "photos"
LONGEST_PX = 2560
QUALITY = 85


@dataclass(frozen=True, kw_only=True, slots=True)
class LookedAt:
    """A photo that was looked into and drawn anew, ready to be kept."""

    name: str
    pixels: bytes
    sha256: str
    size_bytes: int
    seen: Seen


@dataclass(frozen=True, kw_only=True, slots=True)
class About:
    """What the photos handed in together show, and at which post."""

    subject: str = JobPhoto.Subject.OTHER
    post_number: int | None = None
    note: str = ""


def look_at_photo(*, name: str, content: bytes) -> LookedAt:
    """Return a photo ready to be kept; done before a transaction, for it takes its time.

    Raises:
        Refusal: it is too large, empty, no picture, or one that can't be drawn safely.
    """
    refuse_size(name=name, content=content, field=FIELD)
    try:
        seen = look_at_picture(content)
        pixels = drawn_anew(content, longest_px=LONGEST_PX, quality=QUALITY)
    except NO_PICTURE as error:
        raise Refusal(
            Said(
                "{name} is no JPEG or PNG picture. HEIC is not taken: save it as JPEG.", name=name
            ),
            field=FIELD,
        ) from error
    except Image.DecompressionBombError as error:
        raise Refusal(too_many_pixels(name), field=FIELD) from error
    return LookedAt(
        name=name[:200],
        pixels=pixels,
        sha256=hashlib.sha256(content).hexdigest(),
        size_bytes=len(content),
        seen=seen,
    )


@transaction.atomic
def keep_photo(
    photo: LookedAt,
    *,
    job: FenceJob,
    report: DayReport | None,
    about: About,
    actor: User | None,
    now: dt.datetime,
) -> tuple[JobPhoto, bool]:
    """Keep a photo and say whether it is new: the same original is kept once for a job."""
    known = JobPhoto.objects.filter(job=job, original_sha256=photo.sha256).first()
    if known is not None:
        return known, False
    place = photo.seen.place
    row = JobPhoto(
        job=job,
        report=report,
        subject=about.subject,
        post_number=about.post_number,
        original_name=photo.name,
        original_sha256=photo.sha256,
        original_bytes=photo.size_bytes,
        captured_at=photo.seen.captured_at,
        latitude=place.latitude if place else None,
        longitude=place.longitude if place else None,
        note=about.note,
        added_by=actor,
        added_at=now,
    )
    # On disk it is named by its bytes: what people call a file never becomes a path.
    row.file.save(f"{photo.sha256[:32]}.jpg", ContentFile(photo.pixels), save=False)
    try:
        return add_row(row, actor=actor, action="added a photo", at=now), True
    except BaseException:
        drop_file(row)
        raise


def drop_file(photo: JobPhoto) -> None:
    """Take a file off the disk whose row was not kept: it would lie there for ever."""
    photo.file.storage.delete(photo.file.name or "")
