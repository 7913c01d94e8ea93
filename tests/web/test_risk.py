"""What a price risks: on the office's page, and nowhere a customer or a crew looks."""

import datetime as dt
import json
import re
from collections.abc import Callable
from html import unescape
from io import BytesIO

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from pypdf import PdfReader
from pytest_django import DjangoAssertNumQueries

from estimating.engine.risk import simulate
from estimating.models import Estimate, Proposal, UncertainRow
from estimating.selectors.measurements import read_with
from estimating.selectors.risk import uncertain_rows
from estimating.services import estimates as service
from estimating.services.measurements import save_measurement
from estimating.services.starter import load_starter_rows
from firm.measure.money import format_money
from firm.models import AuditEntry, JobSite, Role
from tests.db.test_estimates import result_of
from tests.db.test_measurements import straight_line
from tests.factories import NOW, TODAY, make_firm, make_sent_proposal, make_site

pytestmark = [pytest.mark.django_db, pytest.mark.once]

RISK_WORDS = (
    "risk",
    "uncertain",
    "histogram",
    "monte carlo",
    "confidence",
    "draws",
    "target margin",
    "dearest tenth",
    "on average",
    "triangular",
)


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
    answer = client.get(reverse("estimate_risk", args=[estimate.pk]))
    assert answer.status_code == 200
    return " ".join(unescape(answer.content.decode()).split())


@pytest.mark.parametrize(
    ("role", "status"),
    [(None, 302), (Role.CREW_LEAD, 403), (Role.OFFICE, 200), (Role.OWNER, 200)],
)
def test_risk_is_for_owner_and_office(
    priced: Estimate, as_role: Callable[[Role | None], Client], role: Role | None, status: int
) -> None:
    client = as_role(role)
    assert client.get(reverse("estimate_risk", args=[priced.pk])).status_code == status
    assert client.get(reverse("uncertain_rows")).status_code == status


@pytest.mark.parametrize("role", [Role.CREW_LEAD, Role.OFFICE])
def test_only_the_owner_changes_what_is_uncertain(
    priced: Estimate, as_role: Callable[[Role | None], Client], role: Role
) -> None:
    row = UncertainRow.objects.get(key="dig_hours")
    client = as_role(role)
    assert client.get(reverse("uncertain_edit", args=[row.pk])).status_code == 403
    assert client.get(reverse("uncertain_new")).status_code == 403


def test_page_shows_the_price_of_the_aim_with_its_histogram_and_the_table(
    priced: Estimate, as_office: Client
) -> None:
    page = page_of(as_office, priced)
    rules = read_with(priced.document, priced.catalog).catalog.rules
    risk = simulate(result_of(priced), rules, uncertain_rows(), seed=priced.number)

    assert risk.price_at(80) > priced.price_before_tax
    for level in (10, 25, 50, 75, 80, 90, 95):
        assert format_money(risk.price_at(level)) in page
    assert '<svg class="histogram"' in page
    assert "The table below says the same." in page
    assert "10,000 draws with seed" in page
    # This fence has no gate and no old fence.
    assert page.count("not in this estimate") == 2


def test_the_same_page_shows_the_same_figures(priced: Estimate, as_office: Client) -> None:
    first, again = (page_of(as_office, priced).partition("<svg")[2] for _ in range(2))
    assert first == again != ""


def test_rows_that_do_not_count_leave_today_s_price(priced: Estimate, as_office: Client) -> None:
    UncertainRow.objects.exclude(key="gate_hours").update(is_active=False)
    page = page_of(as_office, priced)

    # Nothing of the one row left is in this fence: every level is today's price.
    assert page.count(format_money(priced.price_before_tax)) >= 8
    assert "100 %" in page


def test_page_says_when_nothing_is_uncertain(priced: Estimate, as_office: Client) -> None:
    UncertainRow.objects.update(is_active=False)
    assert "The firm marks nothing uncertain." in page_of(as_office, priced)


def test_page_says_when_an_estimate_has_no_price(priced: Estimate, as_office: Client) -> None:
    Estimate.objects.filter(pk=priced.pk).update(result={})
    assert "This can't be worked out: This estimate has not been priced." in page_of(
        as_office, priced
    )


