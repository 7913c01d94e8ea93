"""Other ways beside a proposal's price: chosen in the draft, frozen when sent, never accepted."""

import datetime as dt
import json
from decimal import Decimal
from html import unescape
from io import BytesIO

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from pypdf import PdfReader

from estimating.engine.alternates import Swap
from estimating.models import Acceptance, AlternateSwap, Estimate, PriceItem, Proposal
from estimating.selectors.beside import beside
from estimating.selectors.what_if import scope_view
from estimating.services import estimates as service
from estimating.services.alternates import add_alternate
from estimating.services.measurements import save_measurement
from estimating.services.proposal_building import change_words
from estimating.services.proposal_sending import send_proposal
from estimating.services.proposals import create_draft
from estimating.services.starter import load_starter_rows
from firm.measure.money import format_money
from firm.models import JobSite
from firm.services import jobs
from tests.db.test_measurements import straight_line
from tests.factories import NOW, TODAY, make_estimate, make_firm, make_site

pytestmark = [pytest.mark.django_db, pytest.mark.once]


@pytest.fixture
def site() -> JobSite:
    make_firm()
    load_starter_rows(today=TODAY)
    return make_site()


@pytest.fixture
def estimate(site: JobSite) -> Estimate:
    """96 ft of vinyl with an old fence beside it, and chain link as an alternate."""
    document = straight_line(1152.0)
    old = {**document["lines"][0], "id": "B", "name": "Old fence", "scope": "removal"}
    document["lines"].append(old | {"start_y_in": 900.0})
    save_measurement(site=site, document=document, based_on=0, actor=None, now=NOW)
    row = service.price_site(site=site, actor=None, now=NOW)
    swap = Swap(line_id="A", system="chain_link_6ft")
    add_alternate(estimate=row, name="Chain link instead", swaps=[swap], actor=None, now=NOW)
    return row


def draft_of(estimate: Estimate, *keys: str) -> Proposal:
    draft = create_draft(estimate=estimate, actor=None, now=NOW)
    draft.beside = list(keys)
    draft.save()
    return draft


def all_keys(estimate: Estimate) -> list[str]:
    return [each.key for each in beside(estimate)]


def form_of(proposal: Proposal, *keys: str) -> dict[str, object]:
    values: dict[str, object] = {
        "detail": "lines",
        "valid_until": (timezone.localdate() + dt.timedelta(days=20)).isoformat(),
        "introduction": "Hello",
        "scope_text": "A fence",
        "exclusions_text": "",
        "beside": list(keys),
        "to": "wren@example.com",
    }
    for number, row in enumerate(proposal.payments.all(), start=1):
        values[f"payment_{number}_description"] = row.description
        values[f"payment_{number}_amount"] = str(row.amount)
    return values


def page_of(client: Client, address: str) -> str:
    answer = client.get(address)
    assert answer.status_code == 200
    return " ".join(unescape(answer.content.decode()).split())


def test_scopes_and_alternates_are_what_may_be_shown(estimate: Estimate) -> None:
    found = {each.key: each for each in beside(estimate)}
    (alternate,) = estimate.alternates.all()

    assert list(found) == [
        "scope:whole_fence",
        "scope:posts_only",
        "scope:materials_only",
        "scope:removal_only",
        f"alternate:{alternate.pk}",
    ]
    for each in found.values():
        assert each.change == each.price - estimate.price
        assert each.change < 0
    posts = scope_view(estimate).posts_only
    assert posts is not None
    assert posts.self_built is not None
    assert posts.self_built.saves is not None
    assert f"you save {format_money(posts.self_built.saves)}" in found["scope:posts_only"].about[2]


def test_removal_alone_says_why_it_costs_more_than_as_a_line_of_the_price(
    estimate: Estimate,
) -> None:
    found = {each.key: each for each in beside(estimate)}
    (line,) = [part for part in estimate.result["price_lines"] if part["key"] == "line:B"]
    alone, together = found["scope:removal_only"].price, Decimal(str(line["amount"]))

    assert alone > together
    (why,) = found["scope:removal_only"].about[1:]
    assert f"As a part of this proposal it is {format_money(together)} before tax" in why
    assert "done alone it bears" in why


def test_ways_without_the_removal_say_so_and_compare_with_the_new_fence(
    estimate: Estimate,
) -> None:
    found = {each.key: each for each in beside(estimate)}
    whole = found["scope:whole_fence"].price

    for key in ("scope:whole_fence", "scope:posts_only", "scope:materials_only"):
        assert "The old fence stays: taking it out is not in this price." in found[key].about
    words = " ".join(found["scope:posts_only"].about)
    assert f"against the new fence alone ({format_money(whole)})" in words


def test_the_office_ticks_them_in_the_draft(estimate: Estimate, as_office: Client) -> None:
    draft = draft_of(estimate)
    address = reverse("proposal", args=[draft.pk])
    page = page_of(as_office, address)
    for each in beside(estimate):
        assert f"{each.name}: {format_money(each.price)}" in page

    answer = as_office.post(address, form_of(draft, "scope:posts_only"))
    assert answer.status_code == 302
    draft.refresh_from_db()
    assert draft.beside == ["scope:posts_only"]
    ticked = [each for each in page_of(as_office, address).split("<input") if "checked" in each]
    assert [each for each in ticked if 'value="scope:posts_only"' in each] == ticked != []


