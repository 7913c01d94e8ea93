"""What moves a site's hours, typed on the measure page."""

import re

import pytest
from django.test import Client
from django.urls import reverse

from estimating.services.starter import load_starter_rows
from firm.models import JobSite
from tests.factories import TODAY, make_firm, make_site
from tests.measure_pages import document_of, error_at, measure, page

pytestmark = pytest.mark.django_db


@pytest.fixture
def site() -> JobSite:
    make_firm()
    load_starter_rows(today=TODAY)
    return make_site()


def test_what_moves_the_hours_is_typed_and_kept(site: JobSite, as_office: Client) -> None:
    typed = page(
        **{
            "conditions-access_width_in": "3 ft 2",
            "conditions-rock_holes": "2",
            "conditions-wet_holes": "4",
            "conditions-frozen_ground": "on",
            "conditions-drive_min": "50",
        }
    )
    assert measure(as_office, site, typed).status_code == 302

    kept = document_of(site)["conditions"]
    assert kept["access_width_in"] == 38.0
    assert (kept["rock_holes"], kept["wet_holes"], kept["drive_min"]) == (2, 4, 50.0)
    assert kept["frozen_ground"] is True


def test_a_way_in_of_nothing_is_refused_at_its_field(site: JobSite, as_office: Client) -> None:
    answer = measure(as_office, site, page(**{"conditions-access_width_in": "0"}))

    assert answer.status_code == 422
    assert "1 in or more" in error_at(answer.content.decode(), "conditions-access_width_in")


def test_a_new_document_begins_with_the_site_s_width(site: JobSite, as_office: Client) -> None:
    JobSite.objects.filter(pk=site.pk).update(access_width_in=38.0)

    html = as_office.get(reverse("site_measure", args=[site.pk])).content.decode()
    assert re.search(r'name="conditions-access_width_in" value="38 in"', html)
