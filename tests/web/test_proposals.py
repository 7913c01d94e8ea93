"""The office's pages about proposals: who may open them, what they do, what they cost."""

import datetime as dt
from collections.abc import Callable
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries, DjangoCaptureOnCommitCallbacks, Settings

from estimating.models import Acceptance, Proposal
from estimating.services.proposals import create_draft
from firm.models import Role
from tests.cast import make_person
from tests.factories import make_estimate, make_firm, make_sent_proposal, make_site

pytestmark = pytest.mark.django_db

GET_PAGES = ("proposal", "proposal_pdf", "proposal_progress", "proposal_scan")
POST_PAGES = (
    "proposal_send",
    "proposal_refresh",
    "proposal_mail_again",
    "proposal_withdraw",
    "proposal_decline",
    "proposal_call",
    "proposal_paper_acceptance",
)


@pytest.fixture
def office(client: Client) -> Client:
    client.force_login(make_person(Role.OFFICE))
    return client


@pytest.fixture
def draft() -> Proposal:
    make_firm()
    return create_draft(estimate=make_estimate(), actor=None, now=timezone.now())


@pytest.fixture
def sent() -> Proposal:
    proposal = make_sent_proposal()
    # The pages ask the real clock: let it be out now.
    today = timezone.localdate()
    Proposal.objects.update(
        valid_until=today + dt.timedelta(days=20), sent_at=timezone.now() - dt.timedelta(days=4)
    )
    proposal.refresh_from_db()
    return proposal


def draft_form(proposal: Proposal, **changes: Any) -> dict[str, Any]:
    values: dict[str, Any] = {
        "detail": "lines",
        "valid_until": proposal.valid_until.isoformat(),
        "introduction": "Hello",
        "scope_text": "A fence",
        "exclusions_text": "Rock",
    }
    for number, row in enumerate(proposal.payments.all(), start=1):
        values[f"payment_{number}_description"] = row.description
        values[f"payment_{number}_amount"] = str(row.amount)
    return values | changes


@pytest.mark.parametrize("name", GET_PAGES + POST_PAGES)
def test_strangers_go_to_the_log_in_and_crew_leads_are_refused(
    client: Client, sent: Proposal, name: str
) -> None:
    address = reverse(name, args=[sent.pk])
    ask: Callable[..., Any] = client.get if name in GET_PAGES else client.post
    assert ask(address).headers["Location"].startswith(reverse("login"))
    client.force_login(make_person(Role.CREW_LEAD))
    assert ask(address).status_code == 403
    sent.refresh_from_db()
    assert sent.state == Proposal.State.SENT


def test_crew_leads_see_no_list_of_proposals(client: Client) -> None:
    client.force_login(make_person(Role.CREW_LEAD))
    assert client.get(reverse("proposals")).status_code == 403


@pytest.mark.parametrize("name", POST_PAGES)
def test_actions_take_no_get(office: Client, sent: Proposal, name: str) -> None:
    assert office.get(reverse(name, args=[sent.pk])).status_code == 405


def test_an_estimate_becomes_a_draft(office: Client) -> None:
    make_firm()
    estimate = make_estimate()
    answer = office.post(reverse("proposal_new", args=[estimate.pk]))
    draft = Proposal.objects.get()
    assert answer.headers["Location"] == reverse("proposal", args=[draft.pk])
    page = office.get(answer.headers["Location"]).content.decode()
    assert "build 32 ft of vinyl privacy fence" in page
    assert "$4,080.10" in page


def test_bad_input_keeps_what_was_typed_and_names_the_field(
    office: Client, draft: Proposal
) -> None:
    form = draft_form(draft, payment_1_amount="lots", scope_text="A <script>fence</script>")
    page = office.post(reverse("proposal", args=[draft.pk]), form)
    text = page.content.decode()
    assert "Type an amount such as 1250.00." in text
    assert "Write plain words here" in text
    assert 'value="lots"' in text
    assert "A &lt;script&gt;fence&lt;/script&gt;" in text
    draft.refresh_from_db()
    assert draft.introduction.startswith("Dear")


