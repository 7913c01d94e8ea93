"""What a job leaves, as its owner reads it at a desk and on a phone."""

from collections.abc import Callable

import pytest
from django.urls import reverse
from playwright.sync_api import Page, ViewportSize, expect

from firm.models import Role
from tests.browser.conftest import DESK, PHONE, Clock, Complaints
from tests.browser.walk import Person
from tests.cast import PASSWORD, make_person
from tests.factories import make_firm
from tests.margin_world import DAY_1, make_worked_job

pytestmark = [
    pytest.mark.browser,
    pytest.mark.slow,
    pytest.mark.django_db(transaction=True),
]


@pytest.mark.parametrize("size", [DESK, PHONE], ids=["desk", "phone"])
def test_margin_is_read_without_scrolling_sideways(
    size: ViewportSize, open_page: Callable[..., Page], axe: Callable[[Page], None], clock: Clock
) -> None:
    clock.goes_to(DAY_1, 18)
    person = make_person(Role.OWNER)
    make_firm()
    job = make_worked_job(person)
    owner = Person(open_page(size), axe)
    owner.logs_in(person.username, PASSWORD)
    owner.opens(reverse("margins"))
    owner.sees_no_sideways_scroll()
    owner.page.get_by_role("link", name=str(job.number)).first.click()
    owner.looks()
    owner.sees_no_sideways_scroll()
    # The figures of tests/margin_world.py, worked by hand there.
    for words in ("-$328.19", "$486.12", "-$174.65", "$5,300.00", "$840.84"):
        owner.reads(words)
    dig = owner.page.get_by_role("row").filter(has_text="Digging").first
    for words in ("$404.78", "$805.00", "14.58 h"):
        expect(dig).to_contain_text(words)


def test_receipt_with_a_slip_is_kept_on_the_page(
    page: Page, axe: Callable[[Page], None], clock: Clock, complaints: Complaints
) -> None:
    complaints.expect("422")
    clock.goes_to(DAY_1, 18)
    owner = make_person(Role.OWNER)
    make_firm()
    job = make_worked_job(owner)
    person = make_person(Role.OFFICE)
    office = Person(page, axe)
    office.logs_in(person.username, PASSWORD)
    office.opens(reverse("job_costs", args=[job.pk]))
    office.chooses(kind="material")
    office.types(description="Rails", supplier="Dunmere Supply", amount="12,50")
    office.presses("Write it down")
    office.reads("cents come after a point")
    expect(office.field("description")).to_have_value("Rails")
    expect(office.field("amount")).to_have_value("12,50")
    office.types(amount="12.50")
    office.presses("Write it down")
    office.reads("$12.50")
    office.does_not_read("margin")
