"""A crew of three and its day at a job, and what it hands in, for tests of reports."""

import datetime as dt
import io
from dataclasses import dataclass
from decimal import Decimal
from html import unescape
from typing import Any

from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image, TiffImagePlugin

from firm.models import JobSite, User
from scheduling.models import Crew, CrewDay, CrewMember, DayReport, FenceJob
from scheduling.services.report_entries import HoursEntry, PostTicks, ReportEntry, RockEntry
from scheduling.services.reports import Photos, save_report
from tests.factories import make_firm
from tests.sheet_cast import fence_document, fence_line, make_laid_out_job

DAY = dt.date(2026, 5, 4)  # a Monday
EVENING = dt.datetime(2026, 5, 4, 21, 0, tzinfo=dt.UTC)  # 17:00 in New York
BAG_PLAN = 4  # the bags of each of the nine posts: worked out in test_build_sheets


@dataclass(frozen=True, kw_only=True)
class Day:
    """A crew's day at a job."""

    job: FenceJob
    crew: Crew
    members: tuple[CrewMember, ...]
    date: dt.date = DAY

    @property
    def address(self) -> str:
        return f"/days/{self.crew.pk}/{self.date:%Y-%m-%d}/jobs/{self.job.pk}/report/"

    def report(self) -> DayReport:
        return DayReport.objects.get(job=self.job, crew=self.crew, date=self.date)

    def hands_in(
        self, *, now: dt.datetime = EVENING, photos: Photos | None = None, **parts: Any
    ) -> DayReport:
        """Save parts of a report, as nobody in particular."""
        return save_report(
            job=self.job,
            crew=self.crew,
            date=self.date,
            entry=ReportEntry(**parts),
            photos=photos,
            actor=None,
            now=now,
        )

    def at(self, date: dt.date) -> "Day":
        """Return another day of the same crew at the same job."""
        return Day(job=self.job, crew=self.crew, members=self.members, date=date)


def make_crew(name: str = "North crew", *, lead: User | None = None) -> Crew:
    """Return a crew of three; Ash costs 41.50, the others the firm's rate."""
    crew = Crew.objects.create(name=name, lead=lead)
    CrewMember.objects.create(crew=crew, name="Ash Talbot", hourly_cost=Decimal("41.50"))
    CrewMember.objects.create(crew=crew, name="Bo Linden")
    CrewMember.objects.create(crew=crew, name="Cy Marrow", user=lead)
    return crew


def make_day(
    lead: User | None = None,
    site: JobSite | None = None,
    *,
    name: str = "North crew",
    number: int = 1001,
    length_in: float = 768.0,
) -> Day:
    """Return a day of a crew at a job of nine posts, each in 4 bags; digging is on its calendar."""
    make_firm(crew_rate=Decimal("62.00"))
    crew = Crew.objects.filter(name=name).first() or make_crew(name, lead=lead)
    job = make_laid_out_job(fence_document(fence_line(length_in)), site, number=number)
    CrewDay.objects.create(
        job=job,
        phase=job.phases.get(kind="dig"),
        crew=crew,
        date=DAY,
        hours=Decimal(8),
        placed_at=EVENING,
    )
    return Day(job=job, crew=crew, members=tuple(crew.members.all()))


def ticks(*numbers: int, **changes: Any) -> PostTicks:
    """Return ticks of these posts."""
    return PostTicks(newly_set=frozenset(numbers), **changes)


def span(day: Day, who: int, start: str, end: str, *, row: int = 0, **changes: Any) -> HoursEntry:
    """Return a span of the crew's person number `who`, counted from 0."""
    started, ended = (dt.time.fromisoformat(each) for each in (start, end))
    member = day.members[who].pk
    return HoursEntry(row=row, member=member, started=started, ended=ended, **changes)


def rock(post: int, *, row: int = 0, **changes: Any) -> RockEntry:
    """Return rock at a post."""
    return RockEntry(row=row, post_number=post, **changes)


def page_values(day: Day, **changes: Any) -> dict[str, Any]:
    """Return what the page sends when nothing is typed: a line for each person, an empty one."""
    values: dict[str, Any] = {
        "was_set": "",
        "was_finished": "",
        "mix": "standard",
        "photo_subject": "other",
        "hours-TOTAL_FORMS": len(day.members) + 1,
        "hours-INITIAL_FORMS": len(day.members),
        "rock-TOTAL_FORMS": 1,
        "rock-INITIAL_FORMS": 0,
    }
    for row, member in enumerate(day.members):
        values |= {f"hours-{row}-member": member.pk, f"hours-{row}-started": "07:00"}
    return values | changes


def gps_bytes(
    latitude: Any = ((42, 1), (39, 1), (1854, 100)),
    longitude: Any = ((73, 1), (45, 1), (2232, 100)),
    *,
    refs: tuple[str, str] = ("N", "W"),
    **camera: Any,
) -> bytes:
    """Return a JPEG with a position in its Exif data: rationals as pairs, as Exif keeps them."""
    picture = Image.new("RGB", camera.get("size", (64, 32)), (120, 90, 60))
    exif = picture.getexif()
    exif[0x0112] = camera.get("orientation", 1)
    exif.get_ifd(0x8769)[0x9003] = camera.get("captured", "2026:05:04 14:05:00")
    gps = exif.get_ifd(0x8825)
    gps[1], gps[3] = refs
    gps[2], gps[4] = _rationals(latitude), _rationals(longitude)
    out = io.BytesIO()
    picture.save(out, format="JPEG", exif=exif)
    return out.getvalue()


def _rationals(pairs: Any) -> tuple[Any, ...]:
    return tuple(TiffImagePlugin.IFDRational(*pair) for pair in pairs)


def photo(content: bytes, name: str = "IMG_1.jpg") -> SimpleUploadedFile:
    """Return a photo as a browser sends it."""
    return SimpleUploadedFile(name, content, content_type="image/jpeg")


def text_of(answer: Any) -> str:
    """Return a page as it reads."""
    return unescape(answer.content.decode())
