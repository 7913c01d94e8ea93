"""First run, settings, people and price book in a real browser, at a desk and on a phone."""

from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from firm.models import FirmProfile, Role
from tests.browser.conftest import Complaints
from tests.cast import PASSWORD, make_firm, make_person

pytestmark = [
    pytest.mark.browser,
    pytest.mark.slow,
    pytest.mark.django_db(transaction=True),
]

OWNER_PAGES = (
    "/settings/",
    "/settings/people/",
    "/settings/people/new/",
    "/settings/record/",
    "/mail/",
    "/price-book/",
    "/price-book/new/",
    "/price-book/rates/",
    "/price-book/systems/",
    "/feeds/",
    "/calendar/month/",
)


def log_in(page: Page, name: str) -> None:
    page.goto("/log-in/")
    page.get_by_label("Log-in name").fill(name)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Log in").click()


def is_wider_than_its_window(page: Page) -> bool:
    return bool(page.evaluate("document.documentElement.scrollWidth > window.innerWidth"))


def test_owner_sets_the_firm_up_on_a_phone_after_a_slip(
    phone_page: Page, axe: Callable[[Page], None], complaints: Complaints
) -> None:
    page = phone_page
    complaints.expect("422")
    page.goto("/")
    expect(page).to_have_url("/set-up/")
    axe(page)
    page.get_by_label("Your first name").fill("Dana")
    page.get_by_label("Log-in name").fill("dana")
    page.get_by_label("Password", exact=True).fill(PASSWORD)
    page.get_by_label("The same password again").fill(PASSWORD)
    page.get_by_label("Name of the firm").fill("Orchard Hollow Fence")
    page.get_by_label("Street").fill("12 Mill Lane")
    page.get_by_label("City").fill("Fernbrook")
    page.get_by_label("State", exact=True).fill("OH")
    page.get_by_role("button", name="Set the firm up").click()

    # The postcode was forgotten: the summary has the focus, and nothing typed is lost.
    expect(page.get_by_role("alert")).to_be_focused()
    postcode = page.get_by_label("Postcode")
    expect(postcode).to_have_attribute("aria-invalid", "true")
    expect(page.get_by_label("Street")).to_have_value("12 Mill Lane")
    axe(page)

    postcode.fill("44999")
    page.get_by_role("button", name="Set the firm up").click()
    expect(page.get_by_text("Orchard Hollow Fence is set up.")).to_be_visible()
    assert FirmProfile.objects.get().postcode == "44999"
    page.get_by_role("button", name="Menu").click()
    page.get_by_role("link", name="Price book").click()
    # A new firm starts with prices to edit.
    expect(page.get_by_role("link", name="Concrete", exact=False).first).to_be_visible()


def test_owner_pages_stand_on_desk_and_phone(
    page: Page, phone_page: Page, axe: Callable[[Page], None]
) -> None:
    make_firm()
    make_person(Role.OWNER)
    for one in (page, phone_page):
        log_in(one, "owner")
        for address in OWNER_PAGES:
            one.goto(address)
            assert not is_wider_than_its_window(one), address
            # The rules look at the same elements at both widths; the phone shows them stacked.
            if one is phone_page:
                axe(one)


def test_first_tab_leads_past_the_navigation(page: Page) -> None:
    make_firm()
    make_person(Role.OWNER)
    log_in(page, "owner")
    page.goto("/settings/people/")
    page.keyboard.press("Tab")
    skip = page.get_by_role("link", name="Skip to the content")
    expect(skip).to_be_focused()
    expect(skip).to_be_in_viewport()
    page.keyboard.press("Enter")
    expect(page.get_by_role("main")).to_be_focused()


def test_crew_lead_is_told_whose_page_it_is(
    page: Page, axe: Callable[[Page], None], complaints: Any
) -> None:
    make_firm()
    make_person(Role.OWNER)
    make_person(Role.CREW_LEAD)
    log_in(page, "crew_lead")
    navigation = page.get_by_role("navigation", name="Main")
    expect(navigation.get_by_role("link")).to_have_text(["Days", "Sites", "Jobs"])
    complaints.expect("403")
    page.goto("/settings/")
    expect(page.get_by_role("heading", name="This page is not for your log-in")).to_be_visible()
    axe(page)
