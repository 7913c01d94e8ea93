"""The curve of strength on a job's page: the office sees it, a crew lead reads the sentence."""

import datetime as dt
from html import unescape
from zoneinfo import ZoneInfo

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from firm.models import User
from scheduling.engine.air import Air
from scheduling.engine.cure import Work
from scheduling.engine.hanging import Pour
from scheduling.engine.strength_line import strength_line
from scheduling.models import CrewDay, FenceJob
from scheduling.selectors.strength_drawing import strength_drawing
from scheduling.starter import load_cure_table
from tests.crew_cast import make_full_job, make_red_crew, may, put_on

pytestmark = pytest.mark.django_db


@pytest.fixture
def job(lead: User) -> FenceJob:
    """Posts are to be set on Tuesday from 7:00 to 11:00 in New York, at 48 F."""
    crew = make_red_crew()
    crew.lead = lead
    crew.save()
    job = make_full_job(1001, on=may(4))
    put_on(job, "set", crew, may(5), hours="4", air_f=48)
    return job


def page_of(client: Client, job: FenceJob) -> str:
    return unescape(client.get(reverse("job", args=[job.pk])).content.decode())


# 48 F counts as .4297: 70.93 h and 162.82 h after 11:00.
PANELS = "25 %, panels: Fri May 8 09:55"
GATES = "45 %, gates: Tue May 12 05:49"


def test_office_and_owner_see_the_curve_and_the_moments_in_words(
    as_office: Client, as_owner: Client, job: FenceJob
) -> None:
    for client in (as_office, as_owner):
        page = page_of(client, job)
        assert '<polyline class="strength-line"' in page
        assert f"<li>{PANELS}, 70.9 h after the pour.</li>" in page
        assert f"<li>{GATES}, 162.8 h after the pour.</li>" in page
        assert f"from the pour on; {PANELS}; {GATES}</title>" in page


def test_crew_lead_reads_the_sentence_alone(as_lead: Client, job: FenceJob) -> None:
    page = page_of(as_lead, job)
    assert "Panels from Friday 11:00: the firm's table says 72 h at 48 F" in page
    assert "How the concrete hardens" not in page
    assert "<polyline" not in page.split('id="plan"', maxsplit=1)[0]


def test_office_reads_how_long_to_protect_and_how_fast_it_dries(
    as_office: Client, as_lead: Client, job: FenceJob
) -> None:
    CrewDay.objects.update(air_f=38)
    FenceJob.objects.update(is_covered_against_frost=True, mix="fast")
    page = page_of(as_office, job)
    assert "38 F on Tue May 5 11:00. Protect it for 3 days where nothing hangs" in page
    assert "leaves its top" not in page
    assert "Weather at the pour" not in page_of(as_lead, job)
    assert "How fast it dries, on Tue May 5" in page


def test_mix_that_sets_in_minutes_has_no_curve(as_office: Client, job: FenceJob) -> None:
    FenceJob.objects.update(mix="fast")
    assert "How the concrete hardens" not in page_of(as_office, job)


def test_drawing_names_each_day_and_tenth() -> None:
    poured_at = dt.datetime(2026, 5, 5, 9, tzinfo=ZoneInfo("America/Chicago"))
    pour = Pour(poured_at=poured_at, mix="standard", air=Air(said_f=48))
    line = strength_line(pour, (Work.PANELS, Work.GATES), load_cure_table())
    assert line is not None
    drawing = strength_drawing(line)
    # 180 h from Tue 5 9:00: the first midnight after 15 of 180 h, 48 + 578 x 15 / 180 = 96.2.
    assert (drawing.days[0].at, drawing.days[0].words) == (96.2, "Wed 6")
    assert [one.words for one in drawing.days][-1] == "Tue 12"
    # .4728 at the end, so five tenths, each 42 units high: 228 - 210 x .25 / .5 = 123.
    assert [one.words for one in drawing.tenths] == ["0 %", "10 %", "20 %", "30 %", "40 %", "50 %"]
    assert drawing.marks[0].y == 123.0


def test_curve_asks_nothing_of_the_database(as_office: Client, job: FenceJob) -> None:
    page_of(as_office, job)
    counts = []
    for mix in ("standard", "fast"):
        FenceJob.objects.update(mix=mix)
        with CaptureQueriesContext(connection) as asked:
            page = page_of(as_office, job)
        counts.append(len(asked))
        assert ("How the concrete hardens" in page) is (mix == "standard")
    assert counts[0] == counts[1]
