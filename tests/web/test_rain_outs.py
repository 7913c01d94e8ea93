"""The pages of a day lost to rain: looked at, moved, and the list of whom to tell."""

from html import unescape
from unittest.mock import patch

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from scheduling.models import Crew, CrewDay, FenceJob, RainOut, RainOutJob
from tests.crew_cast import days_of, make_full_job, make_red_crew, may, put_on
from tests.factories import NOW

pytestmark = pytest.mark.django_db
ASKED = {"work": "barred", "rain_in": "1 in", "crew": "", "others": "stay"}


@pytest.fixture(autouse=True)
def _in_may() -> object:
    with patch("django.utils.timezone.now", return_value=NOW):
        yield None


@pytest.fixture
def crew(db: None) -> Crew:
    return make_red_crew()


def dig_on(number: int, crew: Crew, day: int, *, hours: str = "8") -> FenceJob:
    job = make_full_job(number, on=may(4))
    job.phases.exclude(kind="dig").update(finished_on=may(1))
    job.phases.filter(kind="dig").update(labor_hours=float(hours) * 2)
    put_on(job, "dig", crew, may(day), hours=hours)
    return job


def page_of(answer: object, status: int = 200) -> str:
    assert answer.status_code == status  # type: ignore[attr-defined]
    return unescape(answer.content.decode())  # type: ignore[attr-defined]


def test_looked_at_moved_and_the_customers_told(as_office: Client, crew: Crew) -> None:
    job = dig_on(1, crew, 5)
    day = reverse("rain_out", args=[may(5)])
    assert "Red crew: " in page_of(as_office.get(day))
    look = as_office.post(day, ASKED)
    page = page_of(look)
    assert "Wed May 6" in page
    assert days_of(job) == ["5 dig 8.00"]
    moved = as_office.post(day, ASKED | {"mark": look.context["mark"]})
    row = RainOutJob.objects.get()
    calls = reverse("rain_out_calls", args=[row.rain_out_id])
    assert moved["Location"] == calls
    assert days_of(job) == ["6 dig 8.00"]
    page = page_of(as_office.get(calls))
    assert "Customer 1, 555-0117, Job 1: Because of the rain we come on Wed May 6 instead" in page
    assert "1 still to be told." in page
    as_office.post(reverse("rain_out_told", args=[row.pk]), {"told": "yes"})
    assert "Everybody was told." in page_of(as_office.get(calls))


def test_is_refused_with_everything_typed(as_office: Client, crew: Crew) -> None:
    dig_on(1, crew, 5)
    answer = as_office.post(
        reverse("rain_out", args=[may(5)]), {"work": "barred", "rain_in": "", "others": "line"}
    )
    page = page_of(answer, 422)
    assert "Say how much rain, or choose all work of the day." in page
    assert 'value="line" required id="id_others_1" checked' in page


def test_calendar_that_changed_is_shown_again(as_office: Client, crew: Crew) -> None:
    dig_on(1, crew, 5)
    day = reverse("rain_out", args=[may(5)])
    mark = as_office.post(day, ASKED).context["mark"]
    dig_on(2, crew, 6)
    page = page_of(as_office.post(day, ASKED | {"mark": mark}), 422)
    assert "The calendar has changed since you looked" in page
    assert "Thu May 7" in page
    assert not RainOut.objects.exists()


def test_page_asks_the_database_the_same_for_one_job_and_for_six(
    as_office: Client, crew: Crew
) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as caught:
            page_of(as_office.post(reverse("rain_out", args=[may(5)]), ASKED))
        return len(caught)

    dig_on(1, crew, 5, hours="1")
    one = queries()
    for number in range(2, 7):
        dig_on(number, crew, 5, hours="1")
    assert queries() == one
    assert CrewDay.objects.filter(date=may(5)).count() == 6


def test_week_month_and_day_lead_to_it(as_office: Client, crew: Crew) -> None:
    dig_on(1, crew, 5)
    where = reverse("rain_out", args=[may(5)])
    for page in (
        f"{reverse('week')}?from=2026-05-04",
        f"{reverse('month')}?month=2026-05",
        reverse("day", args=[crew.pk, may(5)]),
    ):
        assert f'href="{where}' in page_of(as_office.get(page))
