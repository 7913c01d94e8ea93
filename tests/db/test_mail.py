"""Mails are kept as rows, and sent once where a mail server is set."""

from smtplib import SMTPServerDisconnected

import pytest
from django.core import mail as outbox
from django.core.mail import EmailMessage
from pytest_django import Settings

from firm.models import Job, JobState, OutgoingMail
from firm.services import jobs
from firm.services.mail import Attachment, queue_mail, send_kept_mail
from tests.factories import NOW

pytestmark = pytest.mark.django_db


def write(**changes: object) -> OutgoingMail:
    values: dict[str, object] = {
        "to": "wren@example.com",
        "subject": "Proposal 1001",
        "body": "Here it is.",
        "now": NOW,
    }
    return queue_mail(**(values | changes))  # type: ignore[arg-type]


def test_without_a_mail_server_a_mail_is_only_kept() -> None:
    kept = write()
    assert kept.state == OutgoingMail.State.KEPT
    assert not Job.objects.exists()


def test_with_a_mail_server_it_is_sent_with_its_files(settings: Settings) -> None:
    settings.EMAIL_HOST = "mail.example"
    file = Attachment(name="a.pdf", content_type="application/pdf", content=b"%PDF-1.7")
    queued = write(attachments=[file])
    assert queued.state == OutgoingMail.State.QUEUED
    jobs.run_due_jobs(now=NOW)
    queued.refresh_from_db()
    assert queued.state == OutgoingMail.State.SENT
    (sent,) = outbox.outbox
    assert sent.to == ["wren@example.com"]
    assert sent.attachments[0][:2] == ("a.pdf", b"%PDF-1.7")


def test_a_second_run_sends_nothing(settings: Settings) -> None:
    settings.EMAIL_HOST = "mail.example"
    queued = write()
    jobs.run_due_jobs(now=NOW)
    run = jobs.JobRun(job_id=1, attempt=2, arguments={"mail_id": queued.pk}, now=NOW, started_s=0.0)
    send_kept_mail(run)
    assert len(outbox.outbox) == 1


def test_a_server_that_fails_is_tried_again_and_its_words_are_kept(
    settings: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    settings.EMAIL_HOST = "mail.example"
    queued = write()

    def fail(_message: EmailMessage) -> int:
        raise SMTPServerDisconnected("gone away")

    with monkeypatch.context() as patch:
        patch.setattr(EmailMessage, "send", fail)
        jobs.run_due_jobs(now=NOW)
    queued.refresh_from_db()
    assert queued.state == OutgoingMail.State.FAILED
    assert "gone away" in queued.error
    job = Job.objects.get()
    assert job.state == JobState.QUEUED
    jobs.run_due_jobs(now=job.due_at)
    queued.refresh_from_db()
    assert (queued.state, queued.error) == (OutgoingMail.State.SENT, "")


def test_a_line_break_in_a_subject_starts_no_header() -> None:
    assert write(subject="Hello\r\nBcc: other@example.com").subject == (
        "Hello Bcc: other@example.com"
    )
