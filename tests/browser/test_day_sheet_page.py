"""A crew lead's day on a phone: from the days to the sheet, its posts by keyboard, its print."""

import datetime as dt
from collections.abc import Callable

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from firm.models import Role
from scheduling.models import Crew, FenceJob
from tests.browser.conftest import Clock
from tests.cast import PASSWORD, make_person
from tests.crew_cast import may, put_on
from tests.day_cast import GAS, GATE, address, make_job, setting_day
from tests.factories import TODAY, make_firm
from tests.sheet_cast import fence_line

pytestmark = [
    pytest.mark.browser,
    pytest.mark.slow,
    pytest.mark.django_db(transaction=True),
]

PHONE_PX = 390
TARGET_PX = 44


@pytest.fixture
def crew() -> Crew:
    make_firm()
    make_person(Role.OWNER)
    return Crew.objects.create(name="Red crew", lead=make_person(Role.CREW_LEAD))


@pytest.fixture
def job(crew: Crew) -> FenceJob:
    """Return 100 ft and 60 ft, cut to sixteenths, with a gate and a gas mark: hung on Friday."""
    job = make_job(fence_line([1200.5, 721.5], gates=[GATE], no_dig=[GAS]))
    setting_day(crew, job)
    put_on(job, "hang", crew, may(8))
    put_on(job, "gates", crew, may(8))
    return job


def log_in(page: Page) -> None:
    page.goto(reverse("login"))
    page.locator("[name=username]").fill(Role.CREW_LEAD.value)
    page.locator("[name=password]").fill(PASSWORD)
    page.get_by_role("button", name="Log in").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("My days")


def fits(page: Page) -> None:
    """Fail where a phone would scroll sideways, or a thumb would miss its target."""
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE_PX
    too_small = page.evaluate(
        """(least) => [...document.querySelectorAll(
                'main :is(.btn, .post-jump a, .sheet-link, summary)')]
            .map((one) => [one, one.getBoundingClientRect()])
            .filter(([, box]) => box.height < least || box.width < least)
            .map(([one, box]) => `${one.outerHTML.slice(0, 90)} ${box.width} x ${box.height}`)""",
        TARGET_PX,
    )
    assert too_small == []


def test_from_the_days_to_the_sheet(
    phone_page: Page, crew: Crew, job: FenceJob, clock: Clock, axe: Callable[[Page], None]
) -> None:
    clock.goes_to(TODAY, 8)
    page = phone_page
    log_in(page)
    axe(page)
    fits(page)
    page.get_by_role("link", name="Today, Monday, May 4").click()
    axe(page)
    fits(page)
    page.get_by_role("link", name="Job 1001").first.click()
    expect(page).to_have_url(f"{page.url.split('/days/')[0]}{address(crew, job)}")
    axe(page)
    fits(page)
    dig = page.get_by_role("region", name="May I dig here")
    expect(dig).to_contain_text("YES")
    expect(dig).to_contain_text("By hand only: post 3.")
    expect(dig).to_be_in_viewport()
    expect(page.get_by_role("link", name="555-0177")).to_have_attribute("href", "tel:555-0177")
    place = page.get_by_role("link", name="Open the map")
    expect(place).to_have_attribute("href", "geo:0,0?q=1001%20Larch%20Court%2C%20Dunmere")


def test_keyboard_reaches_a_post(phone_page: Page, crew: Crew, job: FenceJob, clock: Clock) -> None:
    clock.goes_to(TODAY, 8)
    page = phone_page
    log_in(page)
    page.goto(address(crew, job))
    page.keyboard.press("Tab")
    expect(page.get_by_role("link", name="Skip to the content")).to_be_focused()
    page.keyboard.press("Enter")
    jump = page.get_by_role("navigation", name="Posts").get_by_role("link", name="7", exact=True)
    for _ in range(40):
        page.keyboard.press("Tab")
        if jump.evaluate("(one) => one === document.activeElement"):
            break
    expect(jump).to_be_focused()
    page.keyboard.press("Enter")
    post = page.locator("#post-7")
    expect(post).to_be_in_viewport()
    expect(post).to_contain_text("36 in deep")
    numbers = page.locator(".post-number")
    heights = numbers.evaluate_all("(all) => all.map((one) => one.getBoundingClientRect().height)")
    assert len(set(heights)) == 1  # no number breaks into two lines


def test_figures_of_a_bay_are_in_sight_on_hang_day(
    phone_page: Page, crew: Crew, job: FenceJob, clock: Clock, axe: Callable[[Page], None]
) -> None:
    clock.goes_to(may(8), 12)
    page = phone_page
    log_in(page)
    page.goto(address(crew, job, may(8)))
    axe(page)
    fits(page)
    table = page.get_by_role("region", name="Bays of Back line")
    expect(table).to_contain_text("/16")
    assert table.evaluate("(one) => one.scrollWidth <= one.clientWidth")
    expect(page.get_by_role("heading", name="Gate G1: 48 in clear")).to_be_visible()
    # "Cortado" is the longer word, and is what the last column is for.
    page.goto(f"{address(crew, job, may(8))}?lang=es")
    table = page.get_by_role("region", name="Tramos de Back line")
    expect(table).to_contain_text("cortado")
    assert table.evaluate("(one) => one.scrollWidth <= one.clientWidth")
    page.goto(f"{address(crew, job, may(8))}?lang=en")
    page.get_by_role("link", name="Load list").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Load list")
    axe(page)
    fits(page)
    # A day earlier panels may hang and gates may not: the longest answer of all.
    put_on(job, "hang", crew, may(7))
    page.goto(address(crew, job, may(7)))
    expect(page.get_by_role("heading", name="Is the concrete hard?")).to_contain_text("but NOT")
    fits(page)


def test_sheet_on_a_desk_and_its_print(
    page: Page, crew: Crew, job: FenceJob, clock: Clock, axe: Callable[[Page], None]
) -> None:
    clock.goes_to(TODAY, 8)
    log_in(page)
    page.goto(address(crew, job))
    axe(page)
    where = page.get_by_role("link", name="Print (PDF)").get_attribute("href")
    assert where is not None
    printed = page.request.get(where)
    assert printed.headers["content-type"] == "application/pdf"
    assert printed.body().startswith(b"%PDF-")
    assert page.request.get(address(crew, job, TODAY + dt.timedelta(days=2))).status == 404
