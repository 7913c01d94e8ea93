"""Sending one mail right now, to see whether the mail settings work, and saying what happened."""

import datetime as dt
import smtplib
import socket
import ssl
from contextlib import suppress
from dataclasses import dataclass

from django.conf import settings
from django.core.mail import EmailMessage, get_connection

from firm.models import User
from firm.services import audit

# Short: somebody sits and waits.
TIMEOUT_S = 8
SUBJECT = "Test mail from Firm Footing"
BODY = (
    "This mail was sent from the settings of Firm Footing to see whether they work.\n"
    "They do: you are reading it.\n"
)
# The narrower kinds of error stand first: what happened, and how to mend it.
EXPLAINED: tuple[tuple[type[Exception] | tuple[type[Exception], ...], str, str], ...] = (
    (socket.gaierror, "There is no server of the name {host}.", "Correct FF_EMAIL_HOST."),
    (
        ssl.SSLCertVerificationError,
        "TLS failed: the certificate of {host} is not valid for that name.",
        "Set FF_EMAIL_HOST to the very name your mail provider gives.",
    ),
    (
        (ssl.SSLError, smtplib.SMTPNotSupportedError),
        "TLS failed, or {host} does not offer what was asked of it.",
        "The usual port for mail with TLS is 587. A server inside your own network without "
        "TLS needs FF_EMAIL_TLS=0.",
    ),
    (
        smtplib.SMTPAuthenticationError,
        "{host} refused the log-in.",
        "Correct FF_EMAIL_USER and FF_EMAIL_PASSWORD. Many providers want a password made "
        "for programs, not the one you read mail with.",
    ),
    (
        smtplib.SMTPRecipientsRefused,
        "{host} refused the recipient.",
        "Look for a slip in the address. If it is right, the server may send only for "
        "those who log in: set FF_EMAIL_USER and FF_EMAIL_PASSWORD.",
    ),
    (
        smtplib.SMTPSenderRefused,
        "{host} refused {sender} as the sender.",
        "Set FF_EMAIL_FROM to an address that this log-in may send from.",
    ),
    (
        ConnectionRefusedError,
        "{host} refused the connection on port {port}.",
        "Correct FF_EMAIL_HOST and FF_EMAIL_PORT: 587 is usual, 25 inside one's own network.",
    ),
    (
        TimeoutError,
        "{host} did not answer on port {port} within {timeout_s} seconds.",
        "Correct FF_EMAIL_PORT; a firewall, or your internet provider, may also bar the "
        "way out on this port.",
    ),
    (
        smtplib.SMTPServerDisconnected,
        "{host} closed the connection on port {port} without a word that could be read.",
        "Correct FF_EMAIL_PORT: 465 speaks another kind of TLS than this app; 587 is usual.",
    ),
)


@dataclass(frozen=True, kw_only=True, slots=True)
class MailTest:
    """How a test mail fared: what happened, how to mend it, and the server's own words."""

    is_sent: bool
    happened: str
    mend: str = ""
    server_words: str = ""


def send_test_mail(*, to: str, actor: User, now: dt.datetime) -> MailTest:
    """Send a mail at once, past the queue; record that somebody tried, and how it ended."""
    outcome = _send(to)
    audit.record(
        actor=actor,
        action="sent a test mail",
        target=actor,
        after={"to": to, "happened": outcome.happened},
        at=now,
    )
    return outcome


def _send(to: str) -> MailTest:
    connection = get_connection(timeout=TIMEOUT_S) if settings.EMAIL_HOST else get_connection()
    message = EmailMessage(subject=SUBJECT, body=BODY, to=[to], connection=connection)
    try:
        message.send()
    except (smtplib.SMTPException, OSError) as error:
        # Django leaves the line open where a log-in or TLS fails.
        with suppress(smtplib.SMTPException, OSError):
            connection.close()
        return _explained(error)
    if not settings.EMAIL_HOST:
        return MailTest(
            is_sent=False,
            happened=f"It was written into the folder {settings.EMAIL_FILE_PATH} and sent to "
            "nobody: no mail server is set.",
            mend="Set FF_EMAIL_HOST, and what else README lists under Settings, and start again.",
        )
    return MailTest(
        is_sent=True,
        happened=f"{settings.EMAIL_HOST} took the mail for {to}.",
        mend="If it does not come within some minutes, look into the folder for junk mail, and ask "
        f"your mail provider whether {settings.DEFAULT_FROM_EMAIL} may send through this server.",
    )


def _explained(error: smtplib.SMTPException | OSError) -> MailTest:
    happened, mend = _words_for(error)
    return MailTest(is_sent=False, happened=happened, mend=mend, server_words=_server_words(error))


def _words_for(error: Exception) -> tuple[str, str]:
    """Return what happened and how to mend it."""
    known = {
        "host": settings.EMAIL_HOST,
        "port": settings.EMAIL_PORT,
        "sender": settings.DEFAULT_FROM_EMAIL,
        "timeout_s": TIMEOUT_S,
    }
    if isinstance(error.__context__, TimeoutError):
        # smtplib tells of a server that stays silent as of one that hung up.
        error = error.__context__
    for kinds, happened, mend in EXPLAINED:
        if isinstance(error, kinds):
            return happened.format(**known), mend
    return (
        f"{settings.EMAIL_HOST} did not take the mail.",
        "What the server said stands below; your mail provider can tell what it means.",
    )


def _server_words(error: Exception) -> str:
    """Return what the server, or this machine, said itself."""
    if isinstance(error, smtplib.SMTPRecipientsRefused):
        code, words = next(iter(error.recipients.values()))
        return f"{code} {_text(words)}"
    if isinstance(error, smtplib.SMTPResponseException):
        return f"{error.smtp_code} {_text(error.smtp_error)}"
    return str(error)


def _text(words: bytes | str) -> str:
    return words.decode("utf-8", "replace") if isinstance(words, bytes) else words
