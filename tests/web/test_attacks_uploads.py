"""Files made to break the app: each is refused in a sentence, kept harmless, or simply taken."""

import io
import struct
import zlib

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from PIL import Image

from firm.models import Attachment, JobSite
from firm.services.attachments import add_attachment
from tests.cast import NOW, make_firm
from tests.firm_cast import make_site, picture_bytes
from tests.web.answers import body_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def site(db: None) -> JobSite:
    return make_site()


def plain_png() -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (64, 32), (120, 90, 60)).save(out, format="PNG")
    return out.getvalue()


def bomb_png(side_px: int) -> bytes:
    """Return a PNG (RFC 2083) that says it has so many pixels a side, and a few bytes of them."""

    def chunk(kind: bytes, content: bytes) -> bytes:
        check = struct.pack(">I", zlib.crc32(kind + content))
        return struct.pack(">I", len(content)) + kind + content + check

    head = struct.pack(">IIBBBBB", side_px, side_px, 8, 6, 0, 0, 0)
    pixels = zlib.compress(b"\x00" * 1000)
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", pixels) + chunk(b"IEND", b"")
    )


def send(client: Client, site: JobSite, name: str, content: bytes) -> str:
    form = {"kind": "photo", "note": "", "papers": [SimpleUploadedFile(name, content)]}
    answer = client.post(f"/sites/{site.pk}/papers/new/", form, follow=True)
    assert answer.status_code in {200, 422}
    return answer.content.decode()


def test_png_without_exif_is_taken_as_a_screenshot_is(as_office: Client, site: JobSite) -> None:
    send(as_office, site, "screenshot.png", plain_png())
    paper = Attachment.objects.get()
    assert (paper.content_type, paper.captured_at) == ("image/png", None)
    assert as_office.get(f"/papers/{paper.pk}/small.jpg").status_code == 200


# 20,000 pixels a side are refused by the picture library; 8,000 would take 256 MB to open.
@pytest.mark.parametrize("side_px", [20_000, 8_000])
def test_small_file_that_unpacks_to_a_gigabyte_is_refused(
    as_office: Client, site: JobSite, side_px: int
) -> None:
    page = send(as_office, site, "pin.png", bomb_png(side_px))
    assert "too many pixels" in page
    assert not Attachment.objects.exists()


@pytest.mark.parametrize("side_px", [20_000, 8_000])
def test_logo_that_unpacks_to_a_gigabyte_is_refused(as_owner: Client, side_px: int) -> None:
    make_firm()
    logo = SimpleUploadedFile("logo.png", bomb_png(side_px))
    page = as_owner.post("/settings/", {"name": "Orchard", "logo": logo}).content.decode()
    assert "6000 on a side is the most" in page


def test_broken_picture_has_no_small_one_and_is_still_handed_out(
    as_office: Client, site: JobSite, monkeypatch: pytest.MonkeyPatch
) -> None:
    # Printing a PDF lets the picture library make do with half a picture, in the whole process.
    monkeypatch.setattr("PIL.ImageFile.LOAD_TRUNCATED_IMAGES", False)
    whole = picture_bytes()
    # All up to the start of scan (SOS, ISO 10918-1, B.2.3), and nothing of the picture itself.
    broken = whole[: whole.index(b"\xff\xda") + 14]
    paper = add_attachment(
        actor=None, site=site, kind="photo", name="a.jpg", content=broken, note="", at=NOW
    )
    assert as_office.get(f"/papers/{paper.pk}/small.jpg").status_code == 404
    assert body_of(as_office.get(f"/papers/{paper.pk}/")) == broken


def test_page_that_begins_like_a_pdf_never_acts_as_a_page(as_office: Client, site: JobSite) -> None:
    polyglot = b"%PDF-1.4\n<html><script>alert(1)</script></html>\n%%EOF\n"
    send(as_office, site, "../../<b>plat</b>.html", polyglot)
    paper = Attachment.objects.get()
    assert ".." not in (paper.file.name or "")
    answer = as_office.get(f"/papers/{paper.pk}/")
    assert answer.headers["Content-Type"] == "application/pdf"
    assert answer.headers["Content-Disposition"].startswith("attachment;")
    assert "sandbox" in answer.headers["Content-Security-Policy"]
    assert body_of(answer) == polyglot
