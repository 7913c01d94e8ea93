"""A customer's yes is kept once and for ever, with the very PDF it was said to."""

import datetime as dt
import hashlib
from decimal import Decimal
from typing import Any

import pytest
from django.core.files.base import ContentFile
from django.core.files.uploadedfile import SimpleUploadedFile

from estimating.models import Acceptance, Proposal
from estimating.models.proposals import AcceptanceIsFinalError
from estimating.selectors.proposals import may_order
from estimating.services.acceptances import (
    Signature,
    accept_at_link,
    accept_on_paper,
    cancellation_end,
)
from estimating.services.proposal_answers import decline_proposal
from estimating.services.proposal_sending import withdraw_proposal
from firm.errors import Refusal
from firm.models import AuditEntry, OutgoingMail, Role
from tests.cast import make_person
from tests.factories import NOW, TODAY, make_sent_proposal

pytestmark = pytest.mark.django_db

DAY = dt.timedelta(days=1)


def signature(proposal: Proposal, **changes: Any) -> Signature:
    values: dict[str, Any] = {
        "name": "Wren Halloway",
        "pdf_sha256": proposal.pdf_sha256,
        "ip_address": "198.51.100.7",
        "user_agent": "A telephone",
    }
    return Signature(**(values | changes))


def accept(proposal: Proposal, *, at: dt.datetime = NOW, **changes: Any) -> tuple[Acceptance, bool]:
    return accept_at_link(proposal=proposal, signature=signature(proposal, **changes), now=at)


def scan() -> SimpleUploadedFile:
    return SimpleUploadedFile("signed.pdf", b"%PDF-1.7 signed")


def test_acceptance_keeps_who_when_where_what_and_the_pdf() -> None:
    sent = make_sent_proposal()
    acceptance, is_new = accept(sent, options=["typed-1"])
    assert is_new
    sent.refresh_from_db()
    assert sent.state == Proposal.State.ACCEPTED
    assert acceptance.signed_name == "Wren Halloway"
    assert acceptance.accepted_at == NOW
    assert acceptance.ip_address == "198.51.100.7"
    assert acceptance.user_agent == "A telephone"
    assert "electronically" in acceptance.consent_text
    # 4,080.10 + 122.40 with its tax.
    assert acceptance.total == Decimal("4202.50")
    assert [option["key"] for option in acceptance.options] == ["typed-1"]
    with sent.pdf.open("rb") as file:
        assert acceptance.pdf_sha256 == hashlib.sha256(file.read()).hexdigest()


def test_both_sides_get_the_very_pdf_and_a_word_about_the_wait() -> None:
    sent = make_sent_proposal()
    OutgoingMail.objects.all().delete()
    accept(sent)
    mails = {mail.to: mail for mail in OutgoingMail.objects.all()}
    assert set(mails) == {"wren@example.com", "office@alder.example"}
    for mail in mails.values():
        # Monday, 4 May: the third business day after is Thursday, 7 May.
        assert "before the end of May 7, 2026" in mail.body
        assert sent.pdf_sha256 in mail.body
        with mail.attachments.get().file.open("rb") as file:
            assert hashlib.sha256(file.read()).hexdigest() == sent.pdf_sha256


def test_a_second_yes_changes_nothing() -> None:
    sent = make_sent_proposal()
    stale = Proposal.objects.get(pk=sent.pk)
    first, _ = accept(sent)
    again, is_new = accept(stale, name="Someone Else", options=["typed-1"], at=NOW + DAY)
    assert not is_new
    assert again == first
    assert again.signed_name == "Wren Halloway"
    assert Acceptance.objects.count() == 1
    assert AuditEntry.objects.filter(action="proposal accepted").count() == 1


def test_the_last_day_counts_to_its_end_and_the_next_does_not() -> None:
    sent = make_sent_proposal()
    # Good until 3 June: at 23:59 in New York (EDT, UTC-4) it is 03:59 on the 4th in UTC.
    with pytest.raises(Refusal, match="good until June 3, 2026"):
        accept(sent, at=dt.datetime(2026, 6, 4, 4, 0, tzinfo=dt.UTC))
    assert not Acceptance.objects.exists()
    _, is_new = accept(sent, at=dt.datetime(2026, 6, 4, 3, 59, tzinfo=dt.UTC))
    assert is_new


def test_a_withdrawn_proposal_can_not_be_accepted() -> None:
    sent = make_sent_proposal()
    withdraw_proposal(proposal=sent, actor=None, now=NOW)
    with pytest.raises(Refusal, match="withdrawn or replaced"):
        accept(sent)


def test_a_declined_proposal_can_not_be_accepted() -> None:
    sent = make_sent_proposal()
    decline_proposal(proposal=sent, reason="Price", now=NOW)
    with pytest.raises(Refusal, match="was declined"):
        accept(sent)


