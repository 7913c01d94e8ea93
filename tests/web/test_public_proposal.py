"""The customer's page at the link: readable, private, and safe to press twice."""

import datetime as dt
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries, Settings

from estimating.models import Acceptance, Proposal
from estimating.services.proposals import create_draft
from firm.models import Role
from tests.cast import make_person
from tests.factories import make_estimate, make_sent_proposal, make_site
from tests.web.answers import body_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def sent() -> Proposal:
    proposal = make_sent_proposal()
    Proposal.objects.update(valid_until=timezone.localdate() + dt.timedelta(days=20))
    proposal.refresh_from_db()
    return proposal


def address(proposal: Proposal, name: str = "proposal_public") -> str:
    return reverse(name, args=[proposal.token])


def yes(proposal: Proposal, **changes: Any) -> dict[str, Any]:
    values = {
        "signed_name": "Wren Halloway",
        "consent": "on",
        "pdf_sha256": proposal.pdf_sha256,
        "options": ["typed-1"],
    }
    return values | changes


def test_the_page_says_what_it_costs_and_what_may_be_added(client: Client, sent: Proposal) -> None:
    page = client.get(address(sent)).content.decode()
    for words in (
        "build 32 ft of vinyl privacy fence",
        "$4,080.10",
        "Caps with a light on the gate posts: $122.40",
        "Nothing is ordered and nothing is dug before the end of the 3rd business day",
        "Accept this proposal",
        "<svg",
    ):
        assert words in page


def test_the_page_is_kept_out_of_caches_and_search_engines(client: Client, sent: Proposal) -> None:
    for name in ("proposal_public", "proposal_public_pdf", "proposal_public_total"):
        answer = client.get(address(sent, name))
        body_of(answer)
        headers = answer.headers
        assert headers["Cache-Control"] == "no-store, private"
        assert headers["X-Robots-Tag"] == "noindex, nofollow"
        assert headers["Referrer-Policy"] == "same-origin"


def test_a_wrong_link_finds_nothing_and_says_nothing(client: Client, sent: Proposal) -> None:
    answer = client.get(reverse("proposal_public", args=["x" * 43]))
    assert answer.status_code == 404
    assert "Halloway" not in answer.content.decode()
    assert "no-store" in answer.headers["Cache-Control"]


def test_a_draft_has_no_public_page(client: Client) -> None:
    draft = create_draft(estimate=make_estimate(), actor=None, now=timezone.now())
    assert client.get(address(draft)).status_code == 404
    assert client.get(address(draft, "proposal_public_pdf")).status_code == 404


def test_the_total_is_worked_out_by_the_server(client: Client, sent: Proposal) -> None:
    total = address(sent, "proposal_public_total")
    answer = client.get(total, {"options": ["typed-1", "typed-2", "made-up"]})
    # 4,080.10 + 122.40 + 260.00
    assert "$4,462.50" in answer.content.decode()


def test_accepting_keeps_everything_and_thanks(client: Client, sent: Proposal) -> None:
    answer = client.post(
        address(sent), yes(sent), headers={"user-agent": "A telephone"}, follow=True
    )
    page = answer.content.decode()
    assert "Thank you, Wren Halloway" in page
    assert "$4,202.50" in page
    assert sent.pdf_sha256 in page
    acceptance = Acceptance.objects.get()
    assert acceptance.ip_address == "127.0.0.1"
    assert acceptance.user_agent == "A telephone"


def test_accepting_twice_thanks_twice_and_keeps_the_first(client: Client, sent: Proposal) -> None:
    client.post(address(sent), yes(sent))
    again = client.post(address(sent), yes(sent, signed_name="Other", consent=""), follow=True)
    assert "Thank you, Wren Halloway" in again.content.decode()
    assert Acceptance.objects.count() == 1


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"consent": ""}, "Tick this box if you accept"),
        ({"signed_name": " "}, "it stands for your signature"),
        ({"signed_name": "<svg onload=x>"}, "Write plain words here"),
        ({"options": ["gold"]}, "gold is not one of the available choices"),
    ],
)
def test_a_yes_that_lacks_something_is_told_what(
    client: Client, sent: Proposal, changes: dict[str, Any], words: str
) -> None:
    answer = client.post(address(sent), yes(sent, **changes))
    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert not Acceptance.objects.exists()


