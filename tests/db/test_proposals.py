"""Proposals: drafted from estimates, sent once, frozen, and answered."""

import datetime as dt
import hashlib
from decimal import Decimal
from io import BytesIO
from typing import Any

import pytest
from pypdf import PdfReader

from estimating.models import Estimate, Proposal
from estimating.selectors.proposals import calls_due, in_state, standing
from estimating.services.payment_schedule import PaymentStep
from estimating.services.proposal_answers import decline_proposal, record_call
from estimating.services.proposal_building import content_of
from estimating.services.proposal_pdf import proposal_html
from estimating.services.proposal_sending import (
    carry_out_sending,
    mail_again,
    mark_expired,
    send_proposal,
    withdraw_proposal,
)
from estimating.services.proposals import DraftText, create_draft, refresh_draft, update_draft
from firm.errors import Refusal
from firm.models import AuditEntry, Job, JobState, OutgoingMail
from firm.services import jobs
from tests.factories import NOW, TODAY, make_estimate, make_firm, make_sent_proposal, make_site

pytestmark = pytest.mark.django_db

DAY = dt.timedelta(days=1)


def text_of(proposal: Proposal, **changes: object) -> DraftText:
    values: dict[str, object] = {
        "detail": proposal.detail,
        "introduction": proposal.introduction,
        "scope_text": proposal.scope_text,
        "exclusions_text": proposal.exclusions_text,
        "valid_until": proposal.valid_until,
        "payments": [
            PaymentStep(description=row.description, amount=row.amount)
            for row in proposal.payments.all()
        ],
    }
    return DraftText(**(values | changes))  # type: ignore[arg-type]


def test_draft_takes_price_scope_options_and_payments_from_the_estimate() -> None:
    make_firm(deposit_pct=Decimal(40), deposit_cap_pct=Decimal(10), deposit_cap_amount=1000)
    draft = create_draft(estimate=make_estimate(), actor=None, now=NOW)
    assert draft.price == Decimal("4080.10")
    assert "build 32 ft of vinyl privacy fence, 6 ft tall" in draft.scope_text
    # 120.00 and its 2.40 tax; 260.00 without.
    assert [row.amount for row in draft.options.all()] == [Decimal("122.40"), Decimal("260.00")]
    # The cap: 10 % of 4,080.10 = 408.01. The rest, 3,672.09, in halves: 1,836.04 and 1,836.05.
    assert [row.amount for row in draft.payments.all()] == [
        Decimal("408.01"),
        Decimal("1836.04"),
        Decimal("1836.05"),
    ]
    assert draft.valid_until == TODAY + 30 * DAY


def test_a_second_draft_of_an_estimate_is_the_first() -> None:
    estimate = make_estimate()
    assert create_draft(estimate=estimate, actor=None, now=NOW) == create_draft(
        estimate=estimate, actor=None, now=NOW
    )


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"stop_findings": 1}, "finding"),
        ({"price": Decimal(0)}, "no price yet"),
        ({"state": Estimate.State.REPLACED}, "replaced by a revision"),
    ],
)
def test_an_unready_estimate_gives_no_draft(changes: dict[str, Any], words: str) -> None:
    with pytest.raises(Refusal, match=words):
        create_draft(estimate=make_estimate(**changes), actor=None, now=NOW)
    assert not Proposal.objects.exists()


@pytest.mark.parametrize(
    ("detail", "parts", "quantities"), [("total", 0, 0), ("lines", 2, 0), ("quantities", 2, 1)]
)
def test_the_level_of_detail_changes_what_is_shown_and_not_the_price(
    detail: str, parts: int, quantities: int
) -> None:
    draft = create_draft(estimate=make_estimate(), actor=None, now=NOW)
    update_draft(proposal=draft, text=text_of(draft, detail=detail), actor=None, now=NOW)
    draft.refresh_from_db()
    content = content_of(draft, today=TODAY)
    assert (len(content.price_rows), len(content.quantity_rows)) == (parts, quantities)
    assert content.price == "$4,080.10"
    html = proposal_html(content)
    assert ("All work and material" in html) == (detail == "total")


def test_a_price_without_sales_tax_says_so() -> None:
    estimate = make_estimate(sales_tax=Decimal(0), price=Decimal("4000.00"))
    draft = create_draft(estimate=estimate, actor=None, now=NOW)
    html = proposal_html(content_of(draft, today=TODAY))
    assert "no sales tax is added" in html
    assert "Before sales tax" not in html