def test_a_saved_draft_says_so(office: Client, draft: Proposal) -> None:
    answer = office.post(reverse("proposal", args=[draft.pk]), draft_form(draft), follow=True)
    assert "The draft has been saved." in answer.content.decode()
    draft.refresh_from_db()
    assert draft.scope_text == "A fence"


def test_what_was_just_typed_is_sent(office: Client, draft: Proposal) -> None:
    form = draft_form(draft, scope_text="The last word", send="yes", to="wren@example.com")
    office.post(reverse("proposal", args=[draft.pk]), form)
    draft.refresh_from_db()
    assert draft.content["scope"] == ["The last word"]
    assert draft.sent_to == "wren@example.com"


def test_a_wrong_address_is_told_at_its_field_and_nothing_is_sent(
    office: Client, draft: Proposal
) -> None:
    form = draft_form(draft, send="yes", to="nowhere")
    page = office.post(reverse("proposal", args=[draft.pk]), form).content.decode()
    assert "Enter a valid email address." in page
    assert 'value="nowhere"' in page
    draft.refresh_from_db()
    assert draft.content == {}


def test_payments_that_miss_the_price_are_told_above_the_form(
    office: Client, draft: Proposal
) -> None:
    form = draft_form(draft, payment_1_amount="1.00")
    page = office.post(reverse("proposal", args=[draft.pk]), form)
    assert "but the price is $4,080.10" in page.content.decode()


def test_the_preview_is_a_pdf_that_says_it_is_a_draft(office: Client, draft: Proposal) -> None:
    answer = office.get(reverse("proposal_pdf", args=[draft.pk]))
    assert answer.headers["Content-Type"] == "application/pdf"
    assert b"".join(answer).startswith(b"%PDF-")
    draft.refresh_from_db()
    assert not draft.pdf


def test_sending_shows_progress_and_ends_as_sent(
    office: Client,
    draft: Proposal,
    django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks,
) -> None:
    address = reverse("proposal", args=[draft.pk])
    with django_capture_on_commit_callbacks() as callbacks:
        office.post(reverse("proposal_send", args=[draft.pk]), {"to": "wren@example.com"})
    assert "being printed and mailed" in office.get(address).content.decode()
    progress = reverse("proposal_progress", args=[draft.pk])
    assert "being printed and mailed" in office.get(progress).content.decode()
    for callback in callbacks:
        callback()
    assert office.get(progress).headers["HX-Refresh"] == "true"
    page = office.get(address).content.decode()
    assert "Mail it again" in page
    draft.refresh_from_db()
    assert draft.state == Proposal.State.SENT


def test_a_sent_proposal_is_not_changed_by_an_old_form(office: Client, sent: Proposal) -> None:
    office.post(reverse("proposal", args=[sent.pk]), draft_form(sent))
    sent.refresh_from_db()
    assert sent.scope_text != "A fence"


def test_calls_declines_and_withdrawals_are_recorded(office: Client, sent: Proposal) -> None:
    page = office.get(reverse("proposals")).content.decode()
    assert "Whom to call today" in page
    assert "555-0117" in page
    call = {"note": "Thinks about it", "call_after": "2100-01-01"}
    office.post(reverse("proposal_call", args=[sent.pk]), call)
    assert "Whom to call today" not in office.get(reverse("proposals")).content.decode()
    refused = office.post(reverse("proposal_decline", args=[sent.pk]), {})
    assert refused.status_code == 422
    assert "This field is required." in refused.content.decode()
    office.post(reverse("proposal_decline", args=[sent.pk]), {"reason": "Price"})
    sent.refresh_from_db()
    assert (sent.state, sent.call_note) == (Proposal.State.DECLINED, "Thinks about it")
    late = office.post(reverse("proposal_withdraw", args=[sent.pk]), follow=True)
    assert "can be withdrawn" in late.content.decode()


