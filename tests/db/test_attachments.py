"""Papers are looked into, hashed and kept as they came."""

import datetime as dt
import hashlib
import io
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from PIL import Image

from firm.errors import Refusal
from firm.models import Attachment, AuditEntry, JobSite, Role
from firm.selectors.sites import attachments_for
from firm.services import attachments
from firm.services.attachments import add_attachment, look_into, name_of
from firm.services.pictures import small_picture
from tests.cast import NOW, make_person
from tests.crew_cast import send_crew
from tests.firm_cast import PDF_BYTES, make_site, picture_bytes

pytestmark = pytest.mark.django_db


@pytest.fixture
def site() -> JobSite:
    return make_site()


def keep(site: JobSite, content: bytes, **changes: Any) -> Attachment:
    values = {"kind": "photo", "name": "pin.jpg", "note": ""} | changes
    return add_attachment(actor=None, site=site, content=content, at=NOW, **values)


def files_on_disk() -> list[Path]:
    return [path for path in Path(settings.MEDIA_ROOT).rglob("*") if path.is_file()]


def test_original_is_kept_byte_for_byte_with_its_hash(site: JobSite) -> None:
    content = picture_bytes(captured="2026:05:30 09:15:00", offset="-04:00")
    paper = keep(site, content)
    with paper.file.open("rb") as kept:
        assert kept.read() == content
    assert paper.sha256 == hashlib.sha256(content).hexdigest()
    assert (paper.content_type, paper.size_bytes) == ("image/jpeg", len(content))
    # 09:15 four hours behind UTC.
    assert paper.captured_at == dt.datetime(2026, 5, 30, 13, 15, tzinfo=dt.UTC)
    assert AuditEntry.objects.get(action="added a paper").after["sha256"] == paper.sha256


def test_camera_without_a_zone_is_read_in_the_firms_own() -> None:
    seen = look_into(name="a.jpg", content=picture_bytes(captured="2026:05:30 09:15:00"))
    # The firm of the tests lies in New York, four hours behind UTC in May.
    assert seen.captured_at == dt.datetime(2026, 5, 30, 13, 15, tzinfo=dt.UTC)


@pytest.mark.parametrize("captured", ["", "0000:00:00 00:00:00", "yesterday"])
def test_picture_without_a_sound_time_has_none(captured: str) -> None:
    assert look_into(name="a.jpg", content=picture_bytes(captured=captured)).captured_at is None


def test_what_a_file_is_comes_from_its_bytes_not_its_name(site: JobSite) -> None:
    paper = keep(site, picture_bytes("PNG"), name="plat.pdf")
    assert (paper.content_type, Path(paper.file.name or "").suffix) == ("image/png", ".png")
    assert keep(site, PDF_BYTES, name="x.jpg").content_type == "application/pdf"


@pytest.mark.parametrize(
    "content",
    [
        b'<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>',
        b"<!doctype html><script>alert(1)</script>",
        b"%PDF-1.4 and no end",
        b"\xff\xd8\xff\xe0 a JPEG's beginning only",
        b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00",
        b"GIF89a\x01\x00\x01\x00\x00\x00\x00;",
    ],
    ids=["svg", "html", "cut pdf", "cut jpeg", "heic", "gif"],
)
def test_what_is_no_pdf_jpeg_or_png_is_refused(site: JobSite, content: bytes) -> None:
    with pytest.raises(Refusal, match=r"no PDF, JPEG or PNG") as refused:
        keep(site, content, name="pin.jpg")
    assert refused.value.field == "papers"
    assert not Attachment.objects.exists()
    assert files_on_disk() == []


def test_empty_and_too_large_files_are_refused(site: JobSite, settings: Any) -> None:
    with pytest.raises(Refusal, match=r"pin\.jpg is empty"):
        keep(site, b"")
    settings.FF_UPLOAD_MAX_BYTES = 1024 * 1024
    with pytest.raises(Refusal, match=r"has 2\.0 MB; 1 MB is the most"):
        keep(site, PDF_BYTES + b" " * (2 * 1024 * 1024))


def test_picture_of_too_many_pixels_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    # 64 x 32 pixels are more than twice a limit of 1,000.
    monkeypatch.setattr(Image, "MAX_IMAGE_PIXELS", 1000)
    with pytest.raises(Refusal, match="too many pixels"):
        look_into(name="a.png", content=picture_bytes("PNG"))


def test_same_bytes_sent_again_are_kept_once(site: JobSite) -> None:
    first = keep(site, PDF_BYTES, name="plat.pdf")
    assert keep(site, PDF_BYTES, name="plat (1).pdf") == first
    assert len(files_on_disk()) == 1


def test_row_that_can_not_be_written_leaves_no_file(
    site: JobSite, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(**kwargs: Any) -> None:
        raise OSError

    monkeypatch.setattr(attachments, "record", fails)
    with pytest.raises(OSError):  # noqa: PT011 - the disk's own error, raised above
        keep(site, PDF_BYTES)
    assert files_on_disk() == []
    assert not Attachment.objects.exists()


def test_small_picture_stands_upright_and_carries_no_exif() -> None:
    # Orientation 6: the camera was held on its side; 64 x 32 becomes 32 x 64.
    content = picture_bytes(orientation=6, captured="2026:05:30 09:15:00")
    small = Image.open(io.BytesIO(small_picture(content)))
    assert small.size == (32, 64)
    assert dict(small.getexif()) == {}


def test_crew_lead_sees_papers_of_own_work_and_no_signed_one(site: JobSite) -> None:
    keep(site, PDF_BYTES, kind="signed")
    photo = keep(site, picture_bytes())
    keep(make_site(street="77 Far Lane"), PDF_BYTES, kind="survey")
    lead = make_person(Role.CREW_LEAD)
    assert list(attachments_for(lead)) == []
    send_crew(lead, site)
    assert list(attachments_for(lead)) == [photo]
    assert attachments_for(make_person(Role.OFFICE)).count() == 3


def test_folders_in_a_name_are_dropped() -> None:
    assert name_of(r"C:\photos\pin.jpg") == "pin.jpg"
    assert name_of("../../etc/passwd") == "passwd"
    assert name_of("/") == "file"
