"""The pages of estimates: who opens them, what they show, what they keep of a slip."""

import re
from collections.abc import Callable
from decimal import Decimal
from html import unescape
from typing import Any, get_args

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from estimating import mapping
from estimating.engine.catalog import Driver
from estimating.engine.result import EstimateResult
from estimating.models import Estimate, EstimateLine, PriceItem, Proposal
from estimating.selectors.by_foot import DRIVER_WORDS
from estimating.services import estimate_parts
from estimating.services import estimates as service
from estimating.services.measurements import save_measurement
from estimating.services.starter import load_starter_rows
from firm.models import FirmProfile, JobSite, Role
from tests.db.test_estimates import freeze, typed
from tests.db.test_measurements import straight_line
from tests.factories import NOW, TODAY, make_customer, make_firm, make_site

pytestmark = pytest.mark.django_db


@pytest.fixture
def site() -> JobSite:
    make_firm()
    load_starter_rows(today=TODAY)
    site = make_site()
    save_measurement(site=site, document=straight_line(600.0), based_on=0, actor=None, now=NOW)
    return site


@pytest.fixture
def priced(site: JobSite) -> Estimate:
    return service.price_site(site=site, actor=None, now=NOW)


@pytest.mark.parametrize("name", ["estimates", "estimate", "estimate_price", "repair_new"])
@pytest.mark.parametrize(
    ("role", "status"),
    [(None, 302), (Role.CREW_LEAD, 403), (Role.OFFICE, 200), (Role.OWNER, 200)],
)
def test_prices_are_for_owner_and_office(
    priced: Estimate,
    as_role: Callable[[Role | None], Client],
    name: str,
    role: Role | None,
    status: int,
) -> None:
    address = reverse(name, args=[priced.pk] if name in ("estimate", "estimate_price") else [])
    assert as_role(role).get(address).status_code == status


@pytest.mark.parametrize(
    "name", ["estimate_price", "estimate_revise", "estimate_line_add", "estimate_override"]
)
def test_crew_leads_change_nothing(
    priced: Estimate, as_role: Callable[[Role | None], Client], name: str
) -> None:
    answer = as_role(Role.CREW_LEAD).post(reverse(name, args=[priced.pk]))
    assert answer.status_code == 403


def test_site_is_priced_by_one_press(site: JobSite, as_office: Client) -> None:
    answer = as_office.post(reverse("estimate_new", args=[site.pk]))
    row = Estimate.objects.get()
    assert answer["Location"] == reverse("estimate", args=[row.pk])


def test_second_press_shows_the_estimate_there_is(priced: Estimate, as_office: Client) -> None:
    address = reverse("estimate_new", args=[priced.site_id])

    answer = as_office.post(address)
    assert answer.status_code == 409
    assert f"Estimate {priced.label} is already open" in answer.content.decode()
    assert Estimate.objects.count() == 1

    as_office.post(address, {"again": "yes"})
    assert Estimate.objects.count() == 2


def test_page_shows_plan_posts_bays_quantities_hours_and_price(
    priced: Estimate, as_office: Client
) -> None:
    html = unescape(as_office.get(reverse("estimate", args=[priced.pk])).content.decode())
    assert "<svg" in html
    # 600 in over 7 bays: 85 11/16 and 85 3/4; less one 5 in post 80 11/16 and 80 3/4.
    for words in ("85-11/16 in", "85-3/4 in", "80-11/16 in", "80-3/4 in"):
        assert words in html
    money = mapping.from_plain(EstimateResult, priced.result).money
    assert f"${money.price:,.2f}" in html
    assert "Digging" in html
    assert "Vinyl privacy rail 8 ft" in html
    assert "vinyl_rail_privacy<" not in html
    assert "Concrete mix, 80 lb bag" in html


