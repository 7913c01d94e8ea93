"""The walk of the main job: from an empty database to a margin, in a real browser."""

import hashlib
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from estimating.models import Acceptance, Estimate
from firm.models import Role, User
from scheduling.models import FenceJob
from tests.browser import first_half
from tests.browser.conftest import PHONE, Complaints
from tests.browser.walk import Person
from tests.crew_cast import give_to_crew_of

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_a_measured_site_becomes_a_signed_proposal(
    open_page: Callable[..., Page],
    axe: Callable[[Page], None],
    complaints: Complaints,
    tmp_path: Path,
) -> None:
    owner, office = Person(open_page(), axe), Person(open_page(), axe)
    first_half.set_up_the_firm(owner)
    first_half.add_person(owner, office.page, "June", "office", first_half.OFFICE)
    first_half.import_customers(office, tmp_path)
    first_half.take_the_enquiry(office)
    first_half.describe_the_site(office, tmp_path)
    first_half.measure_and_price(office)
    link = first_half.send_the_proposal(office)
    customer = Person(open_page(PHONE), axe)
    complaints.expect("422")  # the signature without consent, refused on purpose
    pdf = first_half.accept(customer, link)

    acceptance = Acceptance.objects.get()
    assert pdf.startswith(b"%PDF")
    assert acceptance.pdf_sha256 == hashlib.sha256(pdf).hexdigest()
    assert str(acceptance.total) == "4969.00"
    estimate = Estimate.objects.get()
    assert (estimate.number, estimate.state) == (412, "frozen")
    office.opens("/proposals/")
    office.reads("Accepted")
    first_half.look_at_the_job(owner, office)

    crew = Person(open_page(PHONE), axe)
    first_half.add_person(owner, crew.page, "Tobias", "crew_lead", first_half.CREW)
    crew.opens("/sites/")
    crew.does_not_read("4 Larch Court")
    give_to_crew_of(User.objects.get(role=Role.CREW_LEAD), FenceJob.objects.get())
    crew.opens("/sites/")
    crew.reads("4 Larch Court")
    crew.does_not_read("$")
    first_half.opens_the_job(crew)
    crew.reads("May we dig? Not yet")
    crew.reads("Digging")
    crew.does_not_read("$")
    complaints.expect("403")  # pages that are not for a crew lead
    for address in (f"/estimates/{estimate.pk}/", "/proposals/", "/price-book/", "/settings/"):
        crew.page.goto(address)
        crew.does_not_read("$")
        crew.reads("not for your log-in")
    office.page.get_by_role("button", name="Log out").click()
    office.opens("/estimates/")
    expect(office.page).to_have_url(re.compile("/log-in/"))