def test_a_repair_without_a_layout_is_proposed_from_its_notes() -> None:
    estimate = make_estimate(
        document={},
        catalog={},
        result={"money": {}, "price_lines": [], "options": []},
        notes="Reset two leaning posts by the garage.",
        site=None,
    )
    draft = create_draft(estimate=estimate, actor=None, now=NOW)
    assert draft.scope_text == "Reset two leaning posts by the garage."
    assert content_of(draft, today=TODAY).plan_svg == ""


def test_payments_that_miss_the_price_are_refused() -> None:
    draft = create_draft(estimate=make_estimate(), actor=None, now=NOW)
    short = [PaymentStep(description="All", amount=Decimal("4080.09"))]
    with pytest.raises(Refusal, match=r"\$4,080\.09, but the price is \$4,080\.10"):
        update_draft(proposal=draft, text=text_of(draft, payments=short), actor=None, now=NOW)


def test_a_first_payment_above_the_states_cap_is_refused() -> None:
    make_firm(deposit_cap_pct=Decimal(10))
    draft = create_draft(estimate=make_estimate(), actor=None, now=NOW)
    steps = [
        PaymentStep(description="Deposit", amount=Decimal("408.02")),
        PaymentStep(description="Rest", amount=Decimal("3672.08")),
    ]
    with pytest.raises(Refusal, match=r"cap allows \$408\.01"):
        update_draft(proposal=draft, text=text_of(draft, payments=steps), actor=None, now=NOW)


def test_a_changed_estimate_is_taken_into_the_draft_anew() -> None:
    estimate = make_estimate()
    draft = create_draft(estimate=estimate, actor=None, now=NOW)
    Estimate.objects.update(price=Decimal("5000.00"))
    with pytest.raises(Refusal, match="changed since this draft"):
        send_proposal(proposal=draft, to="", actor=None, now=NOW)
    refresh_draft(proposal=draft, actor=None, now=NOW)
    draft.refresh_from_db()
    assert draft.price == Decimal("5000.00")
    assert sum(row.amount for row in draft.payments.all()) == Decimal("5000.00")


def test_sending_prints_once_keeps_the_hash_and_mails_the_link() -> None:
    make_firm()
    draft = create_draft(estimate=make_estimate(), actor=None, now=NOW)
    send_proposal(proposal=draft, to="wren@example.com", actor=None, now=NOW)
    draft.refresh_from_db()
    assert draft.state == Proposal.State.DRAFT
    assert draft.estimate.state == Estimate.State.FROZEN

    jobs.run_due_jobs(now=NOW)

    draft.refresh_from_db()
    assert draft.state == Proposal.State.SENT
    with draft.pdf.open("rb") as file:
        kept = file.read()
    assert hashlib.sha256(kept).hexdigest() == draft.pdf_sha256
    mail = OutgoingMail.objects.get()
    assert mail.to == "wren@example.com"
    assert f"/p/{draft.token}/" in mail.body
    assert "$4,080.10" in mail.body
    with mail.attachments.get().file.open("rb") as file:
        assert file.read() == kept


def test_a_job_that_runs_twice_sends_once() -> None:
    sent = make_sent_proposal()
    job = sent.send_job
    assert job is not None
    before = sent.pdf_sha256
    carry_out_sending(
        jobs.JobRun(job_id=job.pk, attempt=1, arguments=job.arguments, now=NOW, started_s=0.0)
    )
    sent.refresh_from_db()
    assert sent.pdf_sha256 == before
    assert OutgoingMail.objects.count() == 1


def test_a_draft_being_sent_can_not_be_changed_or_sent_again() -> None:
    draft = create_draft(estimate=make_estimate(), actor=None, now=NOW)
    send_proposal(proposal=draft, to="", actor=None, now=NOW)
    with pytest.raises(Refusal, match="being sent right now"):
        update_draft(proposal=draft, text=text_of(draft), actor=None, now=NOW)
    with pytest.raises(Refusal, match="being sent right now"):
        send_proposal(proposal=draft, to="", actor=None, now=NOW)
    assert Job.objects.count() == 1


