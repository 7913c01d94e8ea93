"""Rain, time off and holidays move nothing by themselves: which block stands no longer is told.

NOW is Monday, 4 May 2026. The job's posts are set on Tuesday; 0.25 in of rain is the most that
setting goes on in (the firm's table, common practice, no source). Memorial Day 2026 is the last
Monday of May, the 25th (5 U.S.C. 6103(a)).
"""

import datetime as dt
from typing import Any

import pytest

from firm.models import FirmProfile, Role, User
from scheduling.models import Crew, CrewDay, FenceJob, PlanChange
from scheduling.selectors.plan_changes import unseen_changes
from scheduling.services import crews, time_off
from scheduling.services.holidays import work_on_holidays
from scheduling.services.plan_changes import tick_seen
from scheduling.services.weather import write_down_weather
from tests.cast import make_person
from tests.crew_cast import make_full_job, make_red_crew, may, put_on
from tests.factories import NOW, make_firm

pytestmark = pytest.mark.django_db
TUESDAY = may(5)
MEMORIAL_DAY = may(25)


@pytest.fixture
def crew(db: None) -> Crew:
    make_firm()
    return make_red_crew()


@pytest.fixture
def office(db: None) -> User:
    return make_person(Role.OFFICE)


@pytest.fixture
def job(crew: Crew) -> FenceJob:
    job = make_full_job(1, on=may(4))
    job.phases.filter(kind__in=["layout", "dig"]).update(finished_on=dt.date(2026, 5, 1))
    put_on(job, "set", crew, TUESDAY, air_f=72.0)
    return job


def told() -> list[str]:
    return [sentence for row in unseen_changes(now=NOW) for sentence in row.sentences]


def rains(office: User, rain_in: float | None) -> None:
    write_down_weather(pairs={}, rain={TUESDAY: rain_in}, actor=office, now=NOW)


def test_rain_tells_the_block_it_bars_until_it_is_taken_back(job: FenceJob, office: User) -> None:
    rains(office, 0.1)
    assert told() == []
    rains(office, 1.0)
    (sentence,) = told()
    assert sentence.startswith("Stands no longer: Job 1: no setting posts on Tue May 5")
    assert "1 in of rain; it is done in up to 0.25 in." in sentence
    assert PlanChange.objects.get().cause == "rain"
    # More of it is the same change; none again is none.
    rains(office, 2.0)
    (sentence,) = told()
    assert "2 in of rain" in sentence
    rains(office, None)
    assert not PlanChange.objects.exists()


def test_seen_and_taken_back_tells_that_the_block_stands_again(job: FenceJob, office: User) -> None:
    rains(office, 1.0)
    tick_seen(as_of=NOW, actor=office, now=NOW)
    rains(office, None)
    assert told() == [
        "Setting posts, concrete of Job 1 on Tue May 5 stands again, as far as this barred it."
    ]


def test_frost_in_the_forecast_is_told_with_the_air(job: FenceJob, office: User) -> None:
    cold = {may(day): (20.0, 30.0) for day in (5, 6)}
    write_down_weather(pairs=cold, rain={}, actor=office, now=NOW)
    row = PlanChange.objects.get()
    assert row.cause == "air"
    assert [one for one in told() if "Stands no longer: Job 1: " in one and "Cover it" in one]


def test_time_off_of_everybody_and_of_the_crew_are_told(
    job: FenceJob, crew: Crew, office: User
) -> None:
    values: dict[str, Any] = {"first_day": TUESDAY, "last_day": TUESDAY, "reason": "Course"}
    off = [
        time_off.add_time_off(actor=office, member=one, values=values, at=NOW)
        for one in crew.members.all()
    ]
    (sentence,) = told()
    assert "Red crew does not work on Tue May 5, 2026. Nobody is there" in sentence
    for row in off:
        time_off.drop_time_off(actor=office, time_off=row, at=NOW)
    assert told() == []
    crews.add_days_off(actor=office, crew=crew, values=values, at=NOW)
    (sentence,) = told()
    assert "Red crew does not work on Tue May 5, 2026. Off: Course." in sentence
    assert PlanChange.objects.get().cause == "time_off"
    # What was moved meanwhile is told as moved.
    CrewDay.objects.update(date=may(6))
    (sentence,) = told()
    assert sentence.endswith("It has left that day since.")


def test_holiday_kept_again_tells_the_block_on_it(job: FenceJob, crew: Crew, office: User) -> None:
    FirmProfile.objects.update(holiday_country="US")
    work_on_holidays(actor=office, year=2026, days=[MEMORIAL_DAY], at=NOW)
    CrewDay.objects.update(date=MEMORIAL_DAY)
    assert told() == []
    work_on_holidays(actor=office, year=2026, days=[], at=NOW)
    assert any("Memorial Day: no crew works" in one for one in told())
    assert PlanChange.objects.get().cause == "holiday"
