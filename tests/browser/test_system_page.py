"""The office copies a fence system and sees what a change does, at a desk and on a phone."""

from collections.abc import Callable

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from estimating.models import FenceSystem
from estimating.services.starter import load_starter_rows
from firm.models import Role
from tests.browser.walk import Person
from tests.cast import PASSWORD, make_firm, make_person

pytestmark = [
    pytest.mark.browser,
    pytest.mark.slow,
    pytest.mark.django_db(transaction=True),
]


@pytest.mark.parametrize("screen", ["page", "phone_page"])
def test_office_sees_what_a_narrower_spacing_costs(
    screen: str, request: pytest.FixtureRequest, axe: Callable[[Page], None]
) -> None:
    make_firm()
    make_person(Role.OWNER)
    make_person(Role.OFFICE, username="olga")
    load_starter_rows(today=timezone.localdate())
    row = FenceSystem.objects.get(key="vinyl_privacy_6ft")
    page: Page = request.getfixturevalue(screen)
    office = Person(page, axe)
    office.logs_in("olga", PASSWORD)
    office.opens(f"/price-book/systems/{row.pk}/")
    office.follows("Copy")

    office.types(**{"name": "Close posts", "key": "close_posts", "top-max_on_centre_in": "6 ft"})
    page.get_by_role("button", name="Show what it does to a sample line").click()

    # 13 bays at 96 in, 17 at 72 in: worked in tests/web/test_price_book.py.
    bays = page.locator("#sample tr", has_text="Bays")
    expect(bays.locator("td")).to_have_text(["13", "17", "4"])
    office.looks()
    office.sees_no_sideways_scroll()

    # A changed figure is answered without a press; a wrong one says so there and keeps the rest.
    office.types(**{"top-height_in": "tall"})
    page.keyboard.press("Tab")
    expect(page.locator("#sample")).to_contain_text("Height: 'tall' is not a length")
    office.types(**{"top-height_in": "5 ft"})
    page.keyboard.press("Tab")
    expect(bays.locator("td")).to_have_text(["13", "17", "4"])

    office.presses("Check and save")
    office.reads("Close posts is saved.")
    definition = FenceSystem.objects.get(key="close_posts").definition
    assert definition == {**row.definition, "max_on_centre_in": 72.0, "height_in": 60.0}


@pytest.mark.parametrize("screen", ["page", "phone_page"])
def test_the_sample_line_answers_beside_the_fields(
    screen: str, request: pytest.FixtureRequest, axe: Callable[[Page], None]
) -> None:
    make_firm()
    make_person(Role.OWNER)
    make_person(Role.OFFICE, username="olga")
    load_starter_rows(today=timezone.localdate())
    row = FenceSystem.objects.get(key="vinyl_privacy_6ft")
    page: Page = request.getfixturevalue(screen)
    office = Person(page, axe)
    office.logs_in("olga", PASSWORD)
    office.opens(f"/price-book/systems/{row.pk}/edit/")
    office.types(**{"top-max_on_centre_in": "6 ft"})
    if screen == "phone_page":
        page.get_by_role("button", name="Show what it does", exact=True).first.click()
    else:
        page.keyboard.press("Tab")
    cells = page.locator("#sample tr", has_text="Bays").locator("td")
    expect(cells).to_have_text(["13", "17", "4"])
    expect(cells.first).to_be_in_viewport()
