"""The drive between two sites on one crew's day, from the rows of sites and firm.

The second site lies 8 mi due north of the first (8 / 3958.8 radians are 0.115784 degrees): by
road 10.4 mi, at 30 mph 20.8 min, which takes half an hour of the calendar. The yard is not known.
"""

import datetime as dt
from decimal import Decimal

import pytest

from firm.errors import Refusal
from firm.models import FirmProfile
from scheduling.models import Crew, FenceJob
from scheduling.selectors.days import on_the_clock
from scheduling.services.planning import add_block, move_block, place_job
from tests.crew_cast import days_of, make_full_job, make_red_crew, may, put_on
from tests.factories import NOW, make_firm

pytestmark = pytest.mark.django_db


@pytest.fixture
def crew(db: None) -> Crew:
    make_firm()
    return make_red_crew()


@pytest.fixture
def jobs(db: None) -> tuple[FenceJob, FenceJob]:
    south, north = make_full_job(1001, on=may(4)), make_full_job(1002, on=may(4))
    for job, lat_deg in ((south, 41.6), (north, 41.715784)):
        assert job.site is not None
        job.site.latitude, job.site.longitude = lat_deg, -93.6
        job.site.save()
    return south, north


def add(job: FenceJob, crew: Crew, day: int, hours: str, start: dt.time | None = None) -> dt.time:
    row = add_block(
        job=job,
        phase=job.phases.get(kind="layout"),
        crew=crew,
        date=may(day),
        hours=Decimal(hours),
        start=start,
        air_f=None,
        actor=None,
        now=NOW,
    )
    day_rows = crew.crew_days.filter(date=may(day)).order_by("position")
    return next(one.starts_at.time() for one in on_the_clock(day_rows) if one.row == row)


def test_block_put_behind_another_site_s_begins_after_the_drive(
    crew: Crew, jobs: tuple[FenceJob, FenceJob]
) -> None:
    south, north = jobs
    assert add(south, crew, 5, "2") == dt.time(7)
    # 9:00 and half an hour, on the crew's own sheet as well.
    assert add(north, crew, 5, "2") == dt.time(9, 30)
    assert days_of(north) == ["5 layout 09:30 2.00"]


def test_block_that_leaves_no_time_for_the_drive_is_refused(
    crew: Crew, jobs: tuple[FenceJob, FenceJob]
) -> None:
    south, north = jobs
    add(south, crew, 5, "2")
    with pytest.raises(Refusal, match="it is a drive of 21 min, and 15 min are free"):
        add(north, crew, 5, "2", start=dt.time(9, 15))
    block = put_on(north, "layout", crew, may(6), hours="2")
    with pytest.raises(Refusal, match="a drive of 21 min"):
        move_block(
            block=block,
            crew=crew,
            date=may(5),
            hours=block.hours,
            start=dt.time(9),
            air_f=None,
            actor=None,
            now=NOW,
        )


def test_placing_leaves_the_drive_free(crew: Crew, jobs: tuple[FenceJob, FenceJob]) -> None:
    south, north = jobs
    add(south, crew, 5, "5")
    place_job(job=north, actor=None, now=NOW)
    # Two people: layout 0.7 h, up to 0.75, from 12:30; of digging 1.75 h fit until 15:00.
    assert days_of(north)[:2] == ["5 layout 12:30 0.75", "5 dig 1.75"]


def test_yard_and_roads_of_the_firm_count(crew: Crew, jobs: tuple[FenceJob, FenceJob]) -> None:
    south, north = jobs
    add(south, crew, 5, "5")
    firm = FirmProfile.objects.get()
    # The yard at the south site: home from the north site is a second 20.8 min. At 60 mph 10.4.
    firm.yard_latitude, firm.yard_longitude = 41.6, -93.6
    firm.save()
    with pytest.raises(Refusal, match=r"7\.5 h planned and 42 min more on the road, 8 h there"):
        add(north, crew, 5, "2.5")
    firm.road_speed_mph = 60.0
    firm.save()
    assert add(north, crew, 5, "2.5") == dt.time(12, 15)
