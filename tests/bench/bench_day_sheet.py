"""Times a crew lead's day sheet, page and PDF: `python -m tests.bench.bench_day_sheet`.

The page is timed against a bare page of the same size: the same log-in and frame, and in it a
list from one query, each value written as it stands in its row, with as many rows as make it as
long. The aim: a page takes at most 3 times that, however few posts it has.
The first opening of a layout by a process, when nothing of it is kept yet, is shown beside it.
A usual job's PDF has one page and is there within 2 s; it is printed once a day.
"""

import os
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from django.http import HttpRequest
    from django.http.response import HttpResponseBase
    from django.test import Client

    from scheduling.models import FenceJob

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

RUNS = 40
FIRST_RUNS = 7
AIM = 3.0
SIZES = (5, 15, 25, 50, 100, 200)
USUAL_POSTS = 25
PDF_AIM_S = 2.0
BARE_ROWS = 3000
BARE = """{% extends "base.html" %}
{% block title %}Bare{% endblock %}{% block h1 %}Bare{% endblock %}
{% block content %}<ol class="posts">{% for row in rows %}<li id="row-{{ row.pk }}" class="post">
  <p class="post-head"><strong>{{ row.pk }}</strong> <strong>{{ row.name }}</strong></p>
  <dl><div><dt>Phone</dt><dd>{{ row.phone }}</dd></div>
    <div><dt>Mail</dt><dd>{{ row.email }}</dd></div>
    <div><dt>Street</dt><dd>{{ row.street }}</dd></div>
    <div><dt>Town</dt><dd>{{ row.city }}</dd></div></dl>
  </li>{% endfor %}</ol>{% endblock %}"""


def main() -> int:
    """Measure in a throw-away data folder; return the exit code."""
    with tempfile.TemporaryDirectory() as folder:
        os.environ["FF_VAR"] = folder
        os.environ.pop("DATABASE_URL", None)
        os.environ["DJANGO_SETTINGS_MODULE"] = "firm.settings"
        os.environ["FF_ALLOWED_HOSTS"] = "localhost,127.0.0.1,testserver"
        return measure()


def measure() -> int:
    import django
    from django.core.management import call_command

    django.setup()
    call_command("migrate", verbosity=0)
    from django.test import Client, override_settings
    from django.urls import reverse

    from firm.models import Role
    from scheduling.models import Crew
    from tests.cast import make_person
    from tests.factories import TODAY, make_firm

    make_firm()
    lead = make_person(Role.CREW_LEAD)
    crew = Crew.objects.create(name="Red crew", lead=lead)
    client = Client()
    client.force_login(lead)
    fill()
    sys.stdout.write("posts  bytes  first, ms  sheet, ms  bare, ms  times  PDF, s  PDF pages\n")
    ratios, usual_pdf_s, usual_pages = [], 0.0, 0
    with override_settings(ROOT_URLCONF=address_list()):
        for number, posts in enumerate(SIZES, start=3000):
            job = make_day(crew.pk, posts=posts, number=number)
            sheet = reverse("day_sheet", args=[crew.pk, TODAY, job.pk])
            size = len(client.get(sheet).content)
            bare = bare_of(client, size)
            first_ms = statistics.median(first(client, sheet) for _ in range(FIRST_RUNS))
            own_ms, bare_ms = pairs_of(client, sheet, bare)
            times = own_ms / bare_ms
            pdf_s, pages = printed(client, f"{sheet}sheet.pdf")
            if posts == USUAL_POSTS:
                usual_pdf_s, usual_pages = pdf_s, pages
            ratios.append(times)
            sys.stdout.write(
                f"{posts:5}  {size:5}  {first_ms:9.1f}  {own_ms:9.1f}  {bare_ms:8.1f}  {times:5.2f}"
                f"  {pdf_s:6.2f}  {pages:9}\n"
            )
    sys.stdout.write(
        f"aim: {AIM:.0f} times; PDF of {USUAL_POSTS} posts on one page in {PDF_AIM_S:.0f} s\n"
    )
    return int(max(ratios) > AIM or usual_pdf_s > PDF_AIM_S or usual_pages != 1)


