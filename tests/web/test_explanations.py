"""Where a number comes from: on the office's pages and in the file, and nowhere else."""

import datetime as dt
import json
import re
from collections.abc import Callable
from decimal import Decimal
from html import unescape
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from estimating.models import Estimate, PriceItem, ProductionRate
from estimating.services import estimates as service
from estimating.services.measurements import save_measurement
from estimating.services.starter import load_starter_rows
from firm.models import FirmProfile, JobSite, Role
from tests.db.test_measurements import straight_line
from tests.factories import NOW, TODAY, make_firm, make_site

pytestmark = [pytest.mark.django_db, pytest.mark.once]
LATER = NOW + dt.timedelta(days=30)


@pytest.fixture
def site() -> JobSite:
    make_firm()
    load_starter_rows(today=TODAY)
    return make_site()


def priced(site: JobSite, **conditions: Any) -> Estimate:
    document = straight_line(600.0) | {"conditions": conditions}
    document["lines"][0]["system"] = "vinyl_privacy_6ft"
    save_measurement(site=site, document=document, based_on=0, actor=None, now=NOW)
    return service.price_site(site=site, actor=None, now=NOW)


def where_from(client: Client, estimate: Estimate, of: str = "") -> str:
    address = reverse("estimate_where_from", args=[estimate.pk])
    answer = client.get(address, {"of": of} if of else {})
    assert answer.status_code == 200
    without_tags = re.sub(r"<[^>]+>", " ", unescape(answer.content.decode()))
    return " ".join(without_tags.split())


def file_of(client: Client, estimate: Estimate) -> dict[str, Any]:
    answer = client.get(reverse("estimate_json", args=[estimate.pk]))
    assert answer["Content-Type"] == "application/json"
    whole: dict[str, Any] = json.loads(answer.content)
    return whole


@pytest.mark.parametrize(
    ("role", "expected"),
    [(Role.OWNER, 200), (Role.OFFICE, 200), (Role.CREW_LEAD, 403), (None, 302)],
)
@pytest.mark.parametrize("name", ["estimate_where_from", "estimate_json"])
def test_chains_are_for_owner_and_office(
    site: JobSite,
    as_role: Callable[[Role | None], Client],
    name: str,
    role: Role | None,
    expected: int,
) -> None:
    estimate = priced(site)

    assert as_role(role).get(reverse(name, args=[estimate.pk])).status_code == expected


def test_digging_is_shown_back_to_posts_and_the_dated_row(site: JobSite, as_office: Client) -> None:
    # 50 ft in 7 bays: 8 posts x 0.9 h = 7.2 h, x $62.00 = $446.40.
    page = where_from(as_office, priced(site), "cost:labour:dig")

    assert "Digging $446.40" in page
    assert "Labour hours 7.2 h" in page
    assert "Posts 1 to 8 of line A" in page
    day = f"{TODAY:%b} {TODAY.day}, {TODAY.year}"
    assert f"production rate “Dig: normal, two man auger” , in force since {day}" in page


def test_a_price_of_the_book_is_shown_with_the_day_it_was_seen(
    site: JobSite, as_office: Client
) -> None:
    page = where_from(as_office, priced(site), "cost:material:concrete_80lb")

    day = f"{TODAY:%b} {TODAY.day}, {TODAY.year}"
    assert f"price book: Concrete mix, 80 lb bag , seen {day}" in page
    assert "price book: Concrete mix, 80 lb bag: bought whole" in page
    assert "concrete_80lb" not in page.partition("Material")[2]
    assert "Posts 1 to 8 of line A" in page


def test_the_page_of_all_numbers_begins_with_the_price(site: JobSite, as_office: Client) -> None:
    estimate = priced(site)
    page = where_from(as_office, estimate)

    for words in ("Price before tax", "Direct cost", "Overhead", "Margin", "what remains"):
        assert words in page
    assert f"${estimate.price:,.2f}" in page


