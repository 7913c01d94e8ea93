"""The office copies a fence system and sees what a change does, at a desk and on a phone."""

from collections.abc import Callable

import pytest
from django.utils import timezone
from playwright.sync_api import Page

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

CHANGED = ('"max_on_centre_in": 96.0', '"max_on_centre_in": 72.0')


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

    text = office.field("definition_text").input_value()
    assert CHANGED[0] in text
    office.types(name="Close posts", key="close_posts", definition_text=text.replace(*CHANGED))
    office.presses("Show what it does to a sample line")

    # 13 bays at 96 in, 17 at 72 in: worked in tests/web/test_price_book.py.
    cells = page.locator("tr", has_text="Bays").locator("td").all_inner_texts()
    assert [cell.strip() for cell in cells] == ["13", "17", "4"]
    office.sees_no_sideways_scroll()
    assert CHANGED[1] in office.field("definition_text").input_value()

    office.presses("Check and save")
    office.reads("Close posts is saved.")