def test_a_failed_sending_may_be_tried_again() -> None:
    draft = create_draft(estimate=make_estimate(), actor=None, now=NOW)
    send_proposal(proposal=draft, to="", actor=None, now=NOW)
    Job.objects.update(state=JobState.FAILED, finished_at=NOW, error="No fonts.")
    send_proposal(proposal=draft, to="", actor=None, now=NOW)
    jobs.run_due_jobs(now=NOW)
    draft.refresh_from_db()
    assert draft.state == Proposal.State.SENT


def test_what_was_sent_never_changes_with_the_firm_or_the_estimate() -> None:
    sent = make_sent_proposal()
    content, digest = sent.content, sent.pdf_sha256
    make_firm(name="Another Name", rock_hole_price=Decimal(500))
    Estimate.objects.update(price=Decimal("9999.00"))
    sent.refresh_from_db()
    assert (sent.content, sent.pdf_sha256) == (content, digest)
    with pytest.raises(Refusal, match="was sent and can't be changed"):
        update_draft(proposal=sent, text=text_of(sent), actor=None, now=NOW)


def test_without_an_address_nothing_is_mailed() -> None:
    draft = create_draft(estimate=make_estimate(), actor=None, now=NOW)
    send_proposal(proposal=draft, to="", actor=None, now=NOW)
    jobs.run_due_jobs(now=NOW)
    draft.refresh_from_db()
    assert draft.state == Proposal.State.SENT
    assert not OutgoingMail.objects.exists()


def test_a_revision_that_is_sent_withdraws_the_older_proposal() -> None:
    first = make_sent_proposal()
    revision = make_estimate(
        site=first.estimate.site, revision=1, replaces=first.estimate, price=Decimal("3000.00")
    )
    draft = create_draft(estimate=revision, actor=None, now=NOW)
    first.refresh_from_db()
    assert first.state == Proposal.State.SENT
    send_proposal(proposal=draft, to="", actor=None, now=NOW)
    jobs.run_due_jobs(now=NOW)
    first.refresh_from_db()
    assert first.state == Proposal.State.WITHDRAWN


def test_declining_keeps_the_reason_and_tells_the_firm() -> None:
    sent = make_sent_proposal()
    assert decline_proposal(proposal=sent, reason="Too dear", now=NOW)
    assert not decline_proposal(proposal=sent, reason="Again", now=NOW)
    sent.refresh_from_db()
    assert (sent.state, sent.declined_reason) == (Proposal.State.DECLINED, "Too dear")
    assert OutgoingMail.objects.filter(
        to="office@alder.example", body__contains="Too dear"
    ).exists()


def test_a_withdrawn_proposal_can_not_be_declined() -> None:
    sent = make_sent_proposal()
    withdraw_proposal(proposal=sent, actor=None, now=NOW)
    with pytest.raises(Refusal, match="sent and not answered"):
        decline_proposal(proposal=sent, reason="No", now=NOW)


def test_mailing_again_sends_the_very_same_pdf() -> None:
    sent = make_sent_proposal()
    mail = mail_again(proposal=sent, to="new@example.com", actor=None, now=NOW + DAY)
    with mail.attachments.get().file.open("rb") as file:
        assert hashlib.sha256(file.read()).hexdigest() == sent.pdf_sha256


def test_expiry_needs_no_sweep_and_the_sweep_marks_it() -> None:
    sent = make_sent_proposal()
    last = sent.valid_until
    assert standing(sent, last) == Proposal.State.SENT
    assert standing(sent, last + DAY) == Proposal.State.EXPIRED
    assert list(in_state("expired", last + DAY)) == [sent]
    assert mark_expired(now=NOW + 31 * DAY) == 1
    assert mark_expired(now=NOW + 31 * DAY) == 0
    sent.refresh_from_db()
    assert sent.state == Proposal.State.EXPIRED


def test_a_quiet_customer_is_called_after_three_days() -> None:
    sent = make_sent_proposal()
    assert calls_due(TODAY + 2 * DAY) == []
    assert [call.reason for call in calls_due(TODAY + 3 * DAY)] == ["No answer yet"]
    record_call(
        proposal=sent, note="Asks his wife", call_after=TODAY + 6 * DAY, actor=None, now=NOW
    )
    assert calls_due(TODAY + 5 * DAY) == []
    assert [call.reason for call in calls_due(TODAY + 6 * DAY)] == ["You meant to call"]


