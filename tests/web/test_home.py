"""The start page: what each role sees first."""

import datetime as dt
import re
from collections.abc import Callable

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from estimating.models import Estimate
from firm.measure.business_days import add_business_days
from firm.models import Clearance, Enquiry, Role, User
from scheduling.models import Crew, FenceJob
from tests.crew_cast import give_to_crew_of, make_full_job, put_on
from tests.factories import make_customer, make_estimate, make_firm, make_site
from tests.job_cast import settle

pytestmark = pytest.mark.django_db
DAY = dt.timedelta(days=1)


@pytest.mark.parametrize(
    ("role", "status"),
    [(None, 302), (Role.OFFICE, 200), (Role.OWNER, 200)],
)
def test_office_and_owner_have_a_start_page(
    as_role: Callable[[Role | None], Client], role: Role | None, status: int
) -> None:
    assert as_role(role).get(reverse("home")).status_code == status


def test_crew_lead_begins_at_the_days_and_sees_no_prices(
    as_role: Callable[[Role | None], Client],
) -> None:
    make_estimate(title="Fence with a price")
    answer = as_role(Role.CREW_LEAD).get(reverse("home"), follow=True)
    assert answer.redirect_chain == [(reverse("my_days"), 302)]
    html = answer.content.decode()
    assert reverse("sites") in html
    assert "Fence with a price" not in html
    assert "$" not in html


def test_office_sees_visits_enquiries_estimates_and_what_waits(as_office: Client) -> None:
    make_firm()
    now = timezone.localtime()
    monday = now.replace(hour=10, minute=0) - dt.timedelta(days=now.weekday())
    for name, at, state in (
        ("Visit This Week", monday + dt.timedelta(days=2), "visit_booked"),
        ("Visit Next Week", monday + dt.timedelta(days=7), "visit_booked"),
        ("Visit Called Off", monday + dt.timedelta(days=3), "closed"),
        ("Just Asked", None, "new"),
    ):
        Enquiry.objects.create(
            customer=make_customer(name=name),
            wanted="A fence",
            appointment_at=at,
            state=state,
            created_at=now,
        )
    site = make_site(make_customer(name="Has Estimate"), street="9 Waiting Road")
    make_estimate(site)
    Clearance.objects.create(site=site, kind="permit", state="asked")

    html = as_office.get(reverse("home")).content.decode()

    for words in ("Visit This Week", "Just Asked", "Has Estimate", "9 Waiting Road"):
        assert words in html
    assert "Visit Next Week" not in html
    assert "Visit Called Off" not in html


def test_estimate_that_went_out_is_not_open(as_office: Client) -> None:
    make_estimate(state=Estimate.State.FROZEN, site=make_site(make_customer(name="Gone Out")))
    assert "Gone Out" not in as_office.get(reverse("home")).content.decode()


def test_start_page_asks_the_database_the_same_however_much_waits(as_office: Client) -> None:
    make_firm()
    counts = []
    for number in range(6):
        site = make_site(make_customer(name=f"Customer {number}"))
        make_estimate(site, number=3000 + number)
        Enquiry.objects.create(customer=site.customer, wanted="x", created_at=timezone.now())
        Clearance.objects.create(site=site, kind="permit", state="asked")
        on_the_calendar(100 + number)
        make_full_job(200 + number, on=timezone.localdate())
        with CaptureQueriesContext(connection) as asked:
            as_office.get(reverse("home"))
        counts.append(len(asked))
    assert counts[-1] == counts[0]


