"""The office writes down a forecast on a phone and a desk, and sees the curve follow it."""

from collections.abc import Callable

import pytest
from django.urls import reverse
from playwright.sync_api import Page, ViewportSize, expect

from firm.models import Role
from tests.browser.conftest import DESK, PHONE, Clock, Complaints
from tests.browser.walk import Person
from tests.cast import PASSWORD, make_person
from tests.crew_cast import make_full_job, make_red_crew, may, put_on
from tests.factories import make_firm

pytestmark = [
    pytest.mark.browser,
    pytest.mark.slow,
    pytest.mark.django_db(transaction=True),
]


@pytest.mark.parametrize("size", [DESK, PHONE], ids=["desk", "phone"])
def test_forecast_is_written_down_and_the_wait_follows(
    size: ViewportSize,
    open_page: Callable[..., Page],
    axe: Callable[[Page], None],
    clock: Clock,
    complaints: Complaints,
) -> None:
    complaints.expect("422")
    clock.goes_to(may(4), 9)
    make_person(Role.OWNER)  # without one, every page leads to the set-up
    person = make_person(Role.OFFICE)
    make_firm()
    job = make_full_job(1, on=may(4))
    put_on(job, "set", make_red_crew(), may(5), hours="4")
    office = Person(open_page(size), axe)
    office.logs_in(person.username, PASSWORD)

    office.opens(f"{reverse('weather')}?from=2026-05-04")
    office.sees_no_sideways_scroll()
    office.types(**{"2026-05-05-low_f": "70", "2026-05-05-high_f": "50"})
    office.presses("Save")
    office.reads("A day's low of 70 \N{DEGREE SIGN}F stands above its high of 50 \N{DEGREE SIGN}F.")
    office.looks()
    days = {f"2026-05-{day:02}": ("48", "48") for day in range(4, 14)}
    for day, (low, high) in days.items():
        office.types(**{f"{day}-low_f": low, f"{day}-high_f": high})
    office.presses("Save")
    office.reads("The weather of 10 days is written down")

    office.opens(reverse("weather_months"))
    office.looks()
    office.sees_no_sideways_scroll()

    office.opens(reverse("job", args=[job.pk]))
    office.looks()
    office.sees_no_sideways_scroll()
    # 11:00 and 70.93 h at 48 F, as in tests/unit/test_strength_line.py.
    office.reads("25 %, panels: Fri May 8 09:55")
    line = office.page.locator("svg.strength polyline")
    expect(line).to_be_hidden()
    office.page.locator("summary", has_text="How the concrete hardens").click()
    expect(line).to_be_visible()
