"""The week as the office works with it: a job placed, a block moved by hand, with its reasons."""

import datetime as dt
from collections.abc import Callable

import pytest
from playwright.sync_api import Locator, Page, expect

from firm.models import FirmProfile, Role
from scheduling.models import (
    Crew,
    CrewDay,
    CrewMember,
    FenceJob,
    MemberTimeOff,
    Skill,
    SkillAsked,
)
from tests.browser.conftest import Clock, Complaints
from tests.browser.walk import Person
from tests.cast import PASSWORD, make_person
from tests.crew_cast import make_full_job, put_on
from tests.factories import make_firm

pytestmark = [
    pytest.mark.browser,
    pytest.mark.slow,
    pytest.mark.django_db(transaction=True),
]
FRIDAY = dt.date(2026, 6, 5)
MONDAY, TUESDAY = dt.date(2026, 6, 8), dt.date(2026, 6, 9)


def test_office_places_a_job_and_moves_a_hang_day_by_hand(
    page: Page, axe: Callable[[Page], None], clock: Clock, complaints: Complaints
) -> None:
    complaints.expect("422")
    clock.goes_to(FRIDAY, 9)
    make_person(Role.OWNER)  # without one, every page leads to the set-up
    person = make_person(Role.OFFICE)
    make_firm()
    crew = Crew.objects.create(name="North")
    curing = make_full_job(1, on=MONDAY)
    put_on(curing, "layout", crew, MONDAY, hours="1")
    put_on(curing, "dig", crew, MONDAY, hours="4")
    # Four hours from 07:00; 48 h at 60 F (scheduling/data/cure.toml): panels from Thursday 11:00.
    put_on(curing, "set", crew, TUESDAY, hours="4", air_f=60)
    hang = put_on(curing, "hang", crew, FRIDAY + dt.timedelta(days=7), hours="4")
    placed = make_full_job(2, on=MONDAY)
    office = Person(page, axe)
    office.logs_in(person.username, PASSWORD)

    office.opens("/calendar/?week=2026-W24")
    office.presses(f"Place {placed}")
    expect(page.get_by_role("button", name=f"Place {placed}", exact=True)).to_have_count(0)
    assert CrewDay.objects.filter(job=placed, date__gte=MONDAY).exists()

    office.opens("/calendar/?week=2026-W24")
    earlier = _mover(page, hang, "earlier, on Thu Jun 11")
    earlier.click()
    expect(page.get_by_role("alert")).to_have_text(
        "Job 1: hanging on Thu Jun 11 07:00 comes too early. As planned, posts are set "
        "Tue 11:00, standard mix. Panels from Thursday 11:00: the firm's table says 48 h at 60 F "
        "(25 % of strength 47.25 h, the label 24 h). The owner may override this with a note."
    )
    office.looks()
    hang.refresh_from_db()
    assert hang.date == FRIDAY + dt.timedelta(days=7)

    # The same page again, and now by keyboard alone, to the Monday after.
    office.opens("/calendar/?week=2026-W24")
    later = _mover(page, hang, "later, on Mon Jun 15")
    later.focus()
    page.keyboard.press("Enter")
    expect(_mover(page, hang, "later, on Mon Jun 15")).to_have_count(0)
    office.looks()
    hang.refresh_from_db()
    assert (hang.date, hang.is_pinned) == (dt.date(2026, 6, 15), True)

    office.opens("/calendar/?week=2026-W24")
    page.locator(".block-sheet a").first.click()
    page.wait_for_url("**/days/**")
    office.looks()
    office.reads("May I dig here")

    _rains_out(office, placed)
    _plans_all_jobs(office, hang)


def _plans_all_jobs(office: Person, hang: CrewDay) -> None:
    """Have all jobs planned anew: the hang day that a person moved stays where it was put."""
    office.opens("/calendar/plan/")
    office.presses("Work out a plan")
    office.reads("What the plan comes to")
    office.reads("Could it be better?")
    office.presses("Take this plan")
    office.reads("The plan is on the calendar")
    hang.refresh_from_db()
    assert hang.date == dt.date(2026, 6, 15)
    _looks_at_what_crews_are(office, hang.crew)


def _rains_out(office: Person, placed: FenceJob) -> None:
    """Take a Monday away from both jobs, looked at before it is done, and see what moved."""
    office.opens("/calendar/rain-out/2026-06-08/")
    office.page.get_by_label("All work of the day").check()
    # A label stands clear of the field above it.
    above = office.page.get_by_label("Rain of the day").bounding_box()
    label = office.page.locator("label", has_text="Crew").first.bounding_box()
    assert above is not None
    assert label is not None
    assert label["y"] - above["y"] - above["height"] >= 8
    office.presses("Show what would move")
    office.reads(str(placed))
    office.presses("Move it")
    office.reads("Because of the rain")
    assert not CrewDay.objects.filter(date=MONDAY).exists()
    office.opens("/calendar/changes/")
    office.presses("All seen")
    office.reads("Nothing moved since you last looked.")
    office.opens(f"/jobs/{placed.pk}/timeline/")


def _looks_at_what_crews_are(office: Person, crew: Crew) -> None:
    """Skills, holidays and time off, each page once."""
    FirmProfile.objects.update(holiday_country="US")
    ada = CrewMember.objects.create(crew=crew, name="Ada")
    SkillAsked.objects.create(skill=Skill.objects.create(name="Welding"), phase="gates")
    off = MemberTimeOff.objects.create(member=ada, first_day=MONDAY, last_day=MONDAY)
    pages = (
        "/skills/",
        "/holidays/",
        f"/crew-members/{ada.pk}/",
        f"/time-off/{off.pk}/",
        f"/crews/{crew.pk}/",
    )
    for address in pages:
        office.opens(address)
        office.looks()


def _mover(page: Page, block: CrewDay, words: str) -> Locator:
    return page.locator(f'[data-block="{block.pk}"] button[aria-label*="{words}"]').locator(
        "visible=true"
    )