def address_list() -> type:
    """Return the app's addresses with the bare page's before them."""
    from django.urls import include, path

    class Addresses:
        urlpatterns = [path("bare/<int:rows>/", bare_view()), path("", include("firm.urls"))]  # noqa: RUF012 - Django reads a list

    return Addresses


def bare_view() -> "Callable[..., HttpResponseBase]":
    """Return the view of the bare page."""
    from django.http import HttpResponse
    from django.template import engines

    from firm.access import requires
    from firm.models import Customer

    template = engines["django"].from_string(BARE)

    @requires()
    def bare(request: "HttpRequest", rows: int) -> HttpResponse:
        found = Customer.objects.order_by("pk")[:rows]
        return HttpResponse(template.render({"rows": found}, request))

    return bare


def make_day(crew: int, *, posts: int, number: int) -> "FenceJob":
    """Return a job whose posts a crew sets on a day, with a row for each post."""
    from scheduling.models import Crew
    from tests.crew_cast import put_on
    from tests.factories import TODAY, make_site
    from tests.job_cast import settle
    from tests.sheet_cast import fence_document, fence_line, make_laid_out_job

    gas = [{"station_in": 200.0, "facility_width_in": 4.0, "utility": "gas"}]
    line = fence_line(96.0 * (posts - 1), no_dig=gas)
    site = make_site(street=f"{number} Larch Court")
    job = make_laid_out_job(fence_document(line), site, number=number)
    assert job.site is not None
    settle(job.site, on=TODAY)
    for kind in ("layout", "dig", "set"):
        put_on(job, kind, Crew.objects.get(pk=crew), TODAY, hours="2")
    return job


def fill() -> None:
    """Make the rows that bare pages list."""
    from firm.models import Customer
    from tests.factories import NOW

    Customer.objects.bulk_create(
        Customer(
            name=f"Customer {number}",
            phone="555-0140",
            email="wren@larch.example",
            street="12 Larch Court",
            city="Dunmere",
            created_at=NOW,
        )
        for number in range(BARE_ROWS)
    )


def bare_of(client: "Client", size: int) -> str:
    """Return the address of the first bare page that is no shorter than `size` bytes."""
    low, high = 0, BARE_ROWS
    while high - low > 1:
        middle = (low + high) // 2
        is_short = len(client.get(f"/bare/{middle}/").content) < size
        low, high = (middle, high) if is_short else (low, middle)
    return f"/bare/{high}/"


def pairs_of(client: "Client", sheet: str, bare: str) -> tuple[float, float]:
    """Return the middle times of both pages, asked for by turns so that both share the weather."""
    pairs = [(once(client, sheet), once(client, bare)) for _ in range(RUNS + 3)][3:]
    return statistics.median(a for a, _ in pairs), statistics.median(b for _, b in pairs)


def once(client: "Client", address: str) -> float:
    """Ask for a page once; return the milliseconds of processor time: others' work counts not."""
    begun = time.process_time()
    answer = client.get(address)
    took = (time.process_time() - begun) * 1000
    if answer.status_code != 200:
        raise SystemExit(f"{address} answered {answer.status_code}.")
    return took


def first(client: "Client", address: str) -> float:
    """Return the milliseconds of a page of which nothing is kept."""
    from estimating.selectors import build_sheets
    from scheduling.selectors.sheet_content import sheet_content
    from scheduling.services import day_sheet_parts

    parts = (day_sheet_parts._of_layout, day_sheet_parts._of_day)
    for kept in (build_sheets._read, build_sheets._plan, sheet_content, *parts):
        kept.cache_clear()
    return once(client, address)


def printed(client: "Client", address: str) -> tuple[float, int]:
    """Return the middle seconds a PDF takes, once WeasyPrint is loaded, and its pages."""
    from pypdf import PdfReader

    content = client.get(address).content
    took = statistics.median(once(client, address) for _ in range(3)) / 1000
    return took, len(PdfReader(BytesIO(content)).pages)


if __name__ == "__main__":
    sys.exit(main())