class TestTheCrewsMorning:
    def test_says_where_each_crew_is(self, as_office: Client) -> None:
        make_firm()
        on_the_calendar(5)
        html = as_office.get(reverse("home")).content.decode()
        assert "Crew 5" in html
        assert "layout and string, 5 Larch Court, Dunmere" in html

    def test_names_jobs_that_may_be_dug_and_have_no_day(self, as_office: Client) -> None:
        make_firm()
        today = timezone.localdate()
        make_full_job(6, on=today)
        settle(make_full_job(7, on=today).site or make_site(), on=today - 40 * DAY)
        html = as_office.get(reverse("home")).content.decode()
        assert "</a> Customer 6, Privacy fence" in html
        # Its ticket has ended: 20 days after 40 days ago.
        assert "</a> Customer 7, Privacy fence" not in html

    @pytest.mark.parametrize(
        ("ends_in", "words"), [(0, "no day to dig yet"), (5, "no day to dig yet"), (6, "")]
    )
    def test_warns_of_a_ticket_that_ends_within_five_working_days(
        self, as_office: Client, ends_in: int, words: str
    ) -> None:
        make_firm()
        today = timezone.localdate()
        ends_on = add_business_days(today, ends_in) if ends_in else today
        ticket_of(make_full_job(6, on=today), ends_on)
        html = as_office.get(reverse("home")).content.decode()
        assert ("Tickets that end soon" in html) == bool(words)
        assert words in html

    def test_says_when_digging_is_planned_after_the_ticket(self, as_office: Client) -> None:
        make_firm()
        today = timezone.localdate()
        job = make_full_job(6, on=today)
        put_on(job, "dig", Crew.objects.create(name="North"), today + 2 * DAY)
        ticket_of(job, today + DAY)
        assert "digging is planned after that" in as_office.get(reverse("home")).content.decode()

    def test_ticket_of_a_job_that_is_dug_or_renewed_is_no_matter(self, as_office: Client) -> None:
        make_firm()
        today = timezone.localdate()
        dug, renewed = make_full_job(6, on=today), make_full_job(7, on=today)
        for job in (dug, renewed):
            ticket_of(job, today)
        dug.phases.filter(kind="dig").update(finished_on=today)
        Clearance.objects.create(
            site_id=renewed.site_id or 0, kind="locate", state="clear", expires_on=today + 25 * DAY
        )
        assert "Tickets that end soon" not in as_office.get(reverse("home")).content.decode()

    def test_says_what_may_be_hung_from_today(self, as_office: Client) -> None:
        make_firm()
        today = timezone.localdate()
        job = make_full_job(6, on=today)
        # Set from 07:00 to 11:00 two days ago at 60 F: 48 h for panels (trade handbook, 8).
        put_on(job, "set", Crew.objects.create(name="North"), today - 2 * DAY, air_f=60)
        html = as_office.get(reverse("home")).content.decode()
        assert "Concrete hard today" in html
        # 11:00, or an hour beside it when the clocks have just changed.
        assert re.search("panels from 1[012]:00", html)


class TestACrewLeadsMorning:
    def test_shows_the_own_crews_days_and_no_others(
        self, as_role: Callable[[Role | None], Client]
    ) -> None:
        make_firm()
        client = as_role(Role.CREW_LEAD)
        lead = User.objects.get(role=Role.CREW_LEAD)
        today = timezone.localdate()
        own = give_to_crew_of(lead, make_full_job(6, on=today), on=today + DAY)
        far = give_to_crew_of(lead, make_full_job(8, on=today), on=today + 30 * DAY)
        on_the_calendar(7)
        html = client.get(reverse("my_days")).content.decode()
        assert "Customer 6" in html
        assert "Customer 7" not in html
        assert far.job.customer.name not in html
        assert "$" not in html
        assert own.crew.lead == lead

    def test_asks_the_same_of_the_database_with_one_day_and_with_six(
        self, as_role: Callable[[Role | None], Client]
    ) -> None:
        make_firm()
        client = as_role(Role.CREW_LEAD)
        lead = User.objects.get(role=Role.CREW_LEAD)
        today = timezone.localdate()
        counts = []
        for number in range(6):
            give_to_crew_of(lead, make_full_job(number, on=today), on=today + number * DAY)
            with CaptureQueriesContext(connection) as asked:
                client.get(reverse("my_days"))
            counts.append(len(asked))
        assert counts[-1] == counts[0]


def on_the_calendar(number: int) -> FenceJob:
    """Return a job whose layout is today, by a crew of its own."""
    today = timezone.localdate()
    job = make_full_job(number, on=today)
    put_on(job, "layout", Crew.objects.create(name=f"Crew {number}"), today)
    return job


def ticket_of(job: FenceJob, ends_on: dt.date) -> None:
    """Let a job's ticket end on a day."""
    Clearance.objects.filter(site=job.site, kind="locate").update(expires_on=ends_on)
