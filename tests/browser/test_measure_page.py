"""The measure page in a real browser: rows come and go, the sketch follows, nothing is lost."""

from collections.abc import Callable

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from estimating.models import SiteMeasurement
from estimating.services.starter import load_starter_rows
from firm.models import Role
from tests.browser.conftest import Complaints
from tests.cast import PASSWORD, make_person
from tests.factories import TODAY, make_firm, make_site

pytestmark = [
    pytest.mark.browser,
    pytest.mark.slow,
    pytest.mark.django_db(transaction=True),
]


def open_measure_page(page: Page) -> None:
    make_firm()
    load_starter_rows(today=TODAY)
    site = make_site()
    person = make_person(Role.OWNER)
    page.goto(reverse("login"))
    page.locator("[name=username]").fill(person.username)
    page.locator("[name=password]").fill(PASSWORD)
    page.get_by_role("button", name="Log in").click()
    page.goto(reverse("site_measure", args=[site.pk]))


def test_press_that_leaves_a_length_is_not_lost_to_how_it_is_read(page: Page) -> None:
    open_measure_page(page)
    page.get_by_label("Length", exact=True).fill("40'")
    page.locator("summary", has_text="Gates").hover()
    with page.expect_response("**/length/**"):
        page.mouse.down()
    # Longer than a person's press; what it began on must not move away meanwhile.
    page.wait_for_timeout(300)
    page.mouse.up()
    expect(page.get_by_text("Read as 40 ft")).to_be_visible()
    add = page.get_by_role("button", name="Add a gate")
    expect(add).to_be_visible()
    # Nor is the press that leaves a length taken out again, whose reading goes.
    page.get_by_label("Length", exact=True).fill("")
    page.locator("summary", has_text="Gates").hover()
    page.mouse.down()
    page.wait_for_timeout(300)
    page.mouse.up()
    expect(page.get_by_text("Read as 40 ft")).to_be_hidden()
    expect(add).to_be_hidden()


def test_two_lines_with_a_gate_are_typed_drawn_and_saved(
    page: Page, axe: Callable[[Page], None]
) -> None:
    open_measure_page(page)
    axe(page)
    page.get_by_label("Fence", exact=True).select_option("vinyl_privacy_6ft")
    # 55 without a unit is inches: 4 ft 7 in, said before anything is saved.
    page.get_by_label("Length", exact=True).fill("55")
    page.get_by_label("Length", exact=True).blur()
    expect(page.get_by_text("Read as 4 ft 7 in (55 in)")).to_be_visible()
    page.get_by_label("Length", exact=True).fill("60 ft")
    page.get_by_role("button", name="Add a leg").click()
    # The new row is where typing goes on.
    page.keyboard.type("40'")
    page.locator("summary", has_text="Gates").click()
    page.get_by_role("button", name="Add a gate").click()
    page.get_by_label("Opening begins at").fill("20 ft")
    page.get_by_label("Clear opening").fill("4 ft")
    page.get_by_role("button", name="Add a line").click()
    second = page.get_by_role("region", name="Line B")
    expect(second.get_by_label("Fence", exact=True)).to_have_value("vinyl_privacy_6ft")
    second.get_by_label("Length", exact=True).fill("24 ft")
    second.get_by_text("Ends, and where the line stands").click()
    second.get_by_label("Start, north of it").fill("-30 ft")
    second.get_by_label("Start, north of it").blur()
    expect(page.locator("#preview svg")).to_be_visible()
    expect(page.locator("#preview")).to_contain_text("Line B: 4 posts, 3 bays")
    axe(page)

    second.get_by_role("button", name="Add a leg").click()
    second.get_by_role("button", name="Remove this leg").nth(1).click()
    page.get_by_role("button", name="Save the measured site").click()

    expect(page.get_by_text("Saved as version 1.")).to_be_visible()
    lines = SiteMeasurement.objects.get().document["lines"]
    assert [[leg["length_in"] for leg in line["legs"]] for line in lines] == [
        [720.0, 480.0],
        [288.0],
    ]
    assert lines[0]["gates"][0]["station_in"] == 240.0
    assert lines[1]["start_y_in"] == -360.0


def test_slip_on_a_phone_is_told_at_its_field(
    phone_page: Page, complaints: Complaints, axe: Callable[[Page], None]
) -> None:
    complaints.expect("422")
    open_measure_page(phone_page)
    phone_page.get_by_label("Fence", exact=True).select_option("vinyl_privacy_6ft")
    phone_page.get_by_label("Length", exact=True).fill("-60 ft")
    phone_page.get_by_role("button", name="Save the measured site").click()

    expect(phone_page.get_by_label("Length", exact=True)).to_have_value("-60 ft")
    expect(phone_page.get_by_label("Length", exact=True)).to_have_attribute("aria-invalid", "true")
    axe(phone_page)
    wide = phone_page.evaluate("document.documentElement.scrollWidth")
    assert wide <= 390
