"""The page of a job's timeline: drawing and table say the same."""

import datetime as dt
from html import unescape
from unittest.mock import patch

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from firm.models import Clearance
from scheduling.models import Crew, FenceJob, JobDates
from tests.crew_cast import make_full_job, make_red_crew, may, put_on
from tests.factories import NOW

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _in_may() -> object:
    with patch("django.utils.timezone.now", return_value=NOW):
        yield None


@pytest.fixture
def crew(db: None) -> Crew:
    return make_red_crew()


@pytest.fixture
def job(crew: Crew) -> FenceJob:
    """Return a job set on Tuesday until 11:00 at 60 F, with all that stands on a timeline."""
    job = make_full_job(1, on=may(4))
    job.phases.filter(kind__in=["layout", "dig"]).update(finished_on=dt.date(2026, 5, 1))
    put_on(job, "set", crew, may(5), air_f=60.0)
    put_on(job, "hang", crew, may(8))
    job.phases.filter(kind="hang").update(
        needs_material=True, material_promised_on=may(7), material_received_on=None
    )
    JobDates.objects.create(
        job=job, promised_on=may(15), wanted_by=may(18), closed_days=["2026-05-06"]
    )
    Clearance.objects.filter(site=job.site, kind="locate").update(
        number="A-7", clear_on=may(4), expires_on=may(22)
    )
    return job


def page_of(client: Client, job: FenceJob) -> str:
    answer = client.get(reverse("job_timeline", args=[job.pk]))
    assert answer.status_code == 200
    return unescape(answer.content.decode())


def test_says_all_that_is_when_in_the_drawings_and_in_the_table(
    as_office: Client, job: FenceJob
) -> None:
    page = page_of(as_office, job)
    # 60 F, standard mix: panels after the table's 48 h (trade.md, section 8): Thursday 11:00.
    for name, when in (
        ("Layout and string", "finished Fri May 1"),
        ("Setting posts, concrete", "Tue May 5"),
        ("Hanging", "Fri May 8"),
        ("Gates", "no day yet"),
        ("Panels wait", "not before Thu May 7 11:00, as planned"),
        ("Locate ticket A-7", "from Mon May 4 to Fri May 22"),
        ("Material, hanging", "promised for Thu May 7"),
        ("Promised for", "Fri May 15"),
        ("Wanted by", "Mon May 18"),
        ("Customer wants nobody there", "Wed May 6"),
    ):
        assert f"{name}: {when}" in page, name
        assert f'<th scope="row">{name}</th>' in page
    assert "$" not in page


def test_job_page_leads_to_it(as_office: Client, job: FenceJob) -> None:
    html = as_office.get(reverse("job", args=[job.pk])).content.decode()
    assert f'href="{reverse("job_timeline", args=[job.pk])}"' in html


def test_job_without_a_day_or_a_site_has_one(as_office: Client, crew: Crew) -> None:
    job = make_full_job(2, on=may(4))
    FenceJob.objects.filter(pk=job.pk).update(site=None)
    assert "Digging: no day yet" in page_of(as_office, job)


def test_asks_the_database_the_same_for_few_days_and_for_many(
    as_office: Client, job: FenceJob, crew: Crew
) -> None:
    with CaptureQueriesContext(connection) as few:
        page_of(as_office, job)
    for day in (11, 12, 13):
        put_on(job, "hang", crew, may(day))
        put_on(make_full_job(100 + day, on=may(4)), "layout", crew, may(day))
    with CaptureQueriesContext(connection) as many:
        page_of(as_office, job)
    assert len(many) == len(few)
