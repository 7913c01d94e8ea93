"""The month's page: what each crew does by day, and what hardens."""

import datetime as dt
import re

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from scheduling.models import Crew, CrewDaysOff
from tests.crew_cast import make_full_job, put_on
from tests.factories import make_firm

pytestmark = pytest.mark.django_db


@pytest.fixture
def crew(db: None) -> Crew:
    make_firm()
    return Crew.objects.create(name="North")


def month_html(client: Client, month: str) -> str:
    answer = client.get(reverse("month"), {"month": month})
    assert answer.status_code == 200
    return answer.content.decode()


def row_of(html: str, day: dt.date) -> str:
    """Return what a day's row says, without its tags."""
    row = html.partition(f'?from={day.isoformat()}">{day:%a %b} {day.day}</a>')[2]
    return " ".join(re.sub(r"<[^>]+>", " ", row.partition("</tr>")[0]).split())


def a_coming_tuesday() -> dt.date:
    """Return a Tuesday of next month with a whole week of that month after it."""
    first = (timezone.localdate().replace(day=1) + dt.timedelta(days=32)).replace(day=1)
    return first + dt.timedelta(days=7 + (1 - first.weekday()) % 7)


def test_shows_each_crew_s_jobs_and_what_hardens(as_office: Client, crew: Crew) -> None:
    day = a_coming_tuesday()
    job = make_full_job(1004, on=day)
    job.phases.filter(kind__in=["layout", "dig"]).update(finished_on=timezone.localdate())
    put_on(job, "set", crew, day, hours="4", air_f=60)
    put_on(job, "hang", crew, day + dt.timedelta(days=3), hours="2.5")
    off = day + dt.timedelta(days=1)
    CrewDaysOff.objects.create(crew=crew, first_day=off, last_day=off, reason="Training")
    html = month_html(as_office, f"{day:%Y-%m}")
    # 60 F, standard mix: 48 h after Tuesday 11:00 (trade handbook, section 8).
    assert "1004 set, 4 h 1004: panels from Thu 11:00" in row_of(html, day)
    assert row_of(html, off).startswith("Off: Training 1004: panels from Thu 11:00")
    thursday, friday = day + dt.timedelta(days=2), day + dt.timedelta(days=3)
    assert "panels from Thu 11:00" in row_of(html, thursday)
    assert "panels" not in row_of(html, friday)
    assert "1004 hang, 2.50 h" in row_of(html, friday)
    assert row_of(html, day - dt.timedelta(days=1)) == ""
    assert row_of(html, day - dt.timedelta(days=2)) == "No working day"
    assert 'fill="url(#cure-hatch)"' in html
    assert "$" not in html


def test_has_a_row_for_each_day_and_leads_to_the_months_beside_it(
    as_office: Client, crew: Crew
) -> None:
    # 2028 is a leap year; December is followed by the next year's January.
    assert month_html(as_office, "2028-02").count('<th scope="row">') == 29
    html = month_html(as_office, "2026-12")
    assert html.count('<th scope="row">') == 31
    assert 'href="?month=2026-11"' in html
    assert 'href="?month=2027-01"' in html


@pytest.mark.parametrize("month", ["2026-13", "June", "0001-01", "2026-06-01", "9999-12"])
def test_month_that_is_none_is_no_page(as_office: Client, crew: Crew, month: str) -> None:
    assert as_office.get(reverse("month"), {"month": month}).status_code == 404


def test_is_the_offices_alone(as_lead: Client) -> None:
    assert as_lead.get(reverse("month")).status_code == 403


def test_week_and_month_lead_to_one_another(as_office: Client, crew: Crew) -> None:
    week = as_office.get(reverse("week"), {"week": "2026-W24"}).content.decode()
    # Week 24 of 2026 begins on Monday, June 8 (ISO 8601).
    assert f'href="{reverse("month")}?month=2026-06"' in week
    assert f'href="{reverse("week")}?from=2026-06-08"' in month_html(as_office, "2026-06")


def test_asks_the_database_as_often_for_many_jobs_as_for_few(as_office: Client, crew: Crew) -> None:
    day = a_coming_tuesday()

    def count() -> int:
        with CaptureQueriesContext(connection) as asked:
            month_html(as_office, f"{day:%Y-%m}")
        return len(asked)

    put_on(make_full_job(1, on=day), "set", crew, day, air_f=60)
    count()
    few = count()
    for number in (2, 3, 4):
        other = Crew.objects.create(name=f"Crew {number}")
        put_on(make_full_job(number, on=day), "set", other, day, air_f=60)
    assert count() == few


def test_frost_bars_hanging_and_is_not_told_as_a_wait_nobody_knows(
    as_office: Client, crew: Crew
) -> None:
    day = a_coming_tuesday()
    job = make_full_job(1004, on=day)
    # 20 F: under the cold limit of 40 F the mix gives no wait (trade handbook, section 8).
    put_on(job, "set", crew, day, hours="4", air_f=20)
    put_on(job, "hang", crew, day + dt.timedelta(days=3), hours="2.5")
    said = row_of(month_html(as_office, f"{day:%Y-%m}"), day)
    assert "1004: panels: not to hang for now" in said
    assert "no wait known" not in said
