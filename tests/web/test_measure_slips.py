"""Slips of the unit on the measure page, each said at its field."""

from html import unescape

import pytest
from django.test import Client

from estimating.services.starter import load_starter_rows
from firm.models import JobSite
from tests.factories import TODAY, make_firm, make_site
from tests.measure_pages import error_at, measure, page

pytestmark = pytest.mark.django_db


@pytest.fixture
def site() -> JobSite:
    make_firm()
    load_starter_rows(today=TODAY)
    return make_site()


def test_a_slip_of_the_unit_is_said_at_its_field(
    site: JobSite,
    as_office: Client,
) -> None:
    typed = {
        "conditions-frost_depth_in": "36 ft",
        "conditions-pool_gap_in": "2 m",
        "lines-0-legs-0-length_in": "10001 ft",
        "lines-0-gates-0-station_in": "5 ft",
        "lines-0-gates-0-clear_opening_in": "8' -3\"",
        "lines-0-no_dig-0-station_in": "9e9 ft",
    }
    answer = measure(as_office, site, page(**typed))
    assert answer.status_code == 422
    html = unescape(answer.content.decode())
    assert all(f'value="{text}"' in html for text in typed.values() if '"' not in text)
    for name, said in {
        "conditions-frost_depth_in": "This must be 120 in or less, not 36 ft.",
        "conditions-pool_gap_in": "This must be 24 in or less, not 2 m.",
        "lines-0-legs-0-length_in": "This must be 10000-0 or less, not 10001 ft.",
        "lines-0-gates-0-clear_opening_in": "reads as feet less inches, or as both together",
        "lines-0-no_dig-0-station_in": "is not a length",
    }.items():
        assert said in error_at(html, name)
