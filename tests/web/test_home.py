"""The start page: what each role sees first."""

import datetime as dt
from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from estimating.models import Estimate
from firm.models import Clearance, Enquiry, Role
from tests.factories import make_customer, make_estimate, make_firm, make_site

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    ("role", "status"),
    [(None, 302), (Role.CREW_LEAD, 200), (Role.OFFICE, 200), (Role.OWNER, 200)],
)
def test_everyone_of_the_firm_has_a_start_page(
    as_role: Callable[[Role | None], Client], role: Role | None, status: int
) -> None:
    assert as_role(role).get(reverse("home")).status_code == status


def test_crew_lead_sees_sites_and_no_prices(as_role: Callable[[Role | None], Client]) -> None:
    make_estimate(title="Fence with a price")
    html = as_role(Role.CREW_LEAD).get(reverse("home")).content.decode()
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


def test_start_page_asks_the_database_the_same_however_much_waits(
    as_office: Client, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    for number in range(6):
        site = make_site(make_customer(name=f"Customer {number}"))
        make_estimate(site, number=3000 + number)
        Enquiry.objects.create(customer=site.customer, wanted="x", created_at=timezone.now())
        Clearance.objects.create(site=site, kind="permit", state="asked")
    # Session, person; visits, enquiries, estimates, calls, clearances, how many are out.
    with django_assert_num_queries(8):
        as_office.get(reverse("home"))
