"""What a crew lead's phone shows of the tables and lists that they fill in, in both languages."""

from collections.abc import Callable

import pytest
from django.urls import reverse
from playwright.sync_api import Page

from firm.models import Role
from scheduling.models import Crew, FenceJob, JobPhase, StockMove, YardStock
from scheduling.selectors.material import material_standing
from tests.browser.conftest import PHONE, Clock
from tests.browser.walk import Person
from tests.cast import PASSWORD, make_person
from tests.crew_cast import give_to_crew_of, put_on
from tests.factories import NOW, TODAY, make_firm
from tests.ground_cast import ground_document, make_ground_job

pytestmark = [
    pytest.mark.browser,
    pytest.mark.slow,
    pytest.mark.django_db(transaction=True),
]

# Tables wider than the box they stand in, and lists whose chosen words are wider than their field.
CUT_TABLES = """() => [...document.querySelectorAll('main table')]
  .filter((one) => one.checkVisibility())
  .map((one) => [one, one.parentElement])
  .filter(([one, box]) => {
    const right = parseFloat(getComputedStyle(box).paddingRight);
    const room = box.getBoundingClientRect().right - right;
    return one.getBoundingClientRect().right > room + 0.5 || box.scrollWidth > box.clientWidth;
  })
  .map(([one, box]) => `${one.className}: ${one.scrollWidth} px in ${box.clientWidth}`)"""
CUT_CHOICES = """() => [...document.querySelectorAll('main select')]
  .filter((one) => one.checkVisibility() && !one.name.endsWith('member'))
  .flatMap((one) => [...one.options].map((choice) => {
    const alone = one.cloneNode(false);
    alone.append(choice.cloneNode(true));
    alone.style.cssText = 'width: max-content; position: absolute';
    one.after(alone);
    const wanted = alone.getBoundingClientRect().width;
    alone.remove();
    return [one, choice.text, wanted, one.getBoundingClientRect().width];
  }))
  .filter(([, , wanted, has]) => wanted > has + 0.5)
  .map(([one, text, wanted, has]) => `${one.name}: ${text}, ${wanted} px in ${has}`)"""


@pytest.fixture
def job(clock: Clock) -> FenceJob:
    clock.goes_to(TODAY, 12)
    make_firm()
    make_person(Role.OWNER)
    legs = [{"length_in": 360.5, "turn_deg": 0.0}, {"length_in": 1240.75, "turn_deg": 90.0}]
    job = make_ground_job(document=ground_document(legs=legs))
    for position, kind in enumerate(("dig", "set", "hang", "clean_up"), start=1):
        JobPhase.objects.create(
            job=job, position=position, kind=kind, labor_hours=4, labour_cost=200
        )
    return job


@pytest.fixture(params=["en", "es"])
def lead(
    request: pytest.FixtureRequest,
    job: FenceJob,
    open_page: Callable[..., Page],
    axe: Callable[[Page], None],
) -> Person:
    person = make_person(Role.CREW_LEAD)
    block = give_to_crew_of(person, job)
    for kind in ("set", "hang"):
        put_on(job, kind, block.crew, TODAY)
    Crew.objects.update(language=request.param)
    at_work = Person(open_page(PHONE), axe)
    at_work.page.goto("/log-in/")
    at_work.types(username=person.username, password=PASSWORD)
    at_work.page.locator("main button[type=submit]").click()
    at_work.page.wait_for_load_state()
    assert at_work.page.locator("html").get_attribute("lang") == request.param
    return at_work


def nothing_is_cut(lead: Person) -> None:
    lead.sees_no_sideways_scroll()
    assert lead.page.evaluate(CUT_TABLES) == []
    assert lead.page.evaluate(CUT_CHOICES) == []


def test_ground_page_fits(lead: Person, job: FenceJob) -> None:
    lead.opens(reverse("ground", args=[job.pk]))
    assert lead.page.locator(".ground-posts").count() == 2
    lead.page.locator(".ground-marks").first.evaluate("(one) => { one.open = true }")
    nothing_is_cut(lead)


def test_load_list_fits(lead: Person, job: FenceJob) -> None:
    for row in material_standing().rows:
        item, some = row.item, max(1, row.item.count // 3)
        stock = YardStock.objects.create(item=item.item, name=item.name, unit=item.unit, count=some)
        StockMove.objects.create(
            stock=stock, kind="loaded", change=-some, job=job, moved_on=TODAY, written_at=NOW
        )
    lead.opens(reverse("crew_load", args=[Crew.objects.get().pk, TODAY]))
    assert lead.page.locator(".load-row").count() > 1
    for one in (".badge-ok", ".badge-warn"):
        assert lead.page.locator(f".load-table {one}").count() > 1
    nothing_is_cut(lead)


def test_report_fits(lead: Person, job: FenceJob) -> None:
    lead.opens(reverse("day_report", args=[Crew.objects.get().pk, TODAY, job.pk]))
    for one in lead.page.locator("details").all():
        one.evaluate("(one) => { one.open = true }")
    nothing_is_cut(lead)