def test_page_shows_the_elevation_and_why_each_bay_stands_as_it_does(
    site: JobSite, as_office: Client
) -> None:
    # 600 in take 7 bays of 85-11/16 or 85-3/4; falling 84 in, 12 in each: twice what vinyl racks.
    document = straight_line(600.0)
    document["lines"][0]["ground"] = [
        {"station_in": 0.0, "elevation_in": 0.0},
        {"station_in": 600.0, "elevation_in": -84.0},
    ]
    save_measurement(site=site, document=document, based_on=1, actor=None, now=NOW)
    estimate = service.price_site(site=site, actor=None, now=NOW)

    html = as_office.get(reverse("estimate", args=[estimate.pk])).content.decode()

    assert '<section class="part stack" id="elevation"' in html
    assert html.count(">step 12 in<") == 6
    assert "The ground falls 12 in here and a panel racks 6 in at most" in html
    assert "so it stands level and steps." in html


def test_build_up_of_the_price_adds_up_as_it_is_written(site: JobSite, as_office: Client) -> None:
    FirmProfile.objects.update(commission_pct=3, purchase_tax_pct=Decimal("6.75"))
    estimate = service.price_site(site=site, actor=None, now=NOW)
    page = as_office.get(reverse("estimate", args=[estimate.pk])).content.decode()
    table = page.split("How the price is built</caption>")[1].split("</table>")[0]
    row = r'<th scope="row">([^<]+)</th><td class="number">(?:<a[^>]*>)?\$([\d,.]+)'
    rows = re.findall(row, table)
    amounts = {name: Decimal(amount.replace(",", "")) for name, amount in rows}

    names = list(amounts)
    above = names[: names.index("Direct cost")]
    assert {"Material", "Tax on purchases", "Labour"} <= set(above)
    assert sum(amounts[name] for name in above) == amounts["Direct cost"]
    assert amounts["Direct cost"] + amounts["Overhead"] == amounts["Break-even"]
    margin = next(name for name in names if name.startswith("Margin, "))
    assert (
        amounts["Break-even"] + amounts["Commission"] + amounts[margin]
        == amounts["Price before tax"]
    )


def test_line_is_typed_changed_and_taken_out(priced: Estimate, as_office: Client) -> None:
    before = priced.price
    add = reverse("estimate_line_add", args=[priced.pk])
    as_office.post(add, {"line-description": "Pull a stump", "line-price": "$1,250.00"})
    line = EstimateLine.objects.get()
    assert (line.price, line.quantity, line.unit) == (Decimal("1250.00"), Decimal(1), "each")

    change = reverse("estimate_line", args=[priced.pk, line.pk])
    as_office.post(change, {"line-description": "Pull two stumps", "line-price": "1500"})
    line.refresh_from_db()
    assert (line.description, line.price) == ("Pull two stumps", Decimal("1500.00"))
    priced.refresh_from_db()
    assert priced.price_before_tax == before + Decimal("1500.00")

    as_office.post(change, {"act": "delete"})
    priced.refresh_from_db()
    assert (priced.price, EstimateLine.objects.count()) == (before, 0)


@pytest.mark.parametrize(
    ("slip", "words"),
    [
        ({"line-description": ""}, "required"),
        ({"line-price": ""}, "Type a cost, hours, or a price."),
        ({"line-price": "cheap"}, "Type an amount"),
        ({"line-price": "-5"}, "greater than or equal to 0"),
        ({"line-unit_cost": "5"}, "not both"),
        ({"line-description": "<script>x</script>"}, "plain words"),
        ({"line-quantity": "-1"}, "greater than or equal to 0"),
    ],
)
def test_slip_in_a_line_is_told_and_what_was_typed_stays(
    priced: Estimate, as_office: Client, slip: dict[str, str], words: str
) -> None:
    sent = {"line-description": "Pull a stump", "line-price": "250", "line-unit": "stump"} | slip
    answer = as_office.post(reverse("estimate_line_add", args=[priced.pk]), sent)
    html = unescape(answer.content.decode())
    assert answer.status_code == 422
    assert words in html
    assert 'value="stump"' in html
    assert "<script>x" not in answer.content.decode()
    assert not EstimateLine.objects.exists()


