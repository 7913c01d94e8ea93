"""The end of a job on the crew lead's phone: punch list, walk-through, the customer's signature."""

import re
from collections.abc import Callable
from decimal import Decimal

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from estimating.models import Invoice
from firm.models import Role
from scheduling.models import Completion, FenceJob
from tests.browser.conftest import Clock, Complaints
from tests.browser.walk import Person
from tests.cast import PASSWORD, make_person
from tests.crew_cast import give_to_crew_of
from tests.money_cast import TODAY, draft_change, make_contract, pay

pytestmark = [
    pytest.mark.browser,
    pytest.mark.slow,
    pytest.mark.django_db(transaction=True),
]


def test_customer_signs_after_a_slip_and_the_balance_stands_drafted(
    phone_page: Page, axe: Callable[[Page], None], clock: Clock, complaints: Complaints
) -> None:
    complaints.expect("422")
    clock.goes_to(TODAY, 12)
    make_person(Role.OWNER)
    job = FenceJob.objects.get(proposal=make_contract())
    pay(job.proposal, "2040.00")
    draft_change(job.proposal)
    person = make_person(Role.CREW_LEAD)
    give_to_crew_of(person, job)
    lead = Person(phone_page, axe)
    lead.logs_in(person.username, PASSWORD)

    lead.opens(reverse("job_finish", args=[job.pk]))
    lead.sees_no_sideways_scroll()
    lead.reads("Nobody has signed change order 1")
    lead.types(text="Cap missing", post_number="12345")
    lead.presses("Add to the list")
    expect(lead.field("text")).to_have_value("Cap missing")
    lead.types(post_number="4")
    lead.presses("Add to the list")

    lead.types(signed_name="Wren Halloway", remarks="Well built")
    lead.draws()
    lead.presses("Finish the job")
    lead.reads("Still to be put right: Cap missing.")
    lead.sees_no_sideways_scroll()
    assert not Completion.objects.exists()
    expect(lead.field("remarks")).to_have_value("Well built")
    expect(lead.field("strokes")).not_to_have_value("")

    lead.page.get_by_label("The customer agrees").check()
    lead.page.get_by_label("These phases are finished too").check()
    lead.presses("Finish the job")
    lead.reads("Signed by Wren Halloway")
    lead.reads("Cap missing (post 4)")
    lead.does_not_read("$")
    expect(lead.page.get_by_role("img", name="Signature of Wren Halloway")).to_be_visible()
    lead.page.get_by_role("button", name=re.compile("Done.*Cap missing")).click()
    lead.reads("done ")
    # 5,100.00 less the 2,040.00 received; the change nobody signed is no part of it.
    balance = Invoice.objects.get()
    assert (balance.state, balance.amount) == ("draft", Decimal("3060.00"))
