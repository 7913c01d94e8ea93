"""Which class of the building code stands for each of the firm's soils, as the office sets it."""

import datetime as dt
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from estimating.mapping import firm_catalog_data
from firm.models import AuditEntry, FirmProfile

pytestmark = pytest.mark.django_db
ADDRESS = "/price-book/soil/"
TYPED = {"sand": "sand", "normal": "clay", "stiff": "clay", "shale": "none"}


def classes_today() -> dict[str, str]:
    today: dt.date = timezone.localdate()
    rules: dict[str, Any] = firm_catalog_data(today=today)["rules"]
    found: dict[str, str] = rules["soil_bearing"]
    return found


def test_the_page_shows_the_classes_that_rule_and_what_each_may_bear(as_office: Client) -> None:
    page = as_office.get(ADDRESS).content.decode()

    # IBC table 1806.2: 100 psf a foot for clay, 150 for sand.
    assert "100 psf a foot of depth: clay, silt, sandy or silty clay" in page
    assert "150 psf a foot of depth: sand, silty or clayey sand or gravel" in page
    assert page.count('<option value="clay" selected>') == 3
    assert page.count('<option value="gravel" selected>') == 1
    assert "no presumptive value" in page


def test_what_the_office_chooses_is_what_the_engine_gets(as_office: Client) -> None:
    answer = as_office.post(ADDRESS, TYPED)

    assert answer.status_code == 302
    assert classes_today() == {"sand": "sand", "normal": "clay", "stiff": "clay"}
    page = as_office.get(ADDRESS).content.decode()
    assert page.count('<option value="none" selected>') == 1
    entry = AuditEntry.objects.latest("pk")
    assert entry.after["soil_bearing"] == {**TYPED, "shale": ""}


def test_other_figures_of_the_firm_stay(as_office: Client) -> None:
    FirmProfile.objects.update_or_create(pk=1, defaults={"name": "Brandt", "crew_size": 4})
    as_office.post(ADDRESS, TYPED)

    assert FirmProfile.objects.get(pk=1).crew_size == 4


@pytest.mark.parametrize("bearing", ["mud", "", "bedrock<"])
def test_a_class_the_code_has_not_is_refused(as_office: Client, bearing: str) -> None:
    before = classes_today()
    answer = as_office.post(ADDRESS, {**TYPED, "normal": bearing})

    assert answer.status_code == 422
    assert 'id="id_normal_error"' in answer.content.decode()
    # What was chosen beside it is still there.
    assert '<option value="sand" selected>' in answer.content.decode()
    assert classes_today() == before


def test_a_crew_lead_has_no_such_page(as_lead: Client) -> None:
    assert as_lead.get(ADDRESS).status_code == 403
    assert as_lead.post(ADDRESS, TYPED).status_code == 403


def test_the_page_asks_little(
    as_office: Client, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    as_office.get(ADDRESS)
    # Session, person, the firm's profile.
    with django_assert_num_queries(3):
        as_office.get(ADDRESS)
