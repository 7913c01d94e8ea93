"""What a report changes for the office: the wait, the plan, the days on the job's page."""

import datetime as dt
import hashlib
from collections.abc import Callable
from decimal import Decimal
from html import unescape
from typing import Any
from unittest.mock import patch

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from firm.models import Role, User
from scheduling.models import DayReport, FenceJob
from scheduling.services.photos import About, look_at_photo
from scheduling.services.planning import place_job
from scheduling.services.report_entries import DayEntry, HoursEntry
from scheduling.services.reports import Photos
from tests.cast import make_person
from tests.crew_cast import make_full_job, make_red_crew, may
from tests.factories import NOW
from tests.report_cast import Day, gps_bytes, make_crew, make_day, page_values, rock, span, ticks

pytestmark = pytest.mark.django_db

# Tuesday, 5 May 2026, 18:00 in New York.
TUESDAY_EVENING = dt.datetime(2026, 5, 5, 22, tzinfo=dt.UTC)


@pytest.fixture
def lead() -> User:
    return make_person(Role.CREW_LEAD)


@pytest.fixture
def tuesday(lead: User) -> Day:
    """A job placed by rule: set on Tuesday till 13:30, panels from Saturday 11:45, so on Monday."""
    crew = make_red_crew()
    crew.lead = lead
    crew.save()
    job = make_full_job(1001, on=may(4))
    place_job(job=job, actor=None, now=NOW)
    return Day(job=job, crew=crew, members=tuple(crew.members.all()), date=may(5))


def page_of(client: Client, job: FenceJob, now: dt.datetime = TUESDAY_EVENING) -> str:
    with patch("django.utils.timezone.now", return_value=now):
        return unescape(client.get(reverse("job", args=[job.pk])).content.decode())


def report(client: Client, day: Day, **typed: Any) -> None:
    values = page_values(day, act="all", **typed)
    with patch("django.utils.timezone.now", return_value=TUESDAY_EVENING):
        answer = client.post(day.address, values)
    assert answer.status_code == 302, unescape(answer.content.decode())


def test_real_pour_moves_the_wait_and_the_plan_is_judged_by_it(
    as_office: Client, lead: User, tuesday: Day
) -> None:
    phone = Client()
    phone.force_login(lead)
    page = page_of(as_office, tuesday.job)
    assert "As planned, posts are set Tue 13:30, standard mix. Panels from Saturday 11:45" in page
    assert page.count("osts are set") == page.count("Tue 13:30, standard mix") == 1
    assert "no longer holds" not in page

    # Poured three hours later than planned: 216.5 h end on Thursday 14 at 17:00, the gates were to
    # hang at 14:00.
    report(phone, tuesday, pour_time="16:30", bags_used="20")
    page = page_of(as_office, tuesday.job)
    assert "The plan no longer holds" in page
    assert "Posts set Tue 16:30, standard mix. Panels from Saturday 14:45: 94.25 h" in page
    assert "As planned" not in page
    # Once in what the gates break, once for panels and gates together.
    assert page.count("Posts set Tue 16:30, standard mix.") == 2
    assert "20 bags. Last pour 16:30, air not written down, standard mix." in page

    # The same report again, with the air: 61.75 h at 52 F, so Friday 6:15.
    report(phone, tuesday, pour_time="16:30", bags_used="21.5", air_f="52")
    page = page_of(as_office, tuesday.job)
    assert "no longer holds" not in page
    assert "Posts set Tue 16:30, standard mix. Panels from Friday 06:15: 61.75 h" in page
    assert "21.5 bags. Last pour 16:30, 52 °F, standard mix." in page
    assert DayReport.objects.count() == 1


def hand_in(day: Day) -> None:
    hours: tuple[HoursEntry, ...] = (
        span(day, 0, "07:00", "15:30", break_min=30),
        span(day, 1, "07:00", "12:15", row=1),
    )
    day.hands_in(
        day=DayEntry(bags_used=Decimal(36), mix="standard", remarks="Muddy", extra_work="A step"),
        posts=ticks(1, 2, 3),
        hours=hours,
        rock=(rock(3, depth_in=20.0, minutes=40, note="ledge"),),
    )


