"""Sites are born with what must be cleared, and tied to the enquiry they came from."""

import pytest

from firm.models import AuditEntry, Clearance, JobSite, Role
from firm.selectors.sites import sites_matching
from firm.services.enquiries import take_enquiry
from firm.services.sites import add_site, change_site
from tests.cast import NOW, make_person
from tests.firm_cast import make_customer, make_jurisdiction, make_site

pytestmark = pytest.mark.django_db


def permit_of(site: JobSite) -> Clearance:
    return site.clearances.get(kind=Clearance.Kind.PERMIT)


def test_site_has_all_six_clearances_from_the_start() -> None:
    site = make_site(jurisdiction=make_jurisdiction())
    rows = list(site.clearances.order_by("pk"))
    assert [row.kind for row in rows] == list(Clearance.Kind.values)
    assert {row.state for row in rows} == {Clearance.State.NOT_ASKED}


def test_permit_is_not_needed_where_the_town_asks_for_none() -> None:
    site = make_site(jurisdiction=make_jurisdiction(permit_required=False))
    assert permit_of(site).state == Clearance.State.NOT_NEEDED


def test_new_jurisdiction_asks_anew_whether_a_permit_is_needed() -> None:
    site = make_site(jurisdiction=make_jurisdiction(permit_required=False))
    strict = make_jurisdiction(name="Ostley", permit_required=True)
    change_site(actor=None, site=site, values={"jurisdiction": strict}, at=NOW)
    assert permit_of(site).state == Clearance.State.NOT_ASKED


def test_permit_that_is_under_way_stays_as_it_is() -> None:
    site = make_site(jurisdiction=make_jurisdiction())
    Clearance.objects.filter(pk=permit_of(site).pk).update(state="asked", number="P-1")
    free = make_jurisdiction(name="Ostley", permit_required=False)
    change_site(actor=None, site=site, values={"jurisdiction": free}, at=NOW)
    assert permit_of(site).state == Clearance.State.ASKED


def test_site_made_of_an_enquiry_is_tied_to_it() -> None:
    wren = make_customer()
    enquiry = take_enquiry(actor=None, asker=wren, values={"wanted": "A fence"}, at=NOW)
    values = {"customer": wren, "street": "9 Birch Way", "city": "Dunmere"}
    site = add_site(actor=None, values=values, at=NOW, enquiry=enquiry)
    enquiry.refresh_from_db()
    assert enquiry.site == site
    assert AuditEntry.objects.filter(action="made a site of an enquiry").exists()


def test_search_finds_street_town_and_customer() -> None:
    make_site()
    make_site(customer=make_customer(name="Ada Pike", email=""), street="1 Quay")
    office = make_person(Role.OFFICE)
    assert [site.street for site in sites_matching(office, "pike quay")] == ["1 Quay"]
    assert sites_matching(office, "dunmere").count() == 2
