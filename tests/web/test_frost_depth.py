"""The page that works out how deep the ground may freeze; it keeps nothing."""

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from firm.models import FirmProfile
from tests.factories import make_firm

pytestmark = pytest.mark.django_db
WINTER = {
    "index": "1500",
    "freezing_days": "120",
    "mean_annual": "45",
    "soil": "silt",
    "surface": "turf",
}


def test_silt_under_grass_freezes_to_two_feet_eight(as_office: Client) -> None:
    # Worked by hand with the formulas: 3.559 ft by Stefan, 2.67 by Berggren: 42.7 and 32.1 in.
    page = as_office.get(reverse("frost_depth"), WINTER).content.decode()

    assert '<span class="big-figure">32 in</span>' in page
    assert "mild: 43 in" in page
    # 4.40 ft by the fit to pavements.
    assert "from memory): 53 in" in page
    assert "Advice only" in page


def test_page_without_figures_asks_for_them(as_office: Client) -> None:
    answer = as_office.get(reverse("frost_depth"))

    assert answer.status_code == 200
    assert "How deep this ground may freeze" not in answer.content.decode()


@pytest.mark.parametrize(
    ("name", "value"),
    [("index", "cold"), ("index", "-1"), ("freezing_days", "0"), ("soil", "rock"), ("surface", "")],
)
def test_what_can_not_be_is_refused_and_stays(as_office: Client, name: str, value: str) -> None:
    answer = as_office.get(reverse("frost_depth"), WINTER | {name: value})
    page = answer.content.decode()

    assert answer.status_code == 422
    assert "How deep this ground may freeze" not in page
    assert 'value="120"' in page or name == "freezing_days"


def test_metric_firm_gives_degrees_celsius(as_office: Client) -> None:
    # 1,500 F-days are 833.3 C-days; 45 F is 7.222 C: 32 in is 813 mm.
    make_firm(units=FirmProfile.Units.METRIC)
    winter = WINTER | {"index": "833.33", "mean_annual": "7.2222"}
    page = as_office.get(reverse("frost_depth"), winter).content.decode()

    assert "Air-freezing index (C degree-days)" in page
    assert '<span class="big-figure">813 mm</span>' in page
    assert "kN" in page
    assert " lb" not in page


def test_page_asks_the_database_for_the_firm_and_the_person_alone(
    as_office: Client, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    # Session, person; the firm's profile.
    with django_assert_num_queries(3):
        as_office.get(reverse("frost_depth"), WINTER)
