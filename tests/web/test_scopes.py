"""Scopes side by side on the office's page."""

from collections.abc import Callable
from decimal import Decimal
from html import unescape

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from estimating.engine.scopes import compare_scopes
from estimating.models import Estimate
from estimating.selectors.what_if import read_for_what_if
from estimating.services import estimates as service
from estimating.services.measurements import save_measurement
from estimating.services.starter import load_starter_rows
from firm.measure.money import format_money
from firm.models import FirmProfile, JobSite, Role
from tests.db.test_measurements import straight_line
from tests.factories import NOW, TODAY, make_firm, make_site

pytestmark = [pytest.mark.django_db, pytest.mark.once]


@pytest.fixture
def site() -> JobSite:
    make_firm()
    load_starter_rows(today=TODAY)
    site = make_site()
    save_measurement(site=site, document=straight_line(1152.0), based_on=0, actor=None, now=NOW)
    return site


@pytest.fixture
def priced(site: JobSite) -> Estimate:
    return service.price_site(site=site, actor=None, now=NOW)


def page_of(client: Client, estimate: Estimate) -> str:
    answer = client.get(reverse("estimate_scopes", args=[estimate.pk]))
    assert answer.status_code == 200
    return " ".join(unescape(answer.content.decode()).split())


@pytest.mark.parametrize(
    ("role", "status"),
    [(None, 302), (Role.CREW_LEAD, 403), (Role.OFFICE, 200), (Role.OWNER, 200)],
)
def test_scopes_are_for_owner_and_office(
    priced: Estimate, as_role: Callable[[Role | None], Client], role: Role | None, status: int
) -> None:
    answer = as_role(role).get(reverse("estimate_scopes", args=[priced.pk]))
    assert answer.status_code == status


def test_whole_fence_is_the_estimate_and_the_others_stand_beside_it(
    priced: Estimate, as_office: Client
) -> None:
    page = page_of(as_office, priced)
    read = read_for_what_if(priced)
    scopes = {each.key: each for each in compare_scopes(read.site, read.catalog)}

    assert scopes["whole_fence"].price == priced.price
    for scope in scopes.values():
        assert format_money(scope.price) in page
        assert format_money(scope.direct_cost) in page
    left = scopes["posts_only"].self_built
    assert left is not None
    assert left.saves is not None
    # 12 bays at 0.5 h and a visit's set-up of 1.5 h.
    assert f"So the customer saves {format_money(left.saves)}" in page
    assert "a practised crew 7.5 hours" in page
    assert "Removal only is missing" in page


def test_page_says_when_nobody_has_named_the_tax_on_goods(
    priced: Estimate, as_office: Client
) -> None:
    assert "tax not set" in page_of(as_office, priced)


def test_tax_on_goods_comes_from_the_settings(site: JobSite, as_office: Client) -> None:
    FirmProfile.objects.update(goods_sales_tax_pct=Decimal("8.25"))
    page = page_of(as_office, service.price_site(site=site, actor=None, now=NOW))

    assert "sales tax, on goods and delivery" in page
    assert "tax not set" not in page


def test_an_estimate_frozen_before_goods_were_sold_takes_today_s_rule(
    priced: Estimate, as_office: Client
) -> None:
    rules = {name: value for name, value in priced.catalog["rules"].items() if name != "goods"}
    Estimate.objects.filter(pk=priced.pk).update(
        catalog={**priced.catalog, "rules": rules}, state=Estimate.State.FROZEN
    )
    assert "Materials only, delivered" in page_of(as_office, priced)


def test_looking_changes_nothing(priced: Estimate, as_office: Client) -> None:
    before = Estimate.objects.filter(pk=priced.pk).values().get()
    page_of(as_office, priced)
    assert Estimate.objects.filter(pk=priced.pk).values().get() == before


def test_page_says_what_can_t_be_worked_out(priced: Estimate, as_office: Client) -> None:
    Estimate.objects.filter(pk=priced.pk).update(catalog={"rules": {}})
    assert "This can't be worked out" in page_of(as_office, priced)


def test_the_page_asks_the_database_little(
    priced: Estimate, as_office: Client, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    # Session, person; estimate; figures by hand, typed lines; the firm.
    with django_assert_num_queries(6):
        page_of(as_office, priced)
