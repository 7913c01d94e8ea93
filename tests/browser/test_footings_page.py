"""Posts against wind and what would pass, at a desk and on a phone."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from estimating.services.estimates import price_site
from estimating.services.measurements import save_measurement
from estimating.services.starter import load_starter_rows
from firm.models import Role
from tests.browser.walk import Person
from tests.cast import PASSWORD, make_person
from tests.db.test_measurements import straight_line
from tests.factories import NOW, TODAY, make_firm, make_site

pytestmark = [
    pytest.mark.browser,
    pytest.mark.slow,
    pytest.mark.django_db(transaction=True),
]


def is_wider_than_its_window(page: Page) -> bool:
    return bool(page.evaluate("document.documentElement.scrollWidth > window.innerWidth"))


def test_office_asks_what_would_pass(
    page: Page, phone_page: Page, axe: Callable[[Page], None]
) -> None:
    make_firm()
    load_starter_rows(today=TODAY)
    make_person(Role.OWNER)
    make_person(Role.OFFICE)
    document = straight_line(600.0) | {"conditions": {"wind_speed_mph": 115.0, "exposure": "C"}}
    site = make_site()
    save_measurement(site=site, document=document, based_on=0, actor=None, now=NOW)
    estimate = price_site(site=site, actor=None, now=NOW)
    for one in (page, phone_page):
        june = Person(one, axe)
        june.logs_in("office", PASSWORD)
        june.opens(f"/estimates/{estimate.pk}/#footings")
        june.reads("This is no engineered design.")
        # A link into a folded part opens it, and no other; on paper all are open.
        expect(one.get_by_role("link", name="What would pass")).to_be_visible()
        expect(one.locator("#hours")).to_be_hidden()
        one.evaluate("window.dispatchEvent(new Event('beforeprint'))")
        expect(one.locator("#hours")).to_be_visible()
        one.evaluate("window.dispatchEvent(new Event('afterprint'))")
        expect(one.locator("#hours")).to_be_hidden()
        june.follows("What would pass")
        expect(one.get_by_role("heading", name="What would pass against wind")).to_be_visible()
        june.reads("Lighter infill: Chain link 6 ft")
        assert not is_wider_than_its_window(one)
        june.follows("Back to the estimate")
        expect(one.get_by_role("heading", name="Posts against wind")).to_be_in_viewport()
