"""Who may report a day, of which days, and what the page asks of the database."""

import datetime as dt
from collections.abc import Callable

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from firm.models import Role
from scheduling.models import JobPhoto
from tests.cast import make_person
from tests.firm_cast import picture_bytes
from tests.report_cast import (
    Day,
    gps_bytes,
    make_day,
    page_values,
    photo,
    rock,
    span,
    text_of,
    ticks,
)
from tests.web.answers import body_of

pytestmark = pytest.mark.django_db


PAGES = ("", "posts/", "photos/")


def test_foreign_day_does_not_exist_for_a_crew_lead(phone: Client, day: Day) -> None:
    foreign = make_day(make_person(Role.CREW_LEAD, username="other"), name="South", number=1002)
    for page in PAGES:
        assert phone.post(foreign.address + page).status_code == 404, page
    assert phone.get(foreign.address).status_code == 404
    # The own crew was never sent to the other job.
    mixed = Day(job=foreign.job, crew=day.crew, members=())
    assert phone.get(mixed.address).status_code == 404
    assert phone.get(day.address).status_code == 200


@pytest.mark.parametrize("date", [dt.date(2026, 5, 5), dt.date(1999, 12, 31), dt.date(1, 1, 1)])
def test_day_to_come_or_long_ago_is_not_reported(phone: Client, day: Day, date: dt.date) -> None:
    address = reverse("day_report", args=[day.crew.pk, date, day.job.pk])
    assert phone.get(address).status_code == 404


@pytest.mark.parametrize("role", [Role.OFFICE, Role.OWNER])
def test_office_reports_for_any_crew(
    as_role: Callable[[Role | None], Client], day: Day, role: Role
) -> None:
    client = as_role(role)
    assert client.get(day.address).status_code == 200
    assert client.post(day.address, page_values(day, bags_used="3")).status_code == 302
    assert "62.00" not in text_of(client.get(day.address))


def test_photo_is_handed_out_to_its_crew_and_the_office_alone(
    as_role: Callable[[Role | None], Client], phone: Client, day: Day
) -> None:
    phone.post(day.address + "photos/", {"photos": [photo(gps_bytes())]})
    pk = JobPhoto.objects.get().pk
    other = Client()
    other.force_login(make_person(Role.CREW_LEAD, username="other"))
    office = as_role(Role.OFFICE)
    for name in ("job_photo", "job_photo_small"):
        address = reverse(name, args=[pk])
        assert other.get(address).status_code == 404
        for client in (phone, office):
            answer = client.get(address)
            assert body_of(answer).startswith(b"\xff\xd8")
            assert answer.headers["Content-Type"] == "image/jpeg"
            assert "sandbox" in answer.headers["Content-Security-Policy"]


def queries_of(client: Client, address: str) -> int:
    with CaptureQueriesContext(
        connection,
    ) as taken:
        assert client.get(address).status_code == 200
    return len(taken)


def test_page_asks_the_database_as_often_for_many_rows_as_for_one(phone: Client, day: Day) -> None:
    day.hands_in(posts=ticks(1), rock=(rock(2),), hours=(span(day, 0, "07:00", "08:00"),))
    phone.post(day.address + "photos/", {"photos": [photo(gps_bytes())]})
    one = queries_of(phone, day.address)
    day.hands_in(
        posts=ticks(3, 4, 5),
        rock=(rock(6), rock(7, row=1)),
        hours=(span(day, 1, "07:00", "08:00"), span(day, 2, "07:00", "08:00", row=1)),
    )
    phone.post(day.address + "photos/", {"photos": [photo(picture_bytes())]})
    many = queries_of(phone, day.address)
    assert many == one
    assert many <= 40
