"""Slide gates, unequal pairs and rails without stiffeners, as the measure form takes them."""

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from estimating.models import SiteMeasurement
from estimating.services.starter import load_starter_rows
from firm.models import JobSite
from tests.factories import TODAY, make_firm, make_site
from tests.measure_pages import error_at, gate, measure, page

pytestmark = [pytest.mark.django_db, pytest.mark.once]


@pytest.fixture
def site() -> JobSite:
    make_firm()
    load_starter_rows(today=TODAY)
    return make_site()


def saved_line(site: JobSite) -> dict[str, Any]:
    document = SiteMeasurement.objects.filter(site=site).latest("version").document
    (line,) = document["lines"]
    found: dict[str, Any] = line
    return found


def test_a_slide_gate_is_kept_as_it_was_typed(
    site: JobSite,
    as_office: Client,
) -> None:
    typed = gate(
        station_in="24 ft", clear_opening_in="12 ft", kind="slide", use="drive", hinge_side="start"
    )
    answer = measure(as_office, site, page(**typed))

    assert answer.status_code == 302
    (kept,) = saved_line(site)["gates"]
    assert (kept["kind"], kept["leaves"], kept["hinge_side"]) == ("slide", 1, "start")
    assert "first_leaf_in" not in kept
    shown = as_office.get(reverse("site_measure", args=[site.pk])).content.decode()
    assert '<option value="slide" selected>' in shown


def test_the_sketch_warns_of_a_leaf_that_has_no_room(
    site: JobSite,
    as_office: Client,
) -> None:
    # The leaf of 12 ft + 6 in + 6 ft needs 18 ft 6 in behind the opening; here are 15 ft.
    typed = gate(station_in="15 ft", clear_opening_in="12 ft", kind="slide", use="drive")
    answer = as_office.post(reverse("site_measure_preview", args=[site.pk]), page(**typed))

    assert "past the end of the leg" in answer.content.decode()
    assert "qualified installer" in answer.content.decode()


def test_an_unequal_pair_keeps_its_first_leaf(
    site: JobSite,
    as_office: Client,
) -> None:
    typed = gate(clear_opening_in="147", leaves="2", first_leaf_in="4 ft", use="drive")
    measure(as_office, site, page(**typed))

    (kept,) = saved_line(site)["gates"]
    assert (kept["first_leaf_in"], kept["leaves"], kept["hinge_side"]) == (48.0, 2, "both")


@pytest.mark.parametrize(
    ("typed", "field", "told"),
    [
        ({"kind": "slide", "leaves": "2"}, "leaves", "one leaf"),
        ({"kind": "slide", "hinge_side": "both"}, "hinge_side", "near or on the far side"),
        ({"first_leaf_in": "2 ft"}, "first_leaf_in", "two leaves"),
    ],
)
def test_what_does_not_go_together_is_refused_at_its_field(
    site: JobSite,
    as_office: Client,
    typed: dict[str, str],
    field: str,
    told: str,
) -> None:
    answer = measure(as_office, site, page(**gate(**typed)))

    assert answer.status_code == 422
    assert told in error_at(answer.content.decode(), f"lines-0-gates-0-{field}")


def test_a_line_goes_without_its_rail_stiffeners_only_where_it_says_so(
    site: JobSite,
    as_office: Client,
) -> None:
    measure(as_office, site, page())
    assert "rail_stiffener" not in saved_line(site)

    bare = {"lines-0-rail_stiffener": "no", "based_on": "1", "site-based_on": "1"}
    assert measure(as_office, site, page(**bare)).status_code == 302
    assert saved_line(site)["rail_stiffener"] is False
    shown = as_office.get(reverse("site_measure", args=[site.pk])).content.decode()
    assert '<option value="no" selected>Without the metal stiffener</option>' in shown
