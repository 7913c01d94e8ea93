"""Keeps every mail as a row, and sends it where a mail server is set."""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from smtplib import SMTPException
from typing import Any
from urllib.parse import urlsplit

from django.conf import settings
from django.core.files.base import ContentFile
from django.core.mail import EmailMessage
from django.db import transaction

from firm.models import MailAttachment, OutgoingMail
from firm.services import jobs

SEND_JOB = "mail.send"
SUBJECT_MAX_CHARS = 200


@dataclass(frozen=True, kw_only=True, slots=True)
class Attachment:
    """A file to go with a mail."""

    name: str
    content_type: str
    content: bytes


@transaction.atomic
def queue_mail(
    *,
    to: str,
    subject: str,
    body: str,
    now: dt.datetime,
    attachments: Sequence[Attachment] = (),
    kind: str = OutgoingMail.Kind.OTHER,
    about: int | None = None,
    owner_only: bool = False,
) -> OutgoingMail:
    """Keep a mail and have it sent after this transaction; with no mail server only keep it."""
    is_sendable = bool(settings.EMAIL_HOST)
    mail = OutgoingMail.objects.create(
        to=to,
        kind=kind,
        about=about,
        # A line break in a subject would begin another header.
        subject=" ".join(subject.split())[:SUBJECT_MAX_CHARS],
        body=body,
        state=OutgoingMail.State.QUEUED if is_sendable else OutgoingMail.State.KEPT,
        owner_only=owner_only,
        created_at=now,
    )
    for attachment in attachments:
        row = MailAttachment(mail=mail, name=attachment.name, content_type=attachment.content_type)
        row.file.save(attachment.name, ContentFile(attachment.content), save=True)
    if is_sendable:
        jobs.enqueue(
            kind=SEND_JOB,
            arguments={"mail_id": mail.pk},
            now=now,
            dedup_key=f"{SEND_JOB}:{mail.pk}",
        )
    return mail


def send_kept_mail(run: jobs.JobRun) -> Mapping[str, Any] | None:
    """Send one mail; once it is sent, a second run does nothing.

    A worker that dies between sending and noting it sends again: the same Message-ID lets
    the receiver show one mail.
    """
    mail = OutgoingMail.objects.filter(pk=run.arguments["mail_id"]).first()
    if mail is None or mail.state == OutgoingMail.State.SENT:
        return None
    try:
        _message(mail).send()
    except (SMTPException, OSError) as error:
        OutgoingMail.objects.filter(pk=mail.pk).update(
            state=OutgoingMail.State.FAILED, error=f"{type(error).__name__}: {error}"
        )
        raise
    OutgoingMail.objects.filter(pk=mail.pk).update(
        state=OutgoingMail.State.SENT, error="", sent_at=run.later()
    )
    return None


def _message(mail: OutgoingMail) -> EmailMessage:
    host = urlsplit(settings.FF_PUBLIC_URL).hostname
    message = EmailMessage(
        subject=mail.subject,
        body=mail.body,
        to=[mail.to],
        headers={"Message-ID": f"<mail-{mail.pk}@{host}>"},
    )
    for attachment in mail.attachments.all():
        with attachment.file.open("rb") as file:
            message.attach(attachment.name, file.read(), attachment.content_type)
    return message