def test_only_what_may_be_shown_can_be_ticked(estimate: Estimate, as_office: Client) -> None:
    draft = draft_of(estimate)
    as_office.post(reverse("proposal", args=[draft.pk]), form_of(draft, "scope:moat"))
    draft.refresh_from_db()
    assert draft.beside == []


def sent(estimate: Estimate, *keys: str) -> Proposal:
    draft = draft_of(estimate, *keys)
    send_proposal(proposal=draft, to="wren@example.com", actor=None, now=NOW)
    jobs.run_due_jobs(now=NOW)
    Proposal.objects.update(valid_until=timezone.localdate() + dt.timedelta(days=20))
    draft.refresh_from_db()
    return draft


def test_customer_reads_them_on_the_page_and_in_the_pdf_without_any_cost(
    estimate: Estimate,
) -> None:
    expected = beside(estimate)
    view = scope_view(estimate)
    proposal = sent(estimate, *all_keys(estimate))
    public = page_of(Client(), reverse("proposal_public", args=[proposal.token]))
    with proposal.pdf.open() as file:
        printed = PdfReader(BytesIO(file.read()))
    pdf = " ".join(" ".join(page.extract_text() for page in printed.pages).split())

    assert "None of these is part of this proposal." in public
    for each in expected:
        for text in (public, pdf):
            assert each.name in text
            assert format_money(each.price) in text
            assert change_words(each.change) in text
    stored = json.dumps(proposal.content)
    for row in view.rows:
        for secret in (row.scope.direct_cost, row.scope.margin):
            for text in (public, pdf, stored):
                assert format_money(secret) not in text
    assert view.posts_only is not None
    assert view.posts_only.self_built is not None
    assert view.posts_only.self_built.material is not None
    assert format_money(view.posts_only.self_built.material.material) not in stored


def test_what_was_sent_stays_whatever_prices_do(estimate: Estimate) -> None:
    proposal = sent(estimate, *all_keys(estimate))
    before = page_of(Client(), reverse("proposal_public", args=[proposal.token]))
    PriceItem.objects.update(unit_cost=999)
    AlternateSwap.objects.update(system="chain_link_4ft")
    after = page_of(Client(), reverse("proposal_public", args=[proposal.token]))

    def part(page: str) -> str:
        return page.partition("Other ways to do it")[2].partition("What is paid when")[0]

    assert part(before) == part(after) != ""


def test_who_accepts_orders_the_proposal_and_none_of_them(estimate: Estimate) -> None:
    proposal = sent(estimate, *all_keys(estimate))
    answer = Client().post(
        reverse("proposal_public", args=[proposal.token]),
        {
            "signed_name": "Wren Halloway",
            "consent": "on",
            "pdf_sha256": proposal.pdf_sha256,
            "beside": all_keys(estimate),
        },
    )
    assert answer.status_code == 302
    acceptance = Acceptance.objects.get()
    assert (acceptance.total, acceptance.options) == (proposal.price, [])


def test_a_proposal_with_none_has_no_such_part(estimate: Estimate) -> None:
    proposal = sent(estimate)
    public = page_of(Client(), reverse("proposal_public", args=[proposal.token]))

    assert "Other ways to do it" not in public
    assert proposal.content["beside"] == []


def test_a_proposal_sent_before_there_was_such_a_part_still_reads(estimate: Estimate) -> None:
    proposal = sent(estimate)
    content = {key: value for key, value in proposal.content.items() if key != "beside"}
    Proposal.objects.update(content=content)
    page_of(Client(), reverse("proposal_public", args=[proposal.token]))


def test_one_that_can_t_be_built_any_more_holds_the_sending_up(
    estimate: Estimate, as_office: Client
) -> None:
    draft = draft_of(estimate, *all_keys(estimate))
    AlternateSwap.objects.update(line_id="Z")
    alternate_key = draft.beside[-1]
    address = reverse("proposal", args=[draft.pk])

    refused = as_office.post(address, form_of(draft, alternate_key) | {"send": "yes"})
    assert "Select a valid choice" in unescape(refused.content.decode())
    draft.refresh_from_db()
    assert draft.state == Proposal.State.DRAFT
    sent_without = as_office.post(address, form_of(draft, "scope:posts_only") | {"send": "yes"})
    assert sent_without.status_code == 302
    draft.refresh_from_db()
    assert len(draft.content["beside"]) == 1


def test_an_estimate_that_can_t_be_read_has_nothing_beside_it() -> None:
    make_firm()
    assert beside(make_estimate()) == []


@pytest.mark.parametrize(
    ("change", "words"),
    [("0", "the same price"), ("-1200", "$1,200.00 less"), ("38.5", "$38.50 more")],
)
def test_differences_are_said_in_words(change: str, words: str) -> None:
    assert change_words(Decimal(change)) == words