def test_a_proposal_about_to_expire_is_called_about() -> None:
    make_sent_proposal()  # good until 30 days after TODAY
    assert [call.reason for call in calls_due(TODAY + 28 * DAY)] == ["Good for 2 more days"]
    assert [call.reason for call in calls_due(TODAY + 30 * DAY)] == ["Good until today"]
    assert calls_due(TODAY + 31 * DAY) == []


def test_every_step_leaves_its_row_in_the_record() -> None:
    sent = make_sent_proposal()
    withdraw_proposal(proposal=sent, actor=None, now=NOW)
    found = AuditEntry.objects.filter(target_type="estimating.proposal").order_by("pk")
    assert [row.action for row in found] == [
        "proposal drafted",
        "proposal set off",
        "proposal sent",
        "proposal withdrawn",
    ]


@pytest.fixture
def pdf_pages() -> list[str]:
    site = make_site(street="9 Quarry Road")
    sent = make_sent_proposal(make_estimate(site), lien_text="Notice of liens, as our lawyer says.")
    with sent.pdf.open("rb") as file:
        return [page.extract_text() for page in PdfReader(BytesIO(file.read())).pages]


@pytest.mark.parametrize(
    "answer",
    [
        "build 32 ft of vinyl privacy fence, 6 ft tall",  # what, how tall
        "9 Quarry Road",  # where
        "Back line, rear yard",
        "Gate G1: walk gate, 48 in clear, one leaf",  # gates and how they swing
        "swings inward",
        "$4,080.10",  # the price
        "Caps with a light on the gate posts",  # what is extra
        "$122.40",
        "Deposit, when you accept",  # what is paid when
        "good until June 3, 2026",  # until when
        "calls in the utility locate",  # who calls the locate
        "The property line is yours to prove",  # who proves the line
        "We send you a newer version",  # what voids it
        "press Accept",  # how to accept
        "$95.00 extra",  # rock
        "not an engineered design",
        "Local code and licensed practice rule",
        "Notice of liens",
        "F-2210",
        "Signature",
    ],
)
def test_the_pdf_answers_what_a_reader_asks(pdf_pages: list[str], answer: str) -> None:
    text = " ".join(" ".join(pdf_pages).split())
    assert answer in text


def test_the_pdf_is_tagged_and_its_pages_are_numbered(pdf_pages: list[str]) -> None:
    count = len(pdf_pages)
    assert count >= 2
    for number, text in enumerate(pdf_pages, start=1):
        assert f"page {number} of {count}" in text
    with Proposal.objects.get().pdf.open("rb") as file:
        root: Any = PdfReader(BytesIO(file.read())).trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"] == "en"
    assert "/StructTreeRoot" in root


def _figures(element: Any) -> list[str]:
    """Return the words of all figures of a PDF, from its tree of tags."""
    element = element.get_object()
    if not isinstance(element, dict):
        return []
    kids = element.get("/K", [])
    kids = kids if isinstance(kids, list) else [kids]
    own = [str(element.get("/Alt"))] if element.get("/S") == "/Figure" else []
    return own + [words for kid in kids if not isinstance(kid, int) for words in _figures(kid)]


def test_the_pdf_of_a_plain_job_is_short_and_carries_its_own_fonts(pdf_pages: list[str]) -> None:
    assert len(pdf_pages) <= 3
    with Proposal.objects.get().pdf.open("rb") as file:
        reader = PdfReader(BytesIO(file.read()))
        fonts = {
            str(font.get_object()["/BaseFont"]).partition("+")[2]
            for page in reader.pages
            for font in page["/Resources"]["/Font"].values()  # type: ignore[index]
        }
        root: Any = reader.trailer["/Root"]
        (plan,) = _figures(root["/StructTreeRoot"])
    assert fonts == {"Post-Sans", "Post-Sans-Bold", "Post-Serif-Bold"}
    assert plan.startswith("Site plan")
    assert "gate G1 4 ft clear" in plan


def test_the_figures_at_a_glance_tell_what_falls_due_first(pdf_pages: list[str]) -> None:
    first_page = " ".join(pdf_pages[0].split())
    # 40 % of 4,080.10 is 1,632.04.
    assert "Due when you accept $1,632.04" in first_page
