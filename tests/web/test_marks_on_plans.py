"""Marked utilities and what stands in the line are drawn on every plan the office looks at."""

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from estimating.services import estimates as service
from estimating.services.measurements import save_measurement
from estimating.services.starter import load_starter_rows
from firm.models import JobSite
from tests.db.test_measurements import straight_line
from tests.factories import NOW, TODAY, make_firm, make_site

pytestmark = pytest.mark.django_db

GAS = {"station_in": 200.0, "facility_width_in": 4.0, "utility": "gas", "hand_dig": False}
TREE = {"station_in": 340.0, "width_in": 14.0, "kind": "tree", "note": "maple"}


@pytest.fixture
def site() -> JobSite:
    make_firm()
    load_starter_rows(today=TODAY)
    site = make_site()
    document: dict[str, Any] = straight_line(600.0)
    document["lines"][0] |= {"no_dig": [GAS], "fixed_points": [TREE]}
    save_measurement(site=site, document=document, based_on=0, actor=None, now=NOW)
    return site


def drawing_in(page: str) -> str:
    return page.split("<svg", 1)[1].split("</svg>", 1)[0]


def test_plans_of_site_and_estimate_draw_them(site: JobSite, as_office: Client) -> None:
    estimate = service.price_site(site=site, actor=None, now=NOW)
    for address in (
        reverse("site_measure", args=[site.pk]),
        reverse("estimate", args=[estimate.pk]),
    ):
        drawing = drawing_in(as_office.get(address).content.decode())
        assert "gas" in drawing, address
        assert "maple" in drawing, address
