"""The ground as found on the crew lead's phone, and the customer's signature for its changes."""

import re
from collections.abc import Callable

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from estimating.models import ChangeOrder, GroundChange
from firm.models import Role
from scheduling.models import FenceJob
from tests.browser.conftest import PHONE, Clock, Complaints
from tests.browser.walk import Person
from tests.cast import PASSWORD, make_person
from tests.crew_cast import give_to_crew_of
from tests.factories import TODAY, make_firm
from tests.ground_cast import make_ground_job

pytestmark = [
    pytest.mark.browser,
    pytest.mark.slow,
    pytest.mark.django_db(transaction=True),
]


@pytest.fixture
def job(clock: Clock) -> FenceJob:
    clock.goes_to(TODAY, 12)
    make_firm()
    make_person(Role.OWNER)
    return make_ground_job()


@pytest.fixture
def lead(job: FenceJob, open_page: Callable[..., Page], axe: Callable[[Page], None]) -> Person:
    person = make_person(Role.CREW_LEAD)
    give_to_crew_of(person, job)
    at_work = Person(open_page(PHONE), axe)
    at_work.logs_in(person.username, PASSWORD)
    return at_work


def test_post_that_stands_elsewhere_is_signed_for_on_the_same_phone(
    job: FenceJob, lead: Person, complaints: Complaints
) -> None:
    complaints.expect("422")
    lead.opens(reverse("ground", args=[job.pk]))
    lead.sees_no_sideways_scroll()
    lead.types(post7="by the tree", note="A boulder at post 7")
    lead.presses("Work it out")
    lead.reads("is not a length")
    lead.sees_no_sideways_scroll()
    expect(lead.field("post7")).to_have_value("by the tree")
    expect(lead.field("note")).to_have_value("A boulder at post 7")

    # Line B, 16 ft: post 7 was laid out at 8-0. Bays of 96 in on centre, posts 5 in: 91 clear.
    # At 7-7 1/2, or 91.5, the bays beside it are 91.5 - 5 = 86.5 and 192 - 91.5 - 5 = 95.5 clear.
    lead.types(post7="7-7 1/2")
    lead.presses("Work it out")
    lead.sees_no_sideways_scroll()
    found = lead.page.get_by_role("region", name="What changes")
    for words in ("86-1/2 in", "95-1/2 in"):
        expect(found).to_contain_text(words)
    # What happens to a post or bay stands under it, and is not cut off at the right.
    for wrap in found.locator(".table-wrap").all():
        assert wrap.evaluate("one => one.scrollWidth <= one.clientWidth")
    assert not GroundChange.objects.exists()
    lead.presses("Save it: this is the sheet now")
    lead.reads("Version 1 is the sheet now")
    lead.does_not_read("$")

    lead.opens(reverse("job", args=[job.pk]))
    lead.page.get_by_role("link", name=re.compile("Hand over to sign")).click()
    lead.looks()
    lead.sees_no_sideways_scroll()
    lead.reads("the post laid out at 8 ft stands 4 1/2 in further back")
    lead.draws()
    lead.presses("Sign this change")
    lead.reads("Type your name")
    # The drawing is still there: nobody signs twice for a slip.
    expect(lead.field("strokes")).not_to_have_value("")
    lead.types(signed_name="Wren Halloway")
    lead.presses("Sign this change")
    lead.reads("It can't be changed any more.")
    assert lead.page.get_by_role("button", name="Sign this change").count() == 0
    assert ChangeOrder.objects.get().signed_name == "Wren Halloway"
