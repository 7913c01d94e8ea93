"""Work that no longer fits, marked where it stands: on the week and on the month."""

import datetime as dt

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from scheduling.models import Crew, RainDay
from tests.crew_cast import make_full_job, put_on
from tests.factories import make_firm

pytestmark = pytest.mark.django_db


def test_block_that_fits_no_longer_is_marked_where_it_stands(as_office: Client) -> None:
    make_firm()
    crew = Crew.objects.create(name="North")
    today = timezone.localdate()
    monday = today + dt.timedelta(days=7 - today.weekday())
    job = make_full_job(1, on=monday)
    put_on(job, "layout", crew, monday, hours="1")
    dig = put_on(job, "dig", crew, monday, hours="4")
    put_on(job, "set", crew, monday + dt.timedelta(days=1), hours="4", air_f=60)
    put_on(job, "hang", crew, monday + dt.timedelta(days=4), hours="4")
    where = {"from": monday.isoformat()}
    assert "fits no longer" not in as_office.get(reverse("week"), where).content.decode()
    RainDay.objects.create(
        date=monday, rain_in=2, source=RainDay.Source.FORECAST, entered_at=timezone.now()
    )
    html = as_office.get(reverse("week"), where).content.decode()
    wide = html.partition("week-narrow")[0]
    # Rain bars the digging, not the string of the same day nor the hanging of Friday.
    marked = [part for part in wide.split("data-block=")[1:] if "fits no longer" in part]
    assert [part.partition('"')[2].partition('"')[0] for part in marked] == [str(dig.pk)]
    month = as_office.get(reverse("month"), {"month": f"{monday:%Y-%m}"}).content.decode()
    assert month.count("fits no longer") == 1
    assert "Rain, 2 in: no" in month
