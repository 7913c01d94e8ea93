"""Photos from jobs: what the camera knew is kept, the picture itself is drawn anew."""

import hashlib
import io
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from PIL import Image

from firm.errors import Refusal
from firm.models import AuditEntry
from scheduling.models import DayReport, JobPhoto
from scheduling.services.photos import LONGEST_PX, About, keep_photo, look_at_photo
from scheduling.services.report_entries import ReportEntry
from scheduling.services.reports import Photos, save_report
from tests.firm_cast import PDF_BYTES, picture_bytes
from tests.report_cast import DAY, EVENING, Day, gps_bytes, make_day
from tests.web.test_attacks_uploads import bomb_png

pytestmark = pytest.mark.django_db


@pytest.fixture
def day() -> Day:
    return make_day()


def keep(day: Day, *contents: bytes, about: About | None = None) -> DayReport:
    photos = [look_at_photo(name=f"IMG_{i}.jpg", content=one) for i, one in enumerate(contents)]
    return save_report(
        job=day.job,
        crew=day.crew,
        date=DAY,
        entry=ReportEntry(),
        photos=Photos(photos=photos, about=about or About()),
        actor=None,
        now=EVENING,
    )


def files_on_disk() -> list[Path]:
    return [path for path in Path(settings.MEDIA_ROOT).rglob("*") if path.is_file()]


def test_camera_data_is_kept_and_the_stored_picture_has_none(day: Day) -> None:
    content = gps_bytes()
    keep(day, content, about=About(subject="rock", post_number=7, note="ledge"))
    photo = JobPhoto.objects.get()
    assert photo.original_sha256 == hashlib.sha256(content).hexdigest()
    assert photo.original_bytes == len(content)
    assert (photo.subject, photo.post_number, photo.note) == ("rock", 7, "ledge")
    # The camera's 14:05 in New York is 18:05 UTC.
    assert f"{photo.captured_at:%H:%M}" == "18:05"
    # 42 deg 39 min 18.54 s north: 42 + 39/60 + 18.54/3600 = 42 + 0.65 + 0.00515 = 42.65515.
    # 73 deg 45 min 22.32 s west: -(73 + 0.75 + 0.0062) = -73.7562.
    assert photo.latitude == pytest.approx(42.65515, abs=1e-9)
    assert photo.longitude == pytest.approx(-73.7562, abs=1e-9)
    stored = Path(photo.file.path).read_bytes()
    picture = Image.open(io.BytesIO(stored))
    assert (picture.format, dict(picture.getexif())) == ("JPEG", {})
    assert b"Exif" not in stored
    assert AuditEntry.objects.get(action="added a photo").target_id == str(photo.pk)


def test_side_way_picture_stands_upright_and_a_large_one_shrinks(day: Day) -> None:
    # Orientation 6 (Exif 2.32, 4.6.4 A): the 0th row is the visual right side, so 4000 x 1000
    # lying becomes 1000 x 4000 standing; 2560 / 4000 of it: 640 x 2560.
    keep(day, gps_bytes(size=(4000, 1000), orientation=6))
    with Image.open(JobPhoto.objects.get().file.path) as picture:
        assert picture.size == (640, LONGEST_PX)


def test_comment_of_a_picture_is_left_out(day: Day) -> None:
    out = io.BytesIO()
    Image.new("RGB", (64, 32)).save(out, format="JPEG", comment=b"call 555-0199")
    keep(day, out.getvalue())
    assert b"555-0199" not in Path(JobPhoto.objects.get().file.path).read_bytes()


def test_same_original_is_kept_once(day: Day) -> None:
    keep(day, gps_bytes(), gps_bytes())
    keep(day, gps_bytes())
    assert JobPhoto.objects.count() == 1
    assert len(files_on_disk()) == 1


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"not a picture", "IMG.jpg is no JPEG or PNG picture."),
        (PDF_BYTES, "IMG.jpg is no JPEG or PNG picture."),
        (b"", "IMG.jpg is empty."),
        (bomb_png(20_000), "IMG.jpg has too many pixels to be opened safely."),
        (bomb_png(8_000), "IMG.jpg has too many pixels to be opened safely."),
        (b"\xff\xd8" + b"0" * (26 * 1024**2), "IMG.jpg has 26.0 MB; 25 MB is the most"),
    ],
    ids=["words", "pdf", "empty", "bomb", "large png", "26 MB"],
)
def test_what_is_no_picture_is_refused(content: bytes, words: str) -> None:
    with pytest.raises(Refusal, match=words.replace(".", r"\.")) as refusal:
        look_at_photo(name="IMG.jpg", content=content)
    assert refusal.value.field == "photos"


def test_half_a_picture_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    # Printing a PDF lets the picture library make do with half a picture, in the whole process.
    monkeypatch.setattr("PIL.ImageFile.LOAD_TRUNCATED_IMAGES", False)
    whole = picture_bytes()
    with pytest.raises(Refusal, match="is no JPEG or PNG picture"):
        look_at_photo(name="IMG.jpg", content=whole[: whole.index(b"\xff\xda") + 14])


def test_fault_after_the_first_photo_leaves_no_file_behind(
    day: Day, monkeypatch: pytest.MonkeyPatch
) -> None:
    kept: list[tuple[JobPhoto, bool]] = []

    def second_fails(*given: Any, **named: Any) -> tuple[JobPhoto, bool]:
        if kept:
            raise RuntimeError
        kept.append(keep_photo(*given, **named))
        return kept[0]

    monkeypatch.setattr("scheduling.services.reports.keep_photo", second_fails)
    with pytest.raises(RuntimeError):
        keep(day, gps_bytes(), picture_bytes())
    assert kept
    assert (files_on_disk(), JobPhoto.objects.count(), DayReport.objects.count()) == ([], 0, 0)


def test_photo_of_a_post_that_is_not_there_is_refused(day: Day) -> None:
    with pytest.raises(Refusal, match="There is no post 10: this job has posts 1 to 9") as refusal:
        keep(day, gps_bytes(), about=About(post_number=10))
    assert refusal.value.field == "photo_post"
    assert files_on_disk() == []