@pytest.mark.parametrize(
    ("name", "values", "words"),
    [
        (
            "proposal_call",
            {"note": "Ask again in spring", "call_after": "soon"},
            "Enter a valid date",
        ),
        ("proposal_mail_again", {"to": "wren at example"}, "Enter a valid email address."),
        ("proposal_mail_again", {"to": ""}, "Type the address to mail it to."),
        ("proposal_decline", {"reason": "x" * 301}, "at most 300 characters"),
    ],
)
def test_a_slip_beside_a_sent_proposal_keeps_what_was_typed(
    office: Client, sent: Proposal, name: str, values: dict[str, str], words: str
) -> None:
    answer = office.post(reverse(name, args=[sent.pk]), values)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert words in page
    assert all(typed in page for typed in values.values())
    sent.refresh_from_db()
    assert (sent.state, sent.call_note) == (Proposal.State.SENT, "")


def test_an_answer_to_a_proposal_that_is_over_says_so(office: Client, sent: Proposal) -> None:
    office.post(reverse("proposal_decline", args=[sent.pk]), {"reason": "Price"})
    again = office.post(reverse("proposal_decline", args=[sent.pk]), {"reason": ""}, follow=True)
    assert "Why not?: This field is required." in again.content.decode()


def paper(sent: Proposal, content: bytes, **changes: Any) -> dict[str, Any]:
    values: dict[str, Any] = {
        "signed_name": "Wren Halloway",
        "signed_on": timezone.localdate().isoformat(),
        "scan": SimpleUploadedFile("scan.pdf", content),
    }
    return values | changes


def test_a_paper_acceptance_keeps_its_scan_as_a_download(office: Client, sent: Proposal) -> None:
    address = reverse("proposal_paper_acceptance", args=[sent.pk])
    office.post(address, paper(sent, b"%PDF-1.7 signed", options=["typed-1"]))
    acceptance = Acceptance.objects.get()
    assert str(acceptance.total) == "4202.50"
    scan = office.get(reverse("proposal_scan", args=[sent.pk]))
    assert scan.headers["Content-Disposition"].startswith("attachment")
    assert scan.headers["X-Content-Type-Options"] == "nosniff"
    assert b"".join(scan) == b"%PDF-1.7 signed"


def test_a_scan_that_is_no_picture_or_too_large_is_refused(
    office: Client, sent: Proposal, settings: Settings
) -> None:
    address = reverse("proposal_paper_acceptance", args=[sent.pk])
    page = office.post(address, paper(sent, b"<svg><script>1</script></svg>"))
    text = page.content.decode()
    assert "This is no PDF, JPEG or PNG file." in text
    assert 'value="Wren Halloway"' in text
    settings.FF_UPLOAD_MAX_BYTES = 1024 * 1024
    page = office.post(address, paper(sent, b"%PDF-" + b"0" * 1024 * 1024))
    assert "larger than 1 MB" in page.content.decode()
    assert not Acceptance.objects.exists()


def test_markup_in_a_name_is_shown_as_text(office: Client, sent: Proposal) -> None:
    sent.estimate.customer.name = "<script>alert(1)</script>"
    sent.estimate.customer.save()
    page = office.get(reverse("proposals")).content.decode()
    assert "<script>alert(1)" not in page
    assert "&lt;script&gt;alert(1)" in page


def test_an_unknown_proposal_is_not_found(office: Client) -> None:
    assert office.get(reverse("proposal", args=[999])).status_code == 404


def test_the_list_asks_as_often_for_many_as_for_one(
    office: Client, sent: Proposal, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    for number in range(1002, 1007):
        site = make_site(sent.estimate.customer)
        create_draft(estimate=make_estimate(site, number=number), actor=None, now=timezone.now())
    # Session, person, count, rows, calls.
    with django_assert_max_num_queries(5):
        office.get(reverse("proposals"))


def test_a_proposals_page_asks_little(
    office: Client, sent: Proposal, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    # Session, person, proposal, acceptance, mail, options.
    with django_assert_max_num_queries(7):
        office.get(reverse("proposal", args=[sent.pk]))
