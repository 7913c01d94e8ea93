"""Scopes, alternates and risk of an estimate, at a desk and on a phone."""

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


def test_office_asks_what_if(page: Page, phone_page: Page, axe: Callable[[Page], None]) -> None:
    make_firm()
    load_starter_rows(today=TODAY)
    make_person(Role.OWNER)
    make_person(Role.OFFICE)
    site = make_site()
    save_measurement(site=site, document=straight_line(1152.0), based_on=0, actor=None, now=NOW)
    estimate = price_site(site=site, actor=None, now=NOW)
    for one, name in ((page, "Chain link instead"), (phone_page, "Chain link after all")):
        june = Person(one, axe)
        june.logs_in("office", PASSWORD)
        for link, heading in (
            ("Scopes", "Scopes side by side"),
            ("Alternates", "Alternates"),
            ("Risk", "What the price risks"),
        ):
            june.opens(f"/estimates/{estimate.pk}/")
            june.follows(link)
            expect(one.get_by_role("heading", name=heading, exact=True)).to_be_visible()
            assert not is_wider_than_its_window(one)
        june.opens(f"/estimates/{estimate.pk}/alternates/")
        one.get_by_label("Name of the alternate").fill(name)
        one.get_by_label("Line A: fence system").select_option(label="Chain link 6 ft")
        one.get_by_role("button", name="Add the alternate").click()
        expect(one.get_by_role("rowheader", name=name)).to_be_visible()
        june.opens("/price-book/uncertain/")
        june.reads("One more trip")
        assert not is_wider_than_its_window(one)
