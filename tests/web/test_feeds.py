"""Calendar feeds: what they hold, by the rules of RFC 5545, and who reads and makes them."""

import datetime as dt
from collections.abc import Callable, Iterator

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone
from icalendar import Calendar

from firm.models import AuditEntry, Role, User
from scheduling.feeds import crew_days_ics
from scheduling.models import CalendarFeed, Crew
from scheduling.services.feeds import make_feed, note_feed_reading
from tests.crew_cast import make_full_job, put_on
from tests.factories import NOW, make_firm

pytestmark = pytest.mark.django_db
OCTOBER_30, NOVEMBER_2 = dt.date(2026, 10, 30), dt.date(2026, 11, 2)
BEFORE = dt.datetime(2026, 10, 20, 15, tzinfo=dt.UTC)
HOUR = dt.timedelta(hours=1)


@pytest.fixture
def _in_chicago() -> Iterator[None]:
    with timezone.override("America/Chicago"):
        yield


@pytest.fixture
def crew(db: None) -> Crew:
    make_firm()
    return Crew.objects.create(name="North")


def read(token: str) -> str:
    answer = Client().get(reverse("calendar_feed", args=[token]))
    assert answer.status_code == 200
    return answer.content.decode()


def events_of(content: bytes) -> list[dict[str, object]]:
    return [
        {
            "summary": str(one["SUMMARY"]),
            "from": one.decoded("DTSTART"),
            "to": one.decoded("DTEND"),
        }
        for one in Calendar.from_ical(content).walk("VEVENT")
    ]


