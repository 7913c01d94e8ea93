"""Holidays on the calendar: no crew works on one unless the office says so."""

import datetime as dt

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from firm.errors import Refusal
from firm.models import AuditEntry, FirmProfile, Role, User
from firm.services.profile import save_profile
from scheduling.models import Crew, CrewMember, PlanChange, WorkedHoliday
from scheduling.selectors.planning import standing_plan, violations_from
from scheduling.services.holidays import work_on_holidays
from tests.cast import make_firm, make_person
from tests.crew_cast import give_to_crew_of
from tests.factories import NOW
from tests.job_cast import make_fence_job

pytestmark = pytest.mark.django_db
# The fourth Thursday of November 2026 (5 U.S.C. 6103(a)).
THANKSGIVING = dt.date(2026, 11, 26)


@pytest.fixture
def owner() -> User:
    return make_person(Role.OWNER)


def keep_holidays(country: str = "US") -> None:
    make_firm()
    FirmProfile.objects.update(holiday_country=country)


def test_block_on_a_holiday_is_told_by_its_name(owner: User) -> None:
    keep_holidays()
    block = give_to_crew_of(owner, make_fence_job(), on=THANKSGIVING)
    plan = standing_plan(today=THANKSGIVING)
    said = [one.sentence for one in violations_from(plan, THANKSGIVING)]
    words = f"{block.crew} does not work on Thu Nov 26, 2026. Thanksgiving Day: no crew works."
    assert words in said

    changed = work_on_holidays(actor=owner, year=2026, days=[THANKSGIVING], at=NOW)
    assert changed == [THANKSGIVING]
    plan = standing_plan(today=THANKSGIVING)
    assert words not in [one.sentence for one in violations_from(plan, THANKSGIVING)]
    assert plan.facts.crews[str(block.crew_id)].works_on(THANKSGIVING)
    assert AuditEntry.objects.filter(action="works on a holiday").count() == 1

    assert work_on_holidays(actor=owner, year=2026, days=[], at=NOW) == [THANKSGIVING]
    assert not WorkedHoliday.objects.exists()


def test_firm_without_a_country_keeps_none_and_asks_nothing(owner: User) -> None:
    keep_holidays("")
    block = give_to_crew_of(owner, make_fence_job(), on=THANKSGIVING)
    with CaptureQueriesContext(connection) as without:
        plan = standing_plan(today=THANKSGIVING)
    assert plan.facts.crews[str(block.crew_id)].works_on(THANKSGIVING)
    FirmProfile.objects.update(holiday_country="US")
    with CaptureQueriesContext(connection) as kept:
        standing_plan(today=THANKSGIVING)
    assert len(kept) == len(without) + 1


def test_holiday_is_said_before_a_crew_s_own_reasons() -> None:
    keep_holidays()
    crew = Crew.objects.create(name="North")
    ada = CrewMember.objects.create(crew=crew, name="Ada")
    ada.time_off.create(first_day=THANKSGIVING, last_day=THANKSGIVING + dt.timedelta(days=1))
    facts = standing_plan(today=THANKSGIVING).facts.crews[str(crew.pk)]
    assert facts.off_words[THANKSGIVING] == "Thanksgiving Day: no crew works"
    assert facts.off_words[THANKSGIVING + dt.timedelta(days=1)] == "Nobody is there: Ada"


def test_day_that_is_no_holiday_is_refused(owner: User) -> None:
    keep_holidays()
    with pytest.raises(Refusal, match="Nov 27, 2026 is no holiday here") as caught:
        work_on_holidays(actor=owner, year=2026, days=[dt.date(2026, 11, 27)], at=NOW)
    assert caught.value.field == "worked"


def test_holidays_of_another_country_are_told_among_what_moved(owner: User) -> None:
    keep_holidays("CA")
    block = give_to_crew_of(owner, make_fence_job(), on=THANKSGIVING)
    save_profile(actor=owner, changes={"phone": "555-0199"}, at=NOW)
    assert not PlanChange.objects.exists()
    save_profile(actor=owner, changes={"holiday_country": "US"}, at=NOW)
    row = PlanChange.objects.get()
    assert (row.cause, row.job) == ("holiday", block.job)
    assert [move["after"] for move in row.moves] == [
        f"{block.crew} does not work on Thu Nov 26, 2026. Thanksgiving Day: no crew works."
    ]