@pytest.mark.parametrize("role", [Role.OWNER, Role.OFFICE, Role.CREW_LEAD])
def test_days_hours_and_rock_stand_on_the_job_page_without_cost(
    as_role: Callable[[Role | None], Client], role: Role
) -> None:
    client = as_role(role)
    lead = User.objects.filter(role=Role.CREW_LEAD).first()
    day = make_day(lead)
    hand_in(day)
    page = page_of(client, day.job)
    reported = page[page.index('id="reports"') :].split("</section>")[0]
    # 7:00 to 15:30 less 30 min is 8 h; 7:00 to 12:15 is 5.25 h; together 13.25 h.
    for words in (
        "3 posts set so far.",
        "Mon May 4, 2026, North crew",
        "36 bags.",
        "07:00 to 15:30",
        "break 30 min",
        ">8.00<",
        ">5.25<",
        ">13.25<",
        "Muddy",
        "A step",
        "ledge",
        "20 in",
    ):
        assert words in reported, words
    for secret in ("$", "41.50", "62.00"):
        assert secret not in reported, secret


def test_photo_tells_when_and_where_it_was_taken_and_its_original(as_office: Client) -> None:
    day = make_day()
    content = gps_bytes()
    about = About(subject="rock", post_number=3)
    looked_at = look_at_photo(name="IMG_7.jpg", content=content)
    day.hands_in(photos=Photos(photos=[looked_at], about=about))
    page = page_of(as_office, day.job)
    # The camera's own time and place, as in `gps_bytes`; its degrees are worked out in
    # tests/db/test_job_photos.py.
    for words in ("taken May 4, 14:05", "position 42.65515, -73.75620", "IMG_7.jpg"):
        assert words in page, words
    assert f"SHA-256 {hashlib.sha256(content).hexdigest()}" in page


def test_crew_lead_reads_reports_of_own_crews_alone(lead: User) -> None:
    day = make_day(lead)
    hand_in(day)
    foreign = Day(job=day.job, crew=make_crew("South crew"), members=())
    foreign.hands_in(day=DayEntry(mix="standard", remarks="Words of the other crew"))
    phone = Client()
    phone.force_login(lead)
    page = page_of(phone, day.job)
    assert "Muddy" in page
    assert "Words of the other crew" not in page
    assert "Words of the other crew" in page_of(_office(), day.job)


def _office() -> Client:
    client = Client()
    client.force_login(make_person(Role.OFFICE))
    return client


def test_job_page_asks_as_often_for_many_reports_as_for_one(as_office: Client) -> None:
    day = make_day()
    hand_in(day)
    with CaptureQueriesContext(connection) as one:
        page_of(as_office, day.job)
    for days in (1, 2, 3):
        later = day.at(day.date - dt.timedelta(days=days))
        later.hands_in(hours=(span(day, 0, "07:00", "15:00"),), rock=(rock(3 + days),))
    with CaptureQueriesContext(connection) as many:
        page = page_of(as_office, day.job)
    assert page.count("reported-day") == 4
    assert len(many) == len(one)


def days_page(client: Client, now: dt.datetime = TUESDAY_EVENING) -> str:
    with patch("django.utils.timezone.now", return_value=now):
        return unescape(client.get(reverse("my_days")).content.decode())


def test_days_page_leads_to_reports_that_are_missing(lead: User, tuesday: Day) -> None:
    phone = Client()
    phone.force_login(lead)
    foreign = make_day(make_person(Role.CREW_LEAD, username="other"), number=1002).at(may(5))
    page = days_page(phone)
    # Today's has its button beside the job; the days to come have none.
    assert page.count("Report this day") == 1
    assert f'href="{tuesday.address}"' in page
    assert "Hours still missing" not in page

    # A day later, ticks alone do not tell what the day cost: the hours are asked for.
    wednesday = TUESDAY_EVENING + dt.timedelta(days=1)
    tuesday.hands_in(posts=ticks(1), now=TUESDAY_EVENING)
    page = days_page(phone, wednesday)
    assert page.count("Report Tue May 5: Job 1001") == 1
    # Below today and before the days to come, where nobody scrolls for what is behind.
    today, missing, to_come = (
        page.index(words) for words in ("Today, Wed", "Hours still missing", "Monday, May 11")
    )
    assert today < missing < to_come
    assert foreign.job.label not in page
    office = _office()
    everyone = days_page(office, wednesday)
    assert "Report Mon May 4: Job 1002" in everyone
    assert "North crew" in everyone

    tuesday.hands_in(hours=(span(tuesday, 0, "07:00", "15:00"),), now=TUESDAY_EVENING)
    assert "Hours still missing" not in days_page(phone, wednesday)
    # The job's last day is Friday 15: two weeks after it, nobody remembers.
    in_time, too_late = (TUESDAY_EVENING + dt.timedelta(days=days) for days in (24, 25))
    assert "Report Fri May 15: Job 1001" in days_page(office, in_time)
    assert "Hours still missing" not in days_page(office, too_late)