@pytest.mark.usefixtures("_in_chicago")
class TestWhatItHolds:
    def test_hours_are_real_ones_on_both_sides_of_the_change_of_clocks(self, crew: Crew) -> None:
        job = make_full_job(1004, on=OCTOBER_30)
        put_on(job, "dig", crew, OCTOBER_30, hours="4")
        put_on(job, "set", crew, NOVEMBER_2, hours="8")
        found = events_of(crew_days_ics(crew=None, host="a.example", now=BEFORE))
        # Clocks go back on Sunday, November 1, 2026 (first Sunday of November, 15 USC 260a).
        # October 30 is CDT, UTC-5: 7:00 is 12:00 UTC, 4 h on 16:00 UTC.
        # November 2 is CST, UTC-6: 7:00 is 13:00 UTC, 8 h on 21:00 UTC.
        assert found == [
            {
                "summary": "Job 1004: digging",
                "from": dt.datetime(2026, 10, 30, 12, tzinfo=dt.UTC),
                "to": dt.datetime(2026, 10, 30, 16, tzinfo=dt.UTC),
            },
            {
                "summary": "Job 1004: setting posts, concrete",
                "from": dt.datetime(2026, 11, 2, 13, tzinfo=dt.UTC),
                "to": dt.datetime(2026, 11, 2, 21, tzinfo=dt.UTC),
            },
        ]

    def test_keeps_the_rules_of_the_rfc(self, crew: Crew) -> None:
        job = make_full_job(1004, on=OCTOBER_30)
        assert job.site is not None
        street = "12 Élan; Court, back\\lot, " + "behind the long row of larches " * 3
        job.site.street = street.strip()
        job.site.save()
        block = put_on(job, "dig", crew, OCTOBER_30, note="Gate code 4711")
        raw = crew_days_ics(crew=crew, host="a.example", now=BEFORE)
        # RFC 5545, 3.1: lines end in CRLF and hold at most 75 octets without it.
        assert raw.endswith(b"\r\n")
        assert b"\n" not in raw.replace(b"\r\n", b"")
        assert b"\r" not in raw.replace(b"\r\n", b"")
        assert max(len(line) for line in raw.split(b"\r\n")) <= 75
        lines = raw.replace(b"\r\n ", b"").decode().split("\r\n")
        # 3.6 and 3.6.1: what must stand in a calendar and in an event, once each.
        names = [line.partition(":")[0].partition(";")[0] for line in lines]
        for name in ("PRODID", "VERSION", "UID", "DTSTAMP", "DTSTART", "DTEND"):
            assert names.count(name) == 1, name
        assert "VERSION:2.0" in lines
        assert f"UID:crew-day-{block.pk}@a.example" in lines
        # 3.3.5: form 2, UTC, ends in Z. 3.3.11: backslash, semicolon, comma are escaped, a line
        # break is a backslash and n.
        assert "DTSTART:20261030T120000Z" in lines
        (location,) = [line for line in lines if line.startswith("LOCATION")]
        assert location.startswith("LOCATION:12 Élan\\; Court\\, back\\\\lot\\, behind")
        assert "DESCRIPTION:North\\n4 h on the clock" in lines
        (event,) = Calendar.from_ical(raw).walk("VEVENT")
        assert str(event["LOCATION"]).startswith(street.strip())

    def test_tells_no_secret(self, crew: Crew) -> None:
        job = make_full_job(1004, on=OCTOBER_30)
        job.customer.phone = "555-0142"
        job.customer.save()
        put_on(job, "dig", crew, OCTOBER_30, note="Gate code 4711")
        text = crew_days_ics(crew=crew, host="a.example", now=BEFORE).decode()
        assert "Job 1004" in text
        for secret in ("4711", "$", "5,000", "5000.00", "Customer 1004", "555-0142"):
            assert secret not in text

    def test_shows_a_month_back_and_four_months_ahead_of_one_crew(self, crew: Crew) -> None:
        other, day = Crew.objects.create(name="South"), dt.timedelta(days=1)
        today = BEFORE.date()
        job = make_full_job(1004, on=today)
        for kind, away in (("layout", -31), ("dig", -30), ("set", 120), ("hang", 121)):
            put_on(job, kind, crew, today + away * day)
        put_on(job, "gates", other, today)

        def shown(of: Crew | None) -> list[object]:
            found = events_of(crew_days_ics(crew=of, host="a.example", now=BEFORE))
            return [one["summary"] for one in found]

        assert shown(crew) == ["Job 1004: digging", "Job 1004: setting posts, concrete"]
        assert len(shown(None)) == 3

    def test_speaks_the_crews_language(self, crew: Crew) -> None:
        crew.language = "es"
        crew.save()
        put_on(make_full_job(1004, on=OCTOBER_30), "dig", crew, OCTOBER_30)
        text = crew_days_ics(crew=crew, host="a.example", now=BEFORE).decode()
        assert "SUMMARY:Trabajo 1004: escarbar" in text
        assert "4 h de reloj" in text
        assert "días de la cuadrilla" in text
        assert "Job 1004: digging" in crew_days_ics(crew=None, host="a", now=BEFORE).decode()

    def test_empty_one_is_a_calendar_too(self, crew: Crew) -> None:
        raw = crew_days_ics(crew=crew, host="a.example", now=BEFORE)
        assert Calendar.from_ical(raw).walk("VEVENT") == []