def test_what_was_typed_and_ticked_stays_after_a_refusal(client: Client, sent: Proposal) -> None:
    page = client.post(address(sent), yes(sent, consent="")).content.decode()
    assert 'value="Wren Halloway"' in page
    assert 'value="typed-1" id="option-1" checked' in page
    assert "$4,202.50" in page


def test_a_form_of_another_pdf_is_refused(client: Client, sent: Proposal) -> None:
    answer = client.post(address(sent), yes(sent, pdf_sha256="0" * 64))
    assert answer.status_code == 409
    assert "has changed since you opened it" in answer.content.decode()
    assert not Acceptance.objects.exists()


def test_an_expired_proposal_is_shown_without_a_way_to_accept(
    client: Client, sent: Proposal
) -> None:
    Proposal.objects.update(valid_until=dt.date(2026, 5, 5))
    page = client.get(address(sent)).content.decode()
    assert "was good until May 5, 2026" in page
    assert "Accept this proposal" not in page
    answer = client.post(address(sent), yes(sent))
    assert answer.status_code == 409
    assert not Acceptance.objects.exists()


def test_declining_keeps_the_reason(client: Client, sent: Proposal) -> None:
    no = address(sent, "proposal_public_decline")
    assert client.post(no, {"reason": ""}).status_code == 422
    page = client.post(no, {"reason": "We moved"}, follow=True).content.decode()
    assert "This proposal was declined" in page
    sent.refresh_from_db()
    assert sent.declined_reason == "We moved"
    assert client.post(address(sent), yes(sent)).status_code == 409


def test_pages_take_only_their_methods(client: Client, sent: Proposal) -> None:
    assert client.get(address(sent, "proposal_public_decline")).status_code == 405
    assert client.post(address(sent, "proposal_public_pdf")).status_code == 405
    assert client.put(address(sent)).status_code == 405


def test_a_yes_without_the_form_token_is_refused(sent: Proposal) -> None:
    strict = Client(enforce_csrf_checks=True)
    assert strict.post(address(sent), yes(sent)).status_code == 403
    assert not Acceptance.objects.exists()


def test_only_strangers_count_as_having_opened_the_link(client: Client, sent: Proposal) -> None:
    client.force_login(make_person(Role.OFFICE))
    client.get(address(sent))
    sent.refresh_from_db()
    assert sent.first_read_at is None
    client.logout()
    client.get(address(sent))
    sent.refresh_from_db()
    assert sent.first_read_at is not None


def test_the_pdf_at_the_link_is_the_one_that_was_sent(client: Client, sent: Proposal) -> None:
    with sent.pdf.open("rb") as file:
        kept = file.read()
    answer = client.get(address(sent, "proposal_public_pdf"))
    assert b"".join(answer) == kept


@pytest.mark.parametrize(("trusted", "kept"), [(True, "203.0.113.9"), (False, "127.0.0.1")])
def test_a_forwarded_address_counts_only_behind_a_trusted_proxy(
    client: Client, sent: Proposal, settings: Settings, trusted: bool, kept: str
) -> None:
    settings.FF_TRUST_PROXY = trusted
    forwarded = {"x-forwarded-for": "10.9.9.9, 203.0.113.9"}
    client.post(address(sent), yes(sent), headers=forwarded)
    assert Acceptance.objects.get().ip_address == kept


def test_markup_in_a_customers_name_is_shown_as_text(client: Client) -> None:
    site = make_site()
    site.customer.name = "<script>alert(1)</script>"
    site.customer.save()
    sent = make_sent_proposal(make_estimate(site))
    page = client.get(address(sent)).content.decode()
    assert "<script>alert(1)" not in page


def test_the_page_asks_little(
    client: Client, sent: Proposal, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    client.get(address(sent))
    # Proposal, acceptance, options twice, firm.
    with django_assert_max_num_queries(6):
        client.get(address(sent))
