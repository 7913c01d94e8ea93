"""The pages of a day lost to rain: looked at, moved, and the list of whom to tell."""

from html import unescape
from unittest.mock import patch

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from scheduling.models import Crew, CrewDay, FenceJob, RainOut, RainOutJob
from tests.buying_cast import BAG, POST, RAIL, make_two_jobs, put_in
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


def test_customer_is_told_of_the_days_that_stay_as_well(as_office: Client, crew: Crew) -> None:
    job = dig_on(1, crew, 5)
    job.phases.filter(kind="dig").update(labor_hours=32)
    put_on(job, "dig", crew, may(6), hours="8")
    day = reverse("rain_out", args=[may(5)])
    look = as_office.post(day, ASKED)
    moved = as_office.post(day, ASKED | {"mark": look.context["mark"]})
    assert "we come on Thu May 7 instead of Tue May 5, and on Wed May 6 as said." in page_of(
        as_office.get(moved["Location"])
    )


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


def test_customer_whose_work_could_not_be_moved_is_on_the_list_with_the_phone(
    as_office: Client, crew: Crew
) -> None:
    dig_on(1, crew, 5)
    day = reverse("rain_out", args=[may(5)])
    look = as_office.post(day, ASKED)
    calls = as_office.post(day, ASKED | {"mark": look.context["mark"]})["Location"]
    row = RainOutJob.objects.get()
    stuck = RainOutJob.objects.create(
        rain_out=row.rain_out,
        job=dig_on(2, crew, 5),
        fate=RainOutJob.Fate.STUCK,
        why="A block is fixed.",
    )
    as_office.post(reverse("rain_out_told", args=[row.pk]), {"told": "yes"})
    page = page_of(as_office.get(calls))
    assert "Everybody was told." not in page
    assert "Those whose work could not be moved stand below." in page
    said = page.partition("Could not be moved</h2>")[2]
    assert "tell these customers too" in said
    assert f'href="tel:{stuck.job.customer.phone}"' in said
    row.delete()
    assert "nobody needs to be told" not in page_of(as_office.get(calls))


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


def test_nothing_that_can_move_is_not_offered_to_be_moved(as_office: Client, crew: Crew) -> None:
    job = make_full_job(1, on=may(4))
    job.phases.exclude(kind__in=["set", "hang"]).update(finished_on=may(1))
    put_on(job, "set", crew, may(5), hours="4", air_f=72)
    put_on(job, "hang", crew, may(7), hours="4", is_pinned=True)
    page = page_of(as_office.post(reverse("rain_out", args=[may(5)]), ASKED))
    assert "Can't be moved." in page
    assert "Move it" not in page
    assert "Leave it as it is" in page


def test_material_it_leaves_short_is_told_before_and_after(as_office: Client, crew: Crew) -> None:
    """60 bags lie in the yard: job 12 takes its 27 on the 8th, and job 11 lacks 19 of its 52.

    Moved behind job 11, job 12 finds 8 and lacks 19.
    """
    jobs = make_two_jobs(crew)
    for job in jobs:
        job.phases.update(material_received_on=None, material_promised_on=None)
        done = job.phases.exclude(kind__in=["set", "hang"])
        done.update(finished_on=may(1), needs_material=False)
    for item, count in ((POST, 20), (RAIL, 36), (BAG, 60)):
        put_in(item, count)
    day, asked = reverse("rain_out", args=[may(8)]), ASKED | {"work": "all"}
    look = as_office.post(day, asked)
    told = "Job 12: setting posts on Mon May 11, 2026 lacks material. "
    told += "Concrete 80 lb: 19 still to buy."
    page = page_of(look)
    assert "Material that comes too late then" in page
    assert told in page
    as_office.post(day, asked | {"mark": look.context["mark"]})
    page = page_of(as_office.get(reverse("rain_out_calls", args=[RainOut.objects.get().pk])))
    assert "Material that came too late by it" in page
    assert told in page
