"""Where a number comes from, and the rates behind it: at a desk, on a phone, by the keyboard."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Locator, Page, expect

from estimating.services.estimates import price_site
from estimating.services.measurements import save_measurement
from estimating.services.starter import load_starter_rows
from firm.models import Role
from tests.browser.conftest import Complaints
from tests.browser.walk import Person
from tests.cast import PASSWORD, make_person
from tests.db.test_measurements import straight_line
from tests.factories import NOW, TODAY, make_firm, make_site

pytestmark = [
    pytest.mark.browser,
    pytest.mark.slow,
    pytest.mark.django_db(transaction=True),
]


def opened_cost_sheet(marta: Person) -> Locator:
    """Open the cost sheet, which is folded away; it stays open where it was opened."""
    sheet = marta.page.locator("details", has_text="Cost sheet, line by line").last
    digging = sheet.get_by_role("link", name="Digging where")
    expect(digging).to_be_hidden()
    sheet.locator("summary").first.focus()
    marta.page.keyboard.press("Enter")
    expect(digging).to_be_visible()
    marta.looks()
    marta.page.reload()
    return sheet


def test_owner_follows_a_price_back_to_a_rate_and_changes_it(
    page: Page, phone_page: Page, axe: Callable[[Page], None], complaints: Complaints
) -> None:
    complaints.expect(r"status of 422 .*/price-book/rates/")
    make_firm()
    load_starter_rows(today=TODAY)
    make_person(Role.OWNER)
    document = straight_line(600.0) | {
        "conditions": {"dig_method": "mini_loader", "access_width_in": 36.0}
    }
    document["lines"][0]["system"] = "vinyl_privacy_6ft"
    site = make_site()
    save_measurement(site=site, document=document, based_on=0, actor=None, now=NOW)
    estimate = price_site(site=site, actor=None, now=NOW)
    for one in (page, phone_page):
        marta = Person(one, axe)
        marta.logs_in("owner", PASSWORD)
        marta.opens(f"/estimates/{estimate.pk}/")
        marta.reads("The mini loader does not pass the way in")
        opened_cost_sheet(marta).get_by_role("link", name="Digging where").click()
        expect(one.get_by_role("heading", name="Where does this number come from?")).to_be_visible()
        marta.looks()
        marta.sees_no_sideways_scroll()
        expect(one.get_by_text("Posts 1 to 8 of line A")).to_be_visible()
        marta.follows("All its numbers")
        direct = one.locator("summary", has_text="Direct cost")
        direct.focus()
        one.keyboard.press("Enter")
        expect(one.locator("summary", has_text="Travel").first).to_be_visible()
        marta.looks()
        marta.sees_no_sideways_scroll()
        marta.opens(f"/estimates/{estimate.pk}/where-from/?of=cost:labour:dig")
        marta.follows("production rate “Dig: normal, two man auger”")
        marta.sees_no_sideways_scroll()
        marta.follows("Dig: normal, two man auger")
        marta.types(value="1.1", effective_from="2020-01-01")
        marta.presses("Save the rate")
        marta.reads("This day is past")
        marta.sees_no_sideways_scroll()
