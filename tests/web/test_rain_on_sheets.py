"""The rain written down for a day, as the crew reads it: what it bars, on every page and paper.

By scheduling/data/rain.toml digging goes on in up to half an inch, setting posts and hanging in up
to a quarter, layout in any.
"""

import pytest
from django.test import Client
from django.urls import reverse

from scheduling.models import Crew
from tests.crew_cast import may, put_on, rains
from tests.day_cast import address, make_job, page_of, read_pdf, setting_day, words
from tests.factories import NOW, TODAY

pytestmark = pytest.mark.django_db
SAID = "Rain, 0.3 in, is written down for this day. Not in that much rain: setting posts, concrete."


def test_sheet_and_paper_name_the_work_the_rain_bars(as_lead: Client, red_crew: Crew) -> None:
    job = make_job()
    setting_day(red_crew, job)
    rains(TODAY, 0.3)
    asked = f"{SAID} Ask the office before you start."
    seen = words(page_of(as_lead, address(red_crew, job)))
    _, printed = read_pdf(as_lead, address(red_crew, job, name="day_sheet_pdf"))
    assert asked in seen
    assert asked in printed
    # Nothing else on them says that one may pour.
    assert "Before concrete: do not pour yet The rain bars it." in seen
    assert "Do not pour yet. The rain bars it." in printed
    assert "may be poured" not in printed


def test_rain_of_another_day_or_too_little_of_it_says_nothing(
    as_lead: Client, red_crew: Crew
) -> None:
    job = make_job()
    setting_day(red_crew, job)
    rains(may(5), 2.0)
    assert "Rain" not in words(page_of(as_lead, address(red_crew, job)))
    rains(TODAY, 0.25)
    assert "Rain" not in words(page_of(as_lead, address(red_crew, job)))


def test_day_with_its_jobs_names_it_as_well(as_lead: Client, red_crew: Crew) -> None:
    setting_day(red_crew, make_job())
    put_on(make_job(number=1002), "layout", red_crew, TODAY, hours="1")
    rains(TODAY, 0.6)
    seen = words(page_of(as_lead, reverse("day", args=[red_crew.pk, TODAY])))
    assert "Rain: 0.6 in Not in that much rain: setting posts, concrete, digging." in seen
    assert seen.count("Not in that much rain") == 1


def test_work_the_owner_placed_against_a_rule_is_told_by_its_note(
    as_lead: Client, red_crew: Crew
) -> None:
    job = make_job()
    note = "Under a tent"
    put_on(
        job,
        "hang",
        red_crew,
        TODAY,
        override_note=note,
        override_name="Olga",
        override_at=NOW,
        is_pinned=True,
    )
    rains(TODAY, 0.6)
    seen = words(page_of(as_lead, address(red_crew, job)))
    assert "Not in that much rain" not in seen
    assert note in seen


def test_it_is_said_in_the_crew_s_language(as_lead: Client, red_crew: Crew) -> None:
    job = make_job()
    setting_day(red_crew, job)
    rains(TODAY, 0.3)
    seen = words(page_of(as_lead, f"{address(red_crew, job)}?lang=es"))
    assert "Lluvia, 0.3 in, anotada para este día. No con tanta lluvia: colocar postes" in seen
