"""Alternates on the office's page: compared, added, taken out, made estimates of their own."""

from collections.abc import Callable
from decimal import Decimal
from html import unescape
from typing import Any

import pytest
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from estimating.engine.alternates import Swap
from estimating.models import AlternateSwap, Estimate, EstimateAlternate
from estimating.selectors.alternates import priced_alternates
from estimating.services import estimate_parts
from estimating.services import estimates as service
from estimating.services.alternates import MOST_ALTERNATES, add_alternate, estimate_of_alternate
from estimating.services.measurements import save_measurement
from estimating.services.starter import load_starter_rows
from firm.errors import Refusal
from firm.measure.money import format_money
from firm.models import AuditEntry, JobSite, Role
from tests.db.test_estimates import freeze, typed
from tests.db.test_measurements import straight_line
from tests.factories import NOW, TODAY, make_firm, make_sent_proposal, make_site

pytestmark = [pytest.mark.django_db, pytest.mark.once]

MESH = Swap(line_id="A", system="chain_link_6ft")


@pytest.fixture
def site() -> JobSite:
    make_firm()
    load_starter_rows(today=TODAY)
    site = make_site()
    document = straight_line(720.0)
    document["lines"][0]["gates"] = [{"id": "G1", "station_in": 200.0, "clear_opening_in": 48.0}]
    save_measurement(site=site, document=document, based_on=0, actor=None, now=NOW)
    return site


@pytest.fixture
def priced(site: JobSite) -> Estimate:
    return service.price_site(site=site, actor=None, now=NOW)


def address(estimate: Estimate) -> str:
    return reverse("estimate_alternates", args=[estimate.pk])


def page_of(client: Client, estimate: Estimate) -> str:
    return " ".join(unescape(client.get(address(estimate)).content.decode()).split())


def add(estimate: Estimate, name: str = "Chain link", *swaps: Swap) -> EstimateAlternate:
    return add_alternate(estimate=estimate, name=name, swaps=swaps or (MESH,), actor=None, now=NOW)


@pytest.mark.parametrize(
    ("role", "status"),
    [(None, 302), (Role.CREW_LEAD, 403), (Role.OFFICE, 200), (Role.OWNER, 200)],
)
def test_alternates_are_for_owner_and_office(
    priced: Estimate, as_role: Callable[[Role | None], Client], role: Role | None, status: int
) -> None:
    assert as_role(role).get(address(priced)).status_code == status


@pytest.mark.parametrize("name", ["estimate_alternate_drop", "estimate_alternate_take"])
def test_crew_leads_change_nothing(
    priced: Estimate, as_role: Callable[[Role | None], Client], name: str
) -> None:
    arguments = [priced.pk, add(priced).pk]
    assert as_role(Role.CREW_LEAD).post(reverse(name, args=arguments)).status_code == 403
    assert EstimateAlternate.objects.count() == 1


def form(**changes: str) -> dict[str, str]:
    return {"name": "Chain link", "system_A": "", "gate_A_G1": "48 in", **changes}


def test_office_adds_a_system_and_a_gate_and_compares_them(
    priced: Estimate, as_office: Client
) -> None:
    mesh = form(system_A="chain_link_6ft")
    wider = form(name="Wider gate", gate_A_G1="60 in")
    assert as_office.post(address(priced), mesh).status_code == 302
    assert as_office.post(address(priced), wider).status_code == 302

    assert set(AlternateSwap.objects.values_list("line_id", "gate_id", "system", "opening_in")) == {
        ("A", "", "chain_link_6ft", None),
        ("A", "G1", "", 60.0),
    }
    page = page_of(as_office, priced)
    alternates = priced_alternates(priced)
    assert len(alternates) == 2
    for each in alternates:
        assert each.result is not None
        assert format_money(each.result.money.price) in page
        assert format_money(each.price_change) in page
    assert "Line A, gate G1: 60 in clear" in page
    assert AuditEntry.objects.filter(action="added an alternate").count() == 2


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({}, "Choose what is otherwise"),
        ({"name": "", "system_A": "chain_link_6ft"}, "This field is required."),
        ({"system_A": "bamboo"}, "Select a valid choice."),
        ({"gate_A_G1": "wide"}, "wide"),
    ],
)
def test_a_slip_is_named_and_nothing_typed_is_lost(
    priced: Estimate, as_office: Client, changes: dict[str, str], words: str
) -> None:
    answer = as_office.post(address(priced), form(name="Something else") | changes)
    page = unescape(answer.content.decode())

    assert answer.status_code == 422
    assert words in page
    assert changes.get("name", "Something else") in page
    assert not EstimateAlternate.objects.exists()


def test_a_name_counts_once(priced: Estimate, as_office: Client) -> None:
    add(priced)
    answer = as_office.post(address(priced), form(system_A="chain_link_4ft"))
    assert "An alternate of this name is there already." in answer.content.decode()


def test_as_many_as_anyone_compares(priced: Estimate) -> None:
    for number in range(MOST_ALTERNATES):
        add(priced, f"Number {number}")
    with pytest.raises(Refusal, match="as many as anyone compares"):
        add(priced, "One more")


def test_a_frozen_estimate_keeps_its_alternates(priced: Estimate, as_office: Client) -> None:
    alternate = add(priced)
    freeze(priced)
    as_office.post(reverse("estimate_alternate_drop", args=[priced.pk, alternate.pk]))

    assert EstimateAlternate.objects.filter(pk=alternate.pk).exists()
    assert "its alternates stay as they are" in page_of(as_office, priced)
    with pytest.raises(Refusal):
        add(priced, "Late")


