"""The page of what moved: read, ticked as seen, and what fits no longer moved."""

import datetime as dt
from html import unescape
from unittest.mock import patch

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from scheduling.models import Crew, CrewDay, FenceJob, PlanChange
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


def moved_job(number: int, crew: Crew) -> FenceJob:
    """Return a job whose digging moved, and whose hanging comes too early."""
    job = make_full_job(number, on=may(4))
    job.phases.exclude(kind__in=["set", "hang"]).update(finished_on=may(1))
    job.phases.filter(kind="set").update(labor_hours=2)
    put_on(job, "set", crew, may(5), hours="1", air_f=72.0)
    put_on(job, "hang", crew, may(6), hours="1")
    PlanChange.objects.create(
        job=job,
        cause="plan",
        why="a plan was taken",
        made_at=NOW,
        moves=[{"phase": "dig", "before": ["2026-05-06"], "after": ["2026-05-05"]}],
    )
    return job


def html_of(client: Client, name: str) -> str:
    answer = client.get(reverse(name))
    assert answer.status_code == 200
    return unescape(answer.content.decode())


def test_is_read_and_ticked_as_seen(as_office: Client, crew: Crew) -> None:
    jobs = [moved_job(number, crew) for number in (1, 2)]
    words = "Digging of Job 1 is on Tue May 5 instead of Wed May 6: a plan was taken."
    for page in ("plan_changes", "home"):
        assert words in html_of(as_office, page)
    assert "2 jobs have changes that nobody has looked at yet" in html_of(as_office, "week")
    first = PlanChange.objects.get(job=jobs[0])
    drawn = {"as_of": NOW.isoformat()}
    as_office.post(reverse("plan_change_seen", args=[first.pk]), drawn)
    assert words not in html_of(as_office, "home")
    assert "Seen lately" in html_of(as_office, "plan_changes")
    early = {"as_of": (NOW - dt.timedelta(hours=1)).isoformat()}
    as_office.post(reverse("plan_changes_seen"), early)
    assert "1 job has changes that nobody has looked at yet" in html_of(as_office, "week")
    as_office.post(reverse("plan_changes_seen"), drawn)
    assert "nobody has looked at yet" not in html_of(as_office, "week")


def test_week_counts_jobs_and_not_their_changes(as_office: Client, crew: Crew) -> None:
    jobs = [moved_job(number, crew) for number in (1, 2)]
    for cause in ("air", "rain_out"):
        PlanChange.objects.create(
            job=jobs[0],
            cause=cause,
            why="it is colder",
            made_at=NOW,
            moves=[{"phase": "set", "before": ["2026-05-06"], "after": ["2026-05-05"]}],
        )
    assert "2 jobs have changes that nobody has looked at yet" in html_of(as_office, "week")


def test_gates_are_said_of_as_several(as_office: Client, crew: Crew) -> None:
    job = moved_job(1, crew)
    days = {"before": ["2026-05-06"], "after": ["2026-05-05"]}
    PlanChange.objects.update(moves=[{"phase": "gates"} | days])
    assert f"Gates of {job} are on Tue May 5 instead of Wed May 6" in html_of(as_office, "home")
    PlanChange.objects.update(moves=[{"phase": "gates"} | days | {"after": []}])
    said = f"Gates of {job} are off the calendar; they were on Wed May 6"
    assert said in html_of(as_office, "plan_changes")


def test_what_fits_no_longer_is_moved_by_one_button(as_office: Client, crew: Crew) -> None:
    job = moved_job(1, crew)
    hang = CrewDay.objects.get(job=job, phase__kind="hang")
    where = reverse("crew_day_first", args=[hang.pk])
    assert f'action="{where}"' in html_of(as_office, "plan_changes")
    page = unescape(as_office.post(where, follow=True).content.decode())
    # Set until 8:00 on Tuesday, 32 h at 72 F (standards.md, section 5): Wednesday 16:00.
    assert "Job 1, hanging stands on Thu May 7 now." in page
    assert f'action="{where}"' not in page


def test_page_asks_the_database_the_same_for_one_job_and_for_five(
    as_office: Client, crew: Crew
) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as caught:
            html_of(as_office, "plan_changes")
        return len(caught)

    moved_job(1, crew)
    one = queries()
    for number in range(2, 6):
        moved_job(number, crew)
    assert queries() == one
