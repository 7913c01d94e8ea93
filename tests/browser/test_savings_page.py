"""What small changes would save, asked for and taken at a desk and on a phone."""

from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from estimating.models import Estimate
from estimating.services.estimates import price_site
from estimating.services.measurements import save_measurement
from estimating.services.starter import load_starter_rows
from firm.models import JobSite, Role
from tests.browser.walk import Person
from tests.cast import PASSWORD, make_person
from tests.factories import NOW, TODAY, make_firm, make_site

pytestmark = [
    pytest.mark.browser,
    pytest.mark.slow,
    pytest.mark.django_db(transaction=True),
]

GATE: dict[str, Any] = {"id": "G1", "station_in": 290.75, "clear_opening_in": 48.0}


def is_wider_than_its_window(page: Page) -> bool:
    return bool(page.evaluate("document.documentElement.scrollWidth > window.innerWidth"))


def priced(site: JobSite) -> Estimate:
    """A yard whose gate stands an inch too far, with two end posts beside each other."""
    system = "wood_privacy_side_6ft"
    document: dict[str, Any] = {
        "format": "firm-footing-site",
        "version": 1,
        "name": "Larch Court",
        "lines": [
            {"id": "A", "system": system, "legs": [{"length_in": 620.5}], "gates": [GATE]},
            {"id": "B", "system": system, "legs": [{"length_in": 289.0}]}
            | {"start_x_in": 620.5, "start_y_in": -4.0, "bearing_deg": 180.0},
        ],
    }
    save_measurement(site=site, document=document, based_on=0, actor=None, now=NOW)
    return price_site(site=site, actor=None, now=NOW)


def test_office_looks_for_savings_and_takes_one(
    page: Page, phone_page: Page, axe: Callable[[Page], None]
) -> None:
    make_firm()
    load_starter_rows(today=TODAY)
    make_person(Role.OWNER)
    make_person(Role.OFFICE)
    for number, one in enumerate((page, phone_page)):
        estimate = priced(make_site(street=f"{number} Larch Court"))
        june = Person(one, axe)
        june.logs_in("office", PASSWORD)
        june.opens(f"/estimates/{estimate.pk}/")
        one.get_by_role("link", name="What small changes would save").click()
        expect(one.get_by_role("heading", name="Small changes that save")).to_be_visible()
        axe(one)
        assert not is_wider_than_its_window(one)
        one.get_by_role("button", name="Take it").first.click()
        june.reads("Go back to version 1")
        expect(one.get_by_role("heading", name="What small changes would save")).to_be_visible()
        axe(one)
        assert not is_wider_than_its_window(one)
