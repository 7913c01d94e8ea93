"""Large sites: what the engine takes the form takes, and nothing is dropped in silence."""

from typing import Any

import pytest
from django.test import Client

from estimating.forms.measure_maker import FormMaker
from estimating.models import SiteMeasurement
from estimating.services.starter import load_starter_rows
from firm.models import JobSite
from tests.factories import TODAY, make_firm, make_site

pytestmark = pytest.mark.django_db


@pytest.fixture
def site(db: None) -> JobSite:
    make_firm()
    load_starter_rows(today=TODAY)
    return make_site()


def form(*, legs: int, shots: int = 0) -> dict[str, Any]:
    typed: dict[str, Any] = {
        "site-name": "Long Ridge",
        "site-based_on": "0",
        "conditions-soil_class": "normal",
        "conditions-dig_method": "two_man_auger",
        "conditions-spoil": "spread",
        "lines-0-id": "A",
        "lines-0-system": "vinyl_privacy_6ft",
    }
    for i in range(legs):
        # Zigzag: each leg of 8 ft turns a little the other way.
        typed[f"lines-0-legs-{i}-length_in"] = "8'"
        typed[f"lines-0-legs-{i}-turn_deg"] = "1" if i % 2 else "-1"
    for i in range(shots):
        typed[f"lines-0-ground-{i}-station_in"] = f"{i}'"
        typed[f"lines-0-ground-{i}-elevation_in"] = "3"
    return typed


def test_site_of_the_largest_size_is_saved_whole(as_office: Client, site: JobSite) -> None:
    # 500 legs and 500 shots: 2,000 fields, twice what Django takes unless told otherwise.
    answer = as_office.post(f"/sites/{site.pk}/measure/", form(legs=500, shots=500))
    assert answer.status_code == 302
    line = SiteMeasurement.objects.get().document["lines"][0]
    assert (len(line["legs"]), len(line["ground"])) == (500, 500)


def test_one_leg_more_is_refused_and_none_is_lost(as_office: Client, site: JobSite) -> None:
    answer = as_office.post(f"/sites/{site.pk}/measure/", form(legs=501))
    assert answer.status_code == 422
    page = answer.content.decode()
    assert "more than 500: it holds 501" in page
    assert 'name="lines-0-legs-500-length_in"' in page
    assert not SiteMeasurement.objects.exists()


def test_rows_are_read_by_their_own_numbers_only() -> None:
    maker = FormMaker(systems=[], units="us")
    typed = {
        "lines-3-name": "",
        "lines-3-legs-7-length_in": "8'",
        "lines-3-legs-x-length_in": "8'",
        "lines-3-legs-99999-length_in": "8'",
        "lines--name": "",
        "lines-3": "",
        "-": "",
    }
    lines = maker.from_typed(typed).lines
    assert [line.prefix for line in lines] == ["lines-3"]
    assert [row.prefix for row in lines[0].rows["legs"]] == ["lines-3-legs-7"]