class TestTheAddress:
    def test_needs_no_log_in_and_leaves_no_trace(self, crew: Crew, owner: User) -> None:
        _, token = make_feed(actor=owner, crew=crew, now=NOW)
        answer = Client().get(reverse("calendar_feed", args=[token]))
        assert answer.status_code == 200
        assert answer.headers["Content-Type"] == "text/calendar; charset=utf-8"
        assert "private" in answer.headers["Cache-Control"]
        assert answer.headers["Referrer-Policy"] == "no-referrer"
        assert not answer.cookies

    def test_is_kept_as_a_hash_only(self, crew: Crew, owner: User) -> None:
        feed, token = make_feed(actor=owner, crew=None, now=NOW)
        # 32 bytes are 43 characters of base 64 without the filling (RFC 4648, 5).
        assert len(token) == 43
        row = CalendarFeed.objects.values().get(pk=feed.pk)
        assert token not in str(row)
        kept = AuditEntry.objects.get(action="made a calendar feed")
        assert token not in str(kept.after)
        assert feed.token_sha256 not in str(kept.after)

    def test_unknown_and_revoked_are_not_there(
        self, crew: Crew, owner: User, as_owner: Client
    ) -> None:
        feed, token = make_feed(actor=owner, crew=crew, now=NOW)
        assert Client().get(reverse("calendar_feed", args=["x" * 43])).status_code == 404
        read(token)
        assert as_owner.post(reverse("calendar_feed_revoke", args=[feed.pk])).status_code == 302
        assert Client().get(reverse("calendar_feed", args=[token])).status_code == 404

    def test_ends_with_what_its_maker_may_see(self, lead: User, red_crew: Crew) -> None:
        _, token = make_feed(actor=lead, crew=red_crew, now=NOW)
        read(token)
        red_crew.lead = None
        red_crew.save()
        assert Client().get(reverse("calendar_feed", args=[token])).status_code == 404
        red_crew.lead = lead
        red_crew.save()
        read(token)
        User.objects.filter(pk=lead.pk).update(is_active=False)
        assert Client().get(reverse("calendar_feed", args=[token])).status_code == 404

    def test_reading_is_noted_once_an_hour(self, crew: Crew, owner: User) -> None:
        feed, _ = make_feed(actor=owner, crew=crew, now=NOW)
        for later, noted in ((0, 0), (0.9, 0), (1, 1), (1.5, 1), (2.5, 2.5)):
            note_feed_reading(feed=feed, now=NOW + later * HOUR)
            feed.refresh_from_db()
            assert feed.last_read_at == NOW + noted * HOUR

    def test_asks_the_database_as_often_for_many_days_as_for_few(
        self, crew: Crew, owner: User
    ) -> None:
        _, token = make_feed(actor=owner, crew=None, now=NOW)
        today = dt.datetime.now(tz=dt.UTC).date()

        def count() -> int:
            with CaptureQueriesContext(connection) as asked:
                read(token)
            return len(asked)

        put_on(make_full_job(1, on=today), "dig", crew, today)
        read(token)
        few = count()
        for number in (2, 3, 4):
            job = make_full_job(number, on=today)
            put_on(job, "dig", crew, today, hours="1")
            put_on(job, "set", crew, today, hours="1")
        assert count() == few


class TestThePage:
    def test_shows_the_address_once(self, as_office: Client, crew: Crew) -> None:
        page = reverse("calendar_feeds")
        html = as_office.post(page, {"crew": crew.pk}).content.decode()
        feed = CalendarFeed.objects.get()
        address = html.partition('value="http://testserver/feeds/')[2].partition(".ics")[0]
        assert CalendarFeed.digest_of(address) == feed.token_sha256
        again = as_office.get(page).content.decode()
        assert address not in again
        assert feed.token_start in again

    def test_crew_lead_makes_one_for_the_own_crew_only(
        self, as_lead: Client, red_crew: Crew, owner: User
    ) -> None:
        other = Crew.objects.create(name="Blue crew")
        whole, _ = make_feed(actor=owner, crew=None, now=NOW)
        page = reverse("calendar_feeds")
        assert as_lead.post(page, {"crew": other.pk}).status_code == 422
        assert as_lead.post(page, {"crew": ""}).status_code == 422
        assert as_lead.post(page, {"crew": red_crew.pk}).status_code == 200
        assert CalendarFeed.objects.filter(crew=red_crew).count() == 1
        html = as_lead.get(page).content.decode()
        assert "Blue crew" not in html
        assert whole.token_start not in html
        assert as_lead.post(reverse("calendar_feed_revoke", args=[whole.pk])).status_code == 404

    @pytest.mark.parametrize("role", [Role.OWNER, Role.OFFICE])
    def test_office_makes_one_of_the_whole_firm(
        self, as_role: Callable[[Role | None], Client], role: Role, crew: Crew
    ) -> None:
        assert as_role(role).post(reverse("calendar_feeds"), {"crew": ""}).status_code == 200
        assert CalendarFeed.objects.get().crew is None