def test_every_link_of_the_estimate_s_page_finds_its_chain(
    site: JobSite, as_office: Client
) -> None:
    estimate = priced(site, permit_fee="60.00")
    html = unescape(as_office.get(reverse("estimate", args=[estimate.pk])).content.decode())
    address = reverse("estimate_where_from", args=[estimate.pk])
    links = set(re.findall(rf'href="({re.escape(address)}\?of=[^"]+)"', html))

    # One for each line of the cost sheet and of the price, and five of the build-up.
    rows = len(estimate.result["cost_lines"]) + len(estimate.result["price_lines"])
    assert len(links) == rows + 5
    assert {as_office.get(link).status_code for link in links} == {200}


def test_every_link_of_the_chain_leads_somewhere(site: JobSite, as_office: Client) -> None:
    estimate = priced(site)
    html = as_office.get(reverse("estimate_where_from", args=[estimate.pk])).content.decode()
    main = html[html.index("<main") : html.index("</main>")]
    links = {unescape(link).partition("#")[0] for link in re.findall(r'href="(/[^"]+)"', main)}

    assert len(links) > 20
    assert {link for link in links if as_office.get(link).status_code != 200} == set()


def test_a_figure_that_is_no_more_shows_all_of_them(site: JobSite, as_office: Client) -> None:
    estimate = priced(site)
    address = reverse("estimate_where_from", args=[estimate.pk])

    answer = as_office.get(address, {"of": "cost:material:nothing"})
    assert (answer.status_code, answer.headers["Location"]) == (302, address)


@pytest.mark.parametrize("name", ["estimate_where_from", "estimate_json"])
def test_an_estimate_that_was_never_priced_has_no_chain(
    site: JobSite, as_office: Client, name: str
) -> None:
    estimate = priced(site)
    Estimate.objects.filter(pk=estimate.pk).update(result={})

    answer = as_office.get(reverse(name, args=[estimate.pk]), follow=True)
    assert "nothing makes a price" in answer.content.decode()


def test_a_catalog_that_can_not_be_read_says_so(site: JobSite, as_office: Client) -> None:
    estimate = priced(site)
    broken = {**estimate.catalog, "rules": {}}
    Estimate.objects.filter(pk=estimate.pk).update(catalog=broken)

    answer = as_office.get(reverse("estimate_where_from", args=[estimate.pk]))
    assert answer.status_code == 302


def test_the_file_holds_the_result_and_its_chain_to_the_cent(
    site: JobSite, as_office: Client
) -> None:
    estimate = priced(site)
    whole = file_of(as_office, estimate)

    assert whole["money"] == estimate.result["money"]
    chain = whole["explanation"]
    assert chain["price"]["figure"] == whole["money"]["price"]
    parts = sum(Decimal(part["figure"]) for part in chain["parts"])
    assert parts == Decimal(whole["money"]["price_before_tax"])


def test_rows_changed_later_change_no_chain_until_it_is_priced_again(
    site: JobSite, as_office: Client
) -> None:
    estimate = priced(site)
    before = file_of(as_office, estimate)
    ProductionRate.objects.create(
        key="dig.normal.two_man_auger", value=1.8, effective_from=LATER.date()
    )
    PriceItem.objects.update(unit_cost=Decimal(999), checked_on=LATER.date())

    assert file_of(as_office, estimate) == before
    service.reprice(estimate=estimate, actor=None, now=LATER)
    # 8 posts x 1.8 h x $62.00.
    page = where_from(as_office, estimate, "cost:labour:dig")
    assert "Digging $892.80" in page
    assert f"since {LATER:%b} {LATER.day}, {LATER.year}" in page


def test_the_chain_speaks_metric_to_a_metric_firm(site: JobSite, as_office: Client) -> None:
    FirmProfile.objects.update(units="metric")
    page = where_from(as_office, priced(site), "cost:labour:layout")

    # 50 ft are 15.24 m.
    assert "15.24 m" in page
    assert "50 ft" not in page


def test_the_chain_takes_few_queries(
    site: JobSite, as_office: Client, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    estimate = priced(site)
    # Session, person, the estimate, its figures set by hand, the firm's units.
    with django_assert_num_queries(5):
        as_office.get(reverse("estimate_where_from", args=[estimate.pk]))
    with django_assert_num_queries(4):
        as_office.get(reverse("estimate_json", args=[estimate.pk]))
