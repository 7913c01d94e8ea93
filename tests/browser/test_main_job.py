"""The walk of the main job: from an empty database to a margin, in a real browser."""

import hashlib
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from estimating.models import Acceptance, Estimate
from tests.browser import first_half, second_half
from tests.browser.conftest import PHONE, Clock, Complaints
from tests.browser.walk import Person

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_a_measured_site_becomes_a_signed_proposal_a_fence_and_a_margin(
    open_page: Callable[..., Page],
    axe: Callable[[Page], None],
    complaints: Complaints,
    clock: Clock,
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
    second_half.from_the_job_to_its_margin(owner, office, crew, clock=clock, tmp_path=tmp_path)

    crew.opens("/sites/")
    crew.reads("4 Larch Court")
    crew.does_not_read("$")
    complaints.expect("403")  # pages that are not for a crew lead
    for address in (f"/estimates/{estimate.pk}/", "/proposals/", "/price-book/", "/settings/"):
        crew.page.goto(address)
        crew.does_not_read("$")
        crew.reads("not for your log-in")
    office.page.get_by_role("button", name="Log out").click()
    office.opens("/estimates/")
    expect(office.page).to_have_url(re.compile("/log-in/"))