def test_another_pdf_than_the_one_read_can_not_be_accepted() -> None:
    sent = make_sent_proposal()
    with pytest.raises(Refusal, match="has changed since you opened it"):
        accept(sent, pdf_sha256="0" * 64)
    sent.refresh_from_db()
    assert sent.state == Proposal.State.SENT


def test_a_file_that_was_tampered_with_stops_the_acceptance() -> None:
    sent = make_sent_proposal()
    name = sent.pdf.name
    assert name
    sent.pdf.storage.delete(name)
    sent.pdf.storage.save(name, ContentFile(b"%PDF-1.7 other"))
    with pytest.raises(Refusal, match="not the one that was sent"):
        accept(sent)
    sent.refresh_from_db()
    assert sent.state == Proposal.State.SENT
    assert not Acceptance.objects.exists()


def test_a_lost_file_stops_the_acceptance() -> None:
    sent = make_sent_proposal()
    sent.pdf.storage.delete(sent.pdf.name or "")
    with pytest.raises(Refusal, match="can't be found"):
        accept(sent)


def test_an_option_nobody_offered_is_refused() -> None:
    sent = make_sent_proposal()
    with pytest.raises(Refusal, match="no option 'gold'"):
        accept(sent, options=["gold"])
    sent.refresh_from_db()
    assert sent.state == Proposal.State.SENT


def test_an_acceptance_is_never_changed_or_deleted() -> None:
    acceptance, _ = accept(make_sent_proposal())
    acceptance.total = Decimal(1)
    with pytest.raises(AcceptanceIsFinalError):
        acceptance.save()
    with pytest.raises(AcceptanceIsFinalError):
        acceptance.delete()
    with pytest.raises(AcceptanceIsFinalError):
        Acceptance.objects.update(total=1)
    with pytest.raises(AcceptanceIsFinalError):
        Acceptance.objects.all().delete()
    assert Acceptance.objects.get().total == Decimal("4080.10")


def test_nothing_may_be_ordered_until_the_third_business_day_has_ended() -> None:
    sent = make_sent_proposal()
    assert not may_order(sent, NOW)
    accept(sent)
    # Midnight after Thursday, 7 May in New York is 04:00 UTC on the 8th.
    midnight = dt.datetime(2026, 5, 8, 4, 0, tzinfo=dt.UTC)
    assert not may_order(sent, midnight - dt.timedelta(seconds=2))
    assert may_order(sent, midnight)


def test_the_cancellation_time_skips_weekend_and_memorial_day() -> None:
    # Friday, 22 May 2026; Monday 25 is Memorial Day: Tuesday, Wednesday, Thursday 28.
    friday = dt.datetime(2026, 5, 22, 15, 0, tzinfo=dt.UTC)
    assert cancellation_end(friday, 3).astimezone(dt.UTC) == dt.datetime(
        2026, 5, 29, 3, 59, 59, tzinfo=dt.UTC
    )
    assert cancellation_end(friday, 0) == friday


def test_a_signature_on_paper_is_kept_with_its_scan() -> None:
    sent = make_sent_proposal()
    actor = make_person(Role.OFFICE)
    acceptance = accept_on_paper(
        proposal=sent,
        signature=signature(sent, options=["typed-2"]),
        scan=scan(),
        signed_on=TODAY + DAY,
        actor=actor,
        now=NOW + 3 * DAY,
    )
    assert (acceptance.way, acceptance.recorded_by) == (Acceptance.Way.PAPER, actor)
    assert acceptance.total == Decimal("4340.10")
    with acceptance.scan.open("rb") as file:
        assert file.read() == b"%PDF-1.7 signed"
    # Signed on Tuesday, 5 May: the third business day after is Friday, 8 May.
    assert acceptance.cancellation_ends_at.astimezone(dt.UTC).date() == dt.date(2026, 5, 9)


def test_a_paper_signed_in_time_may_come_in_after_the_last_day() -> None:
    sent = make_sent_proposal()
    accept_on_paper(
        proposal=sent,
        signature=signature(sent),
        scan=scan(),
        signed_on=sent.valid_until,
        actor=make_person(Role.OFFICE),
        now=NOW + 35 * DAY,
    )
    sent.refresh_from_db()
    assert sent.state == Proposal.State.ACCEPTED


@pytest.mark.parametrize(
    ("signed_on", "words"),
    [
        (TODAY - DAY, "before this proposal was sent"),
        (TODAY + 40 * DAY, "in the future"),
        (TODAY + 31 * DAY, "good until"),
    ],
)
def test_a_paper_signed_at_an_impossible_time_is_refused(signed_on: dt.date, words: str) -> None:
    sent = make_sent_proposal()
    with pytest.raises(Refusal, match=words):
        accept_on_paper(
            proposal=sent,
            signature=signature(sent),
            scan=scan(),
            signed_on=signed_on,
            actor=make_person(Role.OFFICE),
            now=NOW + 35 * DAY,
        )
    assert not Acceptance.objects.exists()