def test_figure_is_set_by_hand_with_a_reason(priced: Estimate, as_office: Client) -> None:
    address = reverse("estimate_override", args=[priced.pk])
    sent = {"override-target": "hours:dig", "override-value": "20", "override-reason": ""}
    refused = as_office.post(address, sent)
    assert refused.status_code == 422
    assert 'value="20"' in refused.content.decode()
    assert not priced.overrides.exists()

    as_office.post(address, sent | {"override-reason": "Roots along the back"})

    override = priced.overrides.get()
    html = as_office.get(reverse("estimate", args=[priced.pk])).content.decode()
    assert "Roots along the back" in html
    as_office.post(reverse("estimate_override_drop", args=[priced.pk, override.pk]))
    assert not priced.overrides.exists()


def test_figure_the_engine_refuses_is_told_at_its_field(
    priced: Estimate, as_office: Client
) -> None:
    address = reverse("estimate_override", args=[priced.pk])
    sent = {
        "override-target": "quantity:concrete_80lb",
        "override-value": "2.5",
        "override-reason": "Half a bag",
    }
    answer = as_office.post(address, sent)
    assert answer.status_code == 422
    assert "whole purchase units" in answer.content.decode()
    assert not priced.overrides.exists()


def test_todays_prices_are_shown_before_they_are_used(priced: Estimate, as_office: Client) -> None:
    PriceItem.objects.filter(key="concrete_80lb").update(unit_cost=Decimal("99"))
    old, address = priced.price, reverse("estimate_price", args=[priced.pk])

    html = as_office.get(address).content.decode()
    assert f"${old:,.2f}" in html
    priced.refresh_from_db()
    assert priced.price == old

    as_office.post(address)
    priced.refresh_from_db()
    assert priced.price > old


def test_whatever_counts_an_item_has_words() -> None:
    assert set(DRIVER_WORDS) >= set(get_args(Driver))


def test_kinds_are_called_by_words_and_a_removal_is_no_fence(
    site: JobSite, as_office: Client
) -> None:
    document = straight_line(600.0)
    (line,) = document["lines"]
    joining = {"kind": "shared_post", "shared_line": "A", "shared_at": "end"}
    old = {"id": "C", "name": "Old boards", "scope": "removal", "old_footings": 9}
    document["lines"] += [
        {**line, "id": "B", "name": "Side", "bearing_deg": 180, "start": joining},
        {**line, **old, "start_y_in": -900},
    ]
    save_measurement(site=site, document=document, based_on=1, actor=None, now=NOW)
    row = service.price_site(site=site, actor=None, now=NOW, again=True)

    html = as_office.get(reverse("estimate", args=[row.pk])).content.decode()
    assert "post of another line" in html
    assert "shared_post" not in html
    assert "Old boards: old fence to take out" in html
    assert "50-0 long; 9 old footings to dig out." in html


def test_accepted_estimate_offers_no_revision(priced: Estimate, as_office: Client) -> None:
    freeze(priced)
    Proposal.objects.create(
        estimate=priced,
        state="accepted",
        valid_until=TODAY,
        price=priced.price,
        pdf_sha256="a" * 64,
    )
    html = as_office.get(reverse("estimate", args=[priced.pk])).content.decode()
    assert "Make a revision" not in html


def test_frozen_estimate_offers_a_revision_and_no_change(
    priced: Estimate, as_office: Client
) -> None:
    freeze(priced)
    address = reverse("estimate", args=[priced.pk])
    html = as_office.get(address).content.decode()
    assert "Make a revision" in html
    assert "Add a line" not in html

    add = reverse("estimate_line_add", args=[priced.pk])
    answer = as_office.post(add, {"line-description": "Pull a stump", "line-price": "250"})
    assert answer.status_code == 422
    assert "Make a revision" in answer.content.decode()

    as_office.post(reverse("estimate_revise", args=[priced.pk]))
    assert Estimate.objects.get(replaces=priced).label == f"{priced.number}-1"