def test_taking_one_out(priced: Estimate, as_office: Client) -> None:
    alternate = add(priced)
    as_office.post(reverse("estimate_alternate_drop", args=[priced.pk, alternate.pk]))

    assert not EstimateAlternate.objects.exists()
    assert AuditEntry.objects.filter(action="took out an alternate").count() == 1


def test_one_of_another_estimate_is_not_found(
    priced: Estimate, site: JobSite, as_office: Client
) -> None:
    other = service.price_site(site=site, actor=None, now=NOW, again=True)
    wrong = reverse("estimate_alternate_drop", args=[other.pk, add(priced).pk])
    assert as_office.post(wrong).status_code == 404


def test_an_alternate_becomes_an_estimate_at_the_price_it_was_compared_at(
    priced: Estimate, as_office: Client
) -> None:
    estimate_parts.save_line(
        estimate=priced, values=typed(unit_cost=Decimal(120)), actor=None, now=NOW
    )
    for target, value in (("unit_cost:concrete_80lb", "7.5"), ("price", "9000")):
        estimate_parts.set_by_hand(
            estimate=priced,
            target=target,
            value=Decimal(value),
            reason="agreed",
            actor=None,
            now=NOW,
        )
    priced.refresh_from_db()
    alternate = add(priced)
    (compared,) = priced_alternates(priced)
    assert compared.result is not None
    before = Estimate.objects.filter(pk=priced.pk).values().get()

    answer = as_office.post(
        reverse("estimate_alternate_take", args=[priced.pk, alternate.pk]), follow=True
    )

    new = Estimate.objects.exclude(pk=priced.pk).get()
    assert answer.status_code == 200
    assert new.price == compared.result.money.price
    assert new.document["lines"][0]["system"] == "chain_link_6ft"
    assert new.catalog == priced.catalog
    assert (new.customer_id, new.site_id, new.state) == (
        priced.customer_id,
        priced.site_id,
        Estimate.State.OPEN,
    )
    assert new.title.endswith(": Chain link")
    assert new.typed_lines.count() == 1
    assert [each.target for each in new.overrides.all()] == ["unit_cost:concrete_80lb"]
    assert Estimate.objects.filter(pk=priced.pk).values().get() == before
    assert AuditEntry.objects.filter(action="made an alternate an estimate").count() == 1


@pytest.mark.parametrize("is_out", [True, False])
def test_office_is_warned_of_two_proposals_that_can_both_be_accepted(
    priced: Estimate, as_office: Client, is_out: bool
) -> None:
    alternate = add(priced)
    if is_out:
        make_sent_proposal(priced)
    answer = as_office.post(
        reverse("estimate_alternate_take", args=[priced.pk, alternate.pk]), follow=True
    )
    assert ("can accept both" in answer.content.decode()) is is_out


def test_pricing_it_anew_keeps_its_own_system(priced: Estimate) -> None:
    new = estimate_of_alternate(alternate=add(priced), actor=None, now=NOW)
    service.reprice(estimate=new, actor=None, now=NOW)

    new.refresh_from_db()
    assert new.document["lines"][0]["system"] == "chain_link_6ft"


def test_one_whose_line_is_gone_says_so_and_makes_no_estimate(
    priced: Estimate, as_office: Client
) -> None:
    alternate = add(priced)
    AlternateSwap.objects.update(line_id="Z")
    page = page_of(as_office, priced)
    assert "The site has no line 'Z' any more." in page
    with pytest.raises(Refusal, match="no line 'Z'"):
        estimate_of_alternate(alternate=alternate, actor=None, now=NOW)
    assert Estimate.objects.count() == 1


def test_page_says_what_can_t_be_worked_out(priced: Estimate, as_office: Client) -> None:
    alternate = add(priced)
    Estimate.objects.filter(pk=priced.pk).update(catalog={"rules": {}})
    assert "This can't be worked out" in page_of(as_office, priced)
    with pytest.raises(Refusal):
        estimate_of_alternate(alternate=alternate, actor=None, now=NOW)


def test_a_revision_takes_the_alternates_along(priced: Estimate) -> None:
    add(priced)
    freeze(priced)
    new = service.revise(estimate=priced, actor=None, now=NOW)

    (kept,) = new.alternates.all()
    assert kept.name == "Chain link"
    assert [each.system for each in kept.swaps.all()] == ["chain_link_6ft"]
    assert priced.alternates.count() == 1


@pytest.mark.parametrize(
    "fields",
    [
        {"gate_id": "", "system": "", "opening_in": None},
        {"gate_id": "", "system": "chain_link_6ft", "opening_in": 48.0},
        {"gate_id": "G1", "system": "", "opening_in": 0.0},
        {"gate_id": "G1", "system": "chain_link_6ft", "opening_in": 48.0},
    ],
)
def test_database_refuses_a_swap_of_nothing_or_of_two_things(
    priced: Estimate, fields: dict[str, Any]
) -> None:
    alternate = add(priced)
    with pytest.raises(IntegrityError), transaction.atomic():
        AlternateSwap.objects.create(alternate=alternate, line_id="B", **fields)


def test_the_page_asks_the_database_little(
    priced: Estimate, as_office: Client, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    for number in range(3):
        add(priced, f"Number {number}")
    # Session, person; estimate; the firm's units; alternates and their swaps; typed lines and
    # figures by hand.
    with django_assert_num_queries(8):
        as_office.get(address(priced))