def test_nothing_of_it_reaches_a_customer(site: JobSite, as_office: Client) -> None:
    estimate = service.price_site(site=site, actor=None, now=NOW)
    shown = page_of(as_office, estimate).lower()
    assert [words for words in RISK_WORDS if words not in shown] == [
        "monte carlo",
        "triangular",
    ]
    proposal = make_sent_proposal(estimate)
    Proposal.objects.update(valid_until=timezone.localdate() + dt.timedelta(days=20))
    with proposal.pdf.open() as file:
        printed = PdfReader(BytesIO(file.read()))
    public = Client().get(reverse("proposal_public", args=[proposal.token]))
    total = Client().get(reverse("proposal_public_total", args=[proposal.token]))
    assert public.status_code == 200
    estimate.refresh_from_db()
    rules = read_with(estimate.document, estimate.catalog).catalog.rules
    risk = simulate(result_of(estimate), rules, uncertain_rows(), seed=estimate.number)

    texts = {
        "stored": json.dumps(proposal.content),
        "kept by the engine": json.dumps(estimate.result),
        "document": json.dumps(estimate.document),
        "pdf": " ".join(page.extract_text() for page in printed.pages),
        "public page": public.content.decode(),
        "public total": total.content.decode(),
    }
    found = [
        (place, words)
        for place, text in texts.items()
        for words in (*RISK_WORDS, format_money(risk.price_at(80)).lower())
        if re.search(rf"(?<![\w-]){re.escape(words)}(?![\w-])", unescape(text).lower())
    ]
    assert [each for each in found if each != ("public page", "risk")] == []
    assert "vinyl" in texts["pdf"].lower()


def test_owner_changes_a_row_and_the_record_says_so(priced: Estimate, as_owner: Client) -> None:
    row = UncertainRow.objects.get(key="rock_holes")
    address = reverse("uncertain_edit", args=[row.pk])
    page = as_owner.get(address).content.decode()
    assert 'value="4.0"' in page
    values = {
        "name": row.name,
        "target": row.target,
        "shape": row.shape,
        "chance_pct": "10",
        "extra": "2",
        "source": "our jobs of two years",
        "is_active": "on",
    }
    answer = as_owner.post(address, values)
    assert answer["Location"] == reverse("uncertain_rows")
    row.refresh_from_db()
    assert (row.chance_pct, row.extra, row.low_pct) == (10.0, 2.0, 0.0)
    entry = AuditEntry.objects.get(action="changed what is uncertain")
    assert entry.before == {
        "chance_pct": 4.0,
        "extra": 1.5,
        "source": "chance invented; hours common practice, no source",
    }


def test_owner_adds_a_row_under_a_key_of_its_own(priced: Estimate, as_owner: Client) -> None:
    values = {
        "name": "Dig hours",
        "target": "hours:layout",
        "shape": "triangular",
        "low_pct": "-5",
        "likely_pct": "",
        "high_pct": "15",
        "is_active": "on",
    }
    for _ in range(2):
        assert as_owner.post(reverse("uncertain_new"), values).status_code == 302

    assert set(UncertainRow.objects.filter(name="Dig hours").values_list("key", flat=True)) == {
        "dig_hours_2",
        "dig_hours_3",
    }


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"low_pct": "20"}, "Low, likely and high must rise in this order"),
        ({"target": "rock_hole"}, "come true or not"),
        ({"shape": "chance", "chance_pct": "120"}, "A chance lies between 0 % and 100 %."),
        ({"high_pct": "much"}, "Enter a number."),
    ],
)
def test_a_slip_is_named_at_its_field_and_nothing_typed_is_lost(
    priced: Estimate, as_owner: Client, changes: dict[str, str], words: str
) -> None:
    values = {
        "name": "Wet ground",
        "target": "hours:dig",
        "shape": "triangular",
        "low_pct": "0",
        "likely_pct": "10",
        "high_pct": "60",
    }
    answer = as_owner.post(reverse("uncertain_new"), values | changes)
    page = unescape(answer.content.decode())

    assert answer.status_code == 422
    assert words in page
    assert 'value="Wet ground"' in page
    assert not UncertainRow.objects.filter(name="Wet ground").exists()


def test_the_pages_ask_the_database_little(
    priced: Estimate, as_office: Client, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    # Session, person; estimate; uncertain rows; typed lines.
    with django_assert_num_queries(5):
        page_of(as_office, priced)
    # Session, person; the rows.
    with django_assert_num_queries(3):
        as_office.get(reverse("uncertain_rows"))