def repair(**changes: str) -> dict[str, Any]:
    values = {
        "act": "save",
        "title": "Rehang a gate",
        "notes": "",
        "site": "",
        "lines-TOTAL_FORMS": "2",
        "lines-INITIAL_FORMS": "0",
        "lines-0-description": "Rehang",
        "lines-0-price": "1180",
        "lines-0-quantity": "1",
        "lines-0-unit": "each",
        "lines-1-quantity": "1",
        "lines-1-unit": "each",
    }
    return values | changes


def test_repair_is_priced_without_a_layout(site: JobSite, as_office: Client) -> None:
    customer = make_customer(name="Juniper Vale")
    sent = repair(customer=str(customer.pk))

    answer = as_office.post(reverse("repair_new"), sent)

    row = Estimate.objects.get()
    assert answer["Location"] == reverse("estimate", args=[row.pk])
    assert row.price_before_tax == Decimal("1180.00")
    assert as_office.get(answer["Location"]).status_code == 200


def test_slip_in_a_repair_keeps_everything_typed(site: JobSite, as_office: Client) -> None:
    for slip in ({"customer": ""}, {"lines-0-price": "dear"}, {"title": "<svg onload=x>"}):
        answer = as_office.post(
            reverse("repair_new"), repair(customer=str(site.customer_id)) | slip
        )
        assert answer.status_code == 422
        assert 'value="Rehang"' in answer.content.decode()
    assert not Estimate.objects.exists()
    assert not EstimateLine.objects.exists()


def test_more_lines_keep_what_is_half_typed(site: JobSite, as_office: Client) -> None:
    half = repair(**{"act": "more", "lines-0-price": "11x"})
    html = as_office.post(reverse("repair_new"), half).content.decode()
    assert 'value="11x"' in html
    assert 'name="lines-4-description"' in html
    assert 'value="Rehang a gate"' in html


def test_list_shows_what_was_asked_for(priced: Estimate, as_office: Client) -> None:
    address = reverse("estimates")
    assert priced.title in as_office.get(address, {"q": "1001"}).content.decode()
    assert priced.title not in as_office.get(address, {"q": "9999"}).content.decode()
    assert priced.title not in as_office.get(address, {"state": "frozen"}).content.decode()
    elsewhere = make_site(street="9 Elm Court")
    page = as_office.get(address, {"site": elsewhere.pk}).content.decode()
    assert priced.title not in page
    assert "Only those for 9 Elm Court, Dunmere" in page
    assert f'name="site" value="{elsewhere.pk}"' in page
    at_site = as_office.get(f"{address}?site={priced.site_id}").content.decode()
    assert reverse("estimate", args=[priced.pk]) in at_site
    # An address typed by hand with nonsense in it is no fault of the server's.
    assert as_office.get(address, {"customer": "x", "state": "?", "page": "z"}).status_code == 200


def test_list_asks_the_database_the_same_for_one_and_for_twenty(
    priced: Estimate, as_office: Client, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    for number in range(2001, 2020):
        priced.pk, priced.number = None, number
        priced._state.adding = True
        priced.save()
    # Session, person, count, page.
    with django_assert_num_queries(4):
        as_office.get(reverse("estimates"))


def test_page_asks_the_database_the_same_whatever_it_shows(
    priced: Estimate, as_office: Client, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    for i in range(10):
        estimate_parts.save_line(
            estimate=priced, values=typed(price=Decimal(100 + i)), actor=None, now=NOW
        )
    # Session, person; estimate; the firm's units; typed lines, figures by hand, proposals, its
    # revision.
    with django_assert_num_queries(8):
        as_office.get(reverse("estimate", args=[priced.pk]))
