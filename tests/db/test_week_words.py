"""What the week says of rain, the drive and tickets that end too early."""

import datetime as dt

import pytest

from firm.models import Clearance
from scheduling.models import RainDay
from scheduling.selectors.calendar import week_view
from scheduling.selectors.jobs import job_view
from tests.crew_cast import make_full_job, make_red_crew, may, put_on
from tests.factories import NOW, make_firm
from tests.firm_cast import make_jurisdiction

pytestmark = pytest.mark.django_db


def test_week_says_the_rain_of_a_day_and_what_it_bars() -> None:
    make_red_crew()
    for day, rain_in in ((5, 0.3), (6, 0.1), (7, 0.0)):
        RainDay.objects.create(date=may(day), rain_in=rain_in, source="forecast", entered_at=NOW)
    words = [head.rain for head in week_view(monday=may(4), now=NOW).days]
    assert words[0] == ""
    # Over a quarter inch and under a half: it is dug, and nothing is set or hung.
    assert words[1] == "Rain, 0.3 in: no setting posts, hanging, hanging gates"
    assert words[2:4] == ["Rain, 0.1 in", ""]


def test_week_says_how_long_each_crew_drives() -> None:
    # The yard 8 mi south of the site (0.115784 degrees): 2 x 8 mi x 1.3 / 30 mph = 41.6 min.
    make_firm(yard_latitude=41.6, yard_longitude=-93.6)
    crew, job = make_red_crew(), make_full_job(1001, on=may(4))
    assert job.site is not None
    job.site.latitude, job.site.longitude = 41.715784, -93.6
    job.site.save()
    put_on(job, "layout", crew, may(5))
    (line,) = week_view(monday=may(4), now=NOW).crews
    assert [cell.drive for cell in line.cells[:3]] == ["", "42 min on the road", ""]


def test_ticket_that_ends_before_the_dig_is_told() -> None:
    crew, job = make_red_crew(), make_full_job(1001, on=dt.date(2026, 5, 4))
    assert job.site is not None
    job.site.jurisdiction = make_jurisdiction(locate_notice=2)
    job.site.save()
    Clearance.objects.filter(site=job.site, kind="locate").update(expires_on=may(12))
    put_on(job, "dig", crew, may(18))
    (words,) = week_view(monday=may(18), now=NOW).calls
    # Two full working days before Mon 18: a call on Wed 13 counts Thu and Fri.
    assert words.endswith("Call again by Wed May 13, 2026: that still saves it.")
    assert week_view(monday=may(4), now=NOW).calls == []
    assert job_view(job, now=NOW).calls == [words]
