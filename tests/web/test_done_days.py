"""Days ahead of work that a crew reported as finished: told of until somebody takes them off."""

import datetime as dt
import re
from unittest.mock import patch

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from firm.models import User
from scheduling.models import Crew, CrewDay, FenceJob
from tests.crew_cast import make_full_job, make_red_crew, may, put_on, rains
from tests.day_cast import make_job, page_of, read_pdf, words
from tests.factories import NOW, TODAY

pytestmark = pytest.mark.django_db
TOMORROW = TODAY + dt.timedelta(days=1)
MORE = "Digging of Job 1, Customer 1, on {} (Red crew): finished since Mon May 4."


@pytest.fixture(autouse=True)
def _in_may() -> object:
    with patch("django.utils.timezone.now", return_value=NOW):
        yield None


@pytest.fixture
def crew(lead: User) -> Crew:
    row = make_red_crew()
    row.lead = lead
    row.save()
    return row


def dug_early(number: int, crew: Crew) -> FenceJob:
    """Return a job dug and set by Monday the 4th, though its calendar has two more days of it."""
    job = make_full_job(number, on=may(4))
    for day in (4, 5, 6):
        put_on(job, "dig", crew, may(day), hours="2")
    job.phases.exclude(kind__in=["hang", "gates"]).update(finished_on=may(4))
    return job


@pytest.mark.parametrize("name", ["week", "plan_changes"])
def test_are_told_of_and_taken_off_where_they_are_told_of(
    as_office: Client, crew: Crew, name: str
) -> None:
    job = dug_early(1, crew)
    where = reverse(name)
    html = page_of(as_office, where)
    assert [MORE.format(day) in words(html) for day in ("Mon May 4", "Tue May 5", "Wed May 6")] == [
        False,
        True,
        True,
    ]
    assert CrewDay.objects.filter(job=job).count() == 3
    row = CrewDay.objects.get(job=job, date=may(5))
    off = reverse("crew_day_drop", args=[row.pk])
    (form,) = re.findall(f'<form[^>]*action="{off}".*?</form>', html, re.DOTALL)
    (back,) = re.findall(r'name="from" value="([^"]*)"', form)
    after = as_office.post(off, {"from": back}, follow=True)
    assert after.request["PATH_INFO"] == where
    seen = words(after.content.decode())
    assert "Job 1, digging on Tue May 5 is off the calendar." in seen
    assert MORE.format("Tue May 5") not in seen
    assert MORE.format("Wed May 6") in seen


def test_are_no_more_told_of_once_the_work_is_taken_up_again(as_office: Client, crew: Crew) -> None:
    job = dug_early(1, crew)
    job.phases.update(finished_on=None)
    for name in ("week", "plan_changes"):
        assert "Finished already" not in page_of(as_office, reverse(name))


def test_block_and_its_page_say_so(as_office: Client, crew: Crew) -> None:
    job = dug_early(1, crew)
    assert page_of(as_office, reverse("week")).count(">done already<") == 4
    row = CrewDay.objects.get(job=job, date=may(5))
    seen = words(page_of(as_office, reverse("crew_day", args=[row.pk])))
    assert "Digging is finished since Mon May 4: nothing is left to be placed." in seen
    assert "goes back to the list" not in seen


def test_crew_lead_reads_it_in_both_languages(as_lead: Client, crew: Crew) -> None:
    job = dug_early(1, crew)
    put_on(job, "hang", crew, may(6), hours="2")
    seen = words(page_of(as_lead, reverse("my_days")))
    assert seen.count("Done already Digging.") == 2
    # On Wednesday there is hanging to go for.
    assert seen.count("Ask the office whether you still go.") == 1
    spanish = words(page_of(as_lead, f"{reverse('my_days')}?lang=es"))
    assert spanish.count("Ya hecho Escarbar.") == 2
    assert spanish.count("Pregunte a la oficina si todavía van.") == 1


def test_load_list_says_what_nothing_is_loaded_for(as_lead: Client, crew: Crew) -> None:
    job = make_job()
    put_on(job, "dig", crew, TOMORROW)
    put_on(job, "hang", crew, TOMORROW)
    where = [reverse(name, args=[crew.pk, TOMORROW]) for name in ("crew_load", "crew_load_pdf")]
    assert "Done already" not in words(page_of(as_lead, where[0]))
    job.phases.filter(kind__in=["dig", "set"]).update(finished_on=TODAY)
    assert "Done already: digging" in words(page_of(as_lead, where[0]))
    assert "Done already: digging" in read_pdf(as_lead, where[1])[1]


def test_pages_ask_the_database_the_same_for_one_and_for_three(
    as_office: Client, crew: Crew
) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as caught:
            page_of(as_office, reverse("plan_changes"))
        return len(caught)

    dug_early(1, crew)
    one = queries()
    for number in (2, 3):
        dug_early(number, crew)
    assert queries() == one


@pytest.mark.parametrize("name", ["week", "plan_changes"])
def test_rain_on_days_of_finished_work_asks_nobody_to_move_them(
    as_office: Client, crew: Crew, name: str
) -> None:
    job = dug_early(1, crew)
    rains(may(5), 2.0)
    seen = words(page_of(as_office, reverse(name)))
    assert MORE.format("Tue May 5") in seen
    assert "no digging on Tue May 5" not in seen
    # Taken up again it is to be moved.
    job.phases.filter(kind="dig").update(finished_on=None)
    assert "no digging on Tue May 5" in words(page_of(as_office, reverse(name)))
