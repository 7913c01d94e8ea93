"""A crew's day at a laid-out fence, and how its sheet is read, for tests of day sheets.

700-1/2 in of vinyl at 96 at most: 8 bays of 87-9/16, 9 posts; spacer 87-9/16 - 5 = 82-9/16.
Frost 36: holes 12 x 36, 9 ft posts, 72 high over a string 12 high: top 60 above it, hole bottom
36 + 12 = 48 under it. Each 3.96 bags, so 4 (worked out in test_build_sheets). Post 7 stands at
6 x 87-9/16 = 525-3/8 in, 43 ft 9-3/8 in. Gas at 200, 6 wide: post 3, at 175-1/8, has its hole's
edge 200 - 175-1/8 - 6 = 18-7/8 from it, inside 3 + 24; posts 2 and 4 are over 80 in away.
"""

import datetime as dt
import re
from html import unescape
from io import BytesIO
from typing import Any

from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from scheduling.models import Crew, FenceJob, Machine
from tests.crew_cast import put_on
from tests.factories import NOW, TODAY, make_customer, make_site
from tests.job_cast import DAY, settle
from tests.sheet_cast import Json, fence_document, fence_line, make_laid_out_job

# Dug by hand inside its zone: post 3 stands there, as the equal bays have it.
GAS = {"station_in": 200.0, "facility_width_in": 6.0, "utility": "gas", "hand_dig": True}
GATE = {"id": "G1", "station_in": 192.0, "clear_opening_in": 48.0}


def make_job(*lines: Json, number: int = 1001, **changes: Any) -> FenceJob:
    site = make_site(
        make_customer(name=f"Customer {number}", phone="555-0177", other_phone="555-0178"),
        street=f"{number} Larch Court",
        access="Past the barn, then left",
        gate_code="4711",
        dog="One, friendly",
    )
    document = fence_document(*(lines or (fence_line(700.5, no_dig=[GAS]),)))
    # The time to cancel was over the day before: this day is judged from its first minute.
    settled = {"signed_at": NOW - 2 * DAY, "cancellation_ends_at": NOW - DAY}
    job = make_laid_out_job(document, site, number=number, **(settled | changes))
    settle(site, on=TODAY)
    return job


def setting_day(crew: Crew, job: FenceJob) -> None:
    """Put the digging and setting on today: set from 07:00 on, poured at 11:00, 60 F."""
    auger = Machine.objects.get_or_create(name="Small auger")[0]
    put_on(job, "set", crew, TODAY, hours="4", air_f=60, machine=auger)
    put_on(job, "dig", crew, TODAY, hours="2")


def address(crew: Crew, job: FenceJob, on: dt.date = TODAY, *, name: str = "day_sheet") -> str:
    return reverse(name, args=[crew.pk, on, job.pk])


def words(html: str) -> str:
    """Return what a reader sees: no tags, single spaces."""
    body = html.split("<main", 1)[-1]
    seen = re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", body)))
    return re.sub(r" ([.,:;])", r"\1", seen)


def page_of(client: Client, where: str) -> str:
    answer = client.get(where)
    assert answer.status_code == 200
    return answer.content.decode()


def read_pdf(client: Client, where: str) -> tuple[PdfReader, str]:
    answer = client.get(where)
    assert answer.status_code == 200
    assert answer.headers["Content-Type"] == "application/pdf"
    found = PdfReader(BytesIO(answer.content))
    return found, " ".join(" ".join(page.extract_text() for page in found.pages).split())
