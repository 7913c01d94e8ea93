"""The office's money pages: an invoice issued, paid in part, and what was paid reconciled."""

from collections.abc import Callable

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from estimating.models import Payment
from firm.models import Role
from tests.browser.conftest import PHONE, Clock, Complaints
from tests.browser.walk import Person
from tests.cast import PASSWORD, make_person
from tests.money_cast import TODAY, make_contract, sign_change, sure_balance

pytestmark = [
    pytest.mark.browser,
    pytest.mark.slow,
    pytest.mark.django_db(transaction=True),
]


def test_balance_is_issued_paid_and_voided(
    open_page: Callable[..., Page],
    axe: Callable[[Page], None],
    clock: Clock,
    complaints: Complaints,
) -> None:
    complaints.expect("422")
    clock.goes_to(TODAY, 12)
    make_person(Role.OWNER)
    proposal = make_contract()
    sign_change(proposal, "-20.00", "-0.41")
    draft = sure_balance(proposal)
    person = make_person(Role.OFFICE)
    office = Person(open_page(), axe)
    office.logs_in(person.username, PASSWORD)

    # 5,100.00 - 20.41 = 5,079.59
    office.opens(reverse("invoice", args=[draft.pk]))
    office.reads("$5,079.59")
    office.types(to="wren at home")
    office.presses("Issue the invoice")
    expect(office.field("to")).to_have_value("wren at home")
    office.types(to="")
    office.presses("Issue the invoice")
    office.reads("is issued.")

    office.opens(reverse("contract_money", args=[proposal.pk]))
    office.types(amount="2,04", reference="118")
    office.presses("Write it down")
    office.reads("cents come after a point")
    expect(office.field("reference")).to_have_value("118")
    assert not Payment.objects.exists()
    office.types(amount="2,040.00")
    office.picks("invoice", "Invoice")
    office.presses("Write it down")
    # 5,079.59 - 2,040.00 = 3,039.59
    office.reads("$3,039.59")

    small = Person(open_page(PHONE), axe)
    small.logs_in(person.username, PASSWORD)
    for page in (
        reverse("invoices"),
        reverse("invoice", args=[draft.pk]),
        reverse("contract_money", args=[proposal.pk]),
    ):
        small.opens(page)
        small.sees_no_sideways_scroll()

    office.opens(reverse("invoice", args=[draft.pk]))
    office.presses("Void the invoice")
    office.reads("This field is required.")
    office.types(reason="Wrong street")
    office.presses("Void the invoice")
    office.reads("Wrong street")
