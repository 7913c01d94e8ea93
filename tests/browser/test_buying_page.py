"""From the buying list to the yard, onto the truck and back, on a desk and on a phone."""

from collections.abc import Callable

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from firm.models import Role
from scheduling.models import Crew, FenceJob, PurchaseOrder
from tests.browser.conftest import DESK, PHONE, Clock, Complaints
from tests.browser.walk import Person
from tests.buying_cast import make_suppliers, make_two_jobs
from tests.cast import PASSWORD, make_person
from tests.crew_cast import may
from tests.factories import make_firm

pytestmark = [
    pytest.mark.browser,
    pytest.mark.slow,
    pytest.mark.django_db(transaction=True),
]


def asks_for(office: Person, first: str, last: str) -> None:
    days = office.page.get_by_role("form", name="Days of the list")
    days.get_by_label("From").fill(first)
    days.get_by_label("To", exact=True).fill(last)
    office.presses("Show")


def buys_and_receives(office: Person) -> None:
    office.follows("Buying")
    asks_for(office, "2026-05-20", "2026-05-10")
    office.reads("This is before the first day.")
    asks_for(office, "2026-05-04", "2026-05-20")
    # (14 + 6) x 38.00 + (25 + 11) x 21.50 = 760.00 + 774.00.
    office.reads("$1,534.00")
    office.sees_no_sideways_scroll()
    office.presses("Draft an order to Quarry Bend Supply")
    office.looks()
    order = PurchaseOrder.objects.get()
    posts = order.lines.get(item="post")
    office.presses("Send the order")
    office.reads("Purchase order 1001")
    office.types(**{f"count-{posts.pk}": "21"})
    office.presses("Write down what came")
    office.reads("Ordered 20. Did 21 really come?")
    office.types(**{f"count-{posts.pk}": "8"})
    office.presses("Write down what came")
    office.reads("What came is written down.")
    office.sees_no_sideways_scroll()
    for page in ("purchase_orders", "yard", "suppliers"):
        office.opens(reverse(page))
        office.sees_no_sideways_scroll()


def loads_and_brings_back(phone: Person, crew: Crew, job: FenceJob) -> None:
    phone.opens(reverse("day", args=[crew.pk, may(8)]))
    phone.follows("Load list")
    phone.sees_no_sideways_scroll()
    phone.does_not_read("$")
    # Job 12 sets on May 8 and takes 6 of the 8 posts in the yard.
    tick = phone.field(f"tick-{job.pk}-post")
    expect(phone.field(f"count-{job.pk}-post")).to_have_value("6")
    tick.check()
    phone.presses("What is ticked is loaded")
    phone.reads("6 on the truck")
    phone.opens(reverse("job_leftovers", args=[job.pk]))
    phone.sees_no_sideways_scroll()
    phone.types(post="2")
    phone.presses("It is back in the yard")
    phone.reads("It lies in the yard again")


def test_material_is_bought_received_loaded_and_brought_back(
    open_page: Callable[..., Page],
    axe: Callable[[Page], None],
    clock: Clock,
    complaints: Complaints,
) -> None:
    complaints.expect("422")
    clock.goes_to(may(4), 9)
    make_person(Role.OWNER)  # without one, every page leads to the set-up
    office_person, lead = make_person(Role.OFFICE), make_person(Role.CREW_LEAD)
    make_firm()
    crew = Crew.objects.create(name="Red crew", lead=lead)
    jobs = make_two_jobs(crew)
    for job in jobs:
        job.phases.update(material_received_on=None)
    make_suppliers()

    office = Person(open_page(DESK), axe)
    office.logs_in(office_person.username, PASSWORD)
    buys_and_receives(office)

    phone = Person(open_page(PHONE), axe)
    phone.logs_in(lead.username, PASSWORD)
    loads_and_brings_back(phone, crew, jobs[1])

    office.opens(reverse("yard"))
    expect(office.page.get_by_role("row").filter(has_text="Post 5 x 5").first).to_contain_text("4")
