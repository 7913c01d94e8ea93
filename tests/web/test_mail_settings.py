"""The page of mail settings: where mail goes, and what becomes of a test mail, in plain words."""

import socket
import threading
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries, Settings

from firm.models import AuditEntry, Role, User
from firm.services import mail_test
from tests.cast import make_firm

pytestmark = pytest.mark.django_db
ADDRESS = "/settings/mail/"
SMTP = "django.core.mail.backends.smtp.EmailBackend"
FILES = "django.core.mail.backends.filebased.EmailBackend"


class Post:
    """A mail server of a few lines: it answers by the first word, and keeps what it is told."""

    def __init__(self, answers: Mapping[str, str], greeting: str) -> None:
        self.answers = {
            "EHLO": "250-post.example\r\n250 AUTH PLAIN",
            "AUTH": "235 Welcome",
            "MAIL": "250 Fine",
            "RCPT": "250 Fine",
            "DATA": "354 Go on",
            "QUIT": "221 Bye",
            "RSET": "250 Fine",
            **answers,
        }
        self.greeting = greeting
        self.heard: list[str] = []
        self.socket = socket.create_server(("127.0.0.1", 0))
        self.port: int = self.socket.getsockname()[1]

    def serve_one(self) -> None:
        connection, _ = self.socket.accept()
        with connection, connection.makefile("rwb") as stream:
            if not self.greeting:
                return
            stream.write(self.greeting.encode() + b"\r\n")
            stream.flush()
            is_mail = False
            for raw in stream:
                line = raw.decode().rstrip("\r\n")
                self.heard.append(line)
                if is_mail:
                    is_mail = line != "."
                    answer = "" if is_mail else "250 Taken"
                else:
                    answer = self.answers[line.split(" ")[0].upper()]
                    is_mail = answer.startswith("354")
                if answer:
                    stream.write(answer.encode() + b"\r\n")
                    stream.flush()
                if line.upper() == "QUIT":
                    return


@pytest.fixture
def post(settings: Settings) -> Callable[..., Any]:
    """Return a starter of a mail server that the settings lead to."""

    @contextmanager
    def start(*, greeting: str = "220 post.example", **answers: str) -> Iterator[Post]:
        server = Post(answers, greeting)
        lead_to(settings, server.port)
        thread = threading.Thread(target=server.serve_one)
        thread.start()
        try:
            yield server
        finally:
            thread.join(timeout=10)
            server.socket.close()

    return start


def lead_to(settings: Settings, port: int, host: str = "127.0.0.1") -> None:
    settings.EMAIL_BACKEND = SMTP
    settings.EMAIL_HOST, settings.EMAIL_PORT, settings.EMAIL_USE_TLS = host, port, False


def sent(client: Client, to: str = "wren@example.com") -> str:
    answer = client.post(ADDRESS, {"to": to})
    assert answer.status_code == 200
    return " ".join(answer.content.decode().replace("&#x27;", "'").split())


@pytest.mark.parametrize(
    ("role", "status"),
    [(None, 302), (Role.CREW_LEAD, 403), (Role.OFFICE, 403), (Role.OWNER, 200)],
)
def test_only_the_owner_sees_where_mail_goes(
    as_role: Callable[[Role | None], Client], role: Role | None, status: int
) -> None:
    client = as_role(role)
    assert client.get(ADDRESS).status_code == status
    assert client.post(ADDRESS, {"to": "wren@example.com"}).status_code == status


def test_page_shows_the_settings_and_never_the_password(
    as_owner: Client, settings: Settings, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    lead_to(settings, 2525, "mail.example.com")
    settings.EMAIL_HOST_USER, settings.EMAIL_HOST_PASSWORD = "fences", "hunter-of-gaps"
    settings.EMAIL_USE_TLS = True
    # Session and person.
    with django_assert_num_queries(2):
        page = as_owner.get(ADDRESS).content.decode()
    for words in ("mail.example.com, port 2525", "yes, by STARTTLS", "as fences", "office@"):
        assert words in page, words
    assert 'value="owner@example.com"' in page
    assert "hunter-of-gaps" not in page


def test_mail_that_is_taken_is_told_and_recorded(
    as_owner: Client, owner: User, post: Callable[..., Any], settings: Settings
) -> None:
    make_firm()
    settings.EMAIL_HOST_USER, settings.EMAIL_HOST_PASSWORD = "fences", "hunter-of-gaps"
    with post() as server:
        page = sent(as_owner)
    assert "127.0.0.1 took the mail for wren@example.com." in page
    assert "rcpt TO:<wren@example.com>" in server.heard
    assert "Subject: Test mail from Firm Footing" in server.heard
    assert "hunter-of-gaps" not in page
    entry = AuditEntry.objects.get(action="sent a test mail")
    assert (entry.actor, entry.after["to"]) == (owner, "wren@example.com")


def test_log_in_that_is_refused_is_told_with_the_server_s_words(
    as_owner: Client, post: Callable[..., Any], settings: Settings
) -> None:
    settings.EMAIL_HOST_USER, settings.EMAIL_HOST_PASSWORD = "fences", "hunter-of-gaps"
    with post(AUTH="535 5.7.8 No such user here"):
        page = sent(as_owner)
    assert "127.0.0.1 refused the log-in." in page
    assert "Correct FF_EMAIL_USER and FF_EMAIL_PASSWORD." in page
    assert "535 5.7.8 No such user here" in page
    assert "hunter-of-gaps" not in page


def test_recipient_that_is_refused_is_told(as_owner: Client, post: Callable[..., Any]) -> None:
    with post(RCPT="550 5.1.1 Nobody of that name <here>"):
        page = sent(as_owner)
    assert "127.0.0.1 refused the recipient." in page
    assert "550 5.1.1 Nobody of that name &lt;here&gt;" in page


def test_sender_that_is_refused_is_told(as_owner: Client, post: Callable[..., Any]) -> None:
    with post(MAIL="553 5.7.1 Not yours"):
        page = sent(as_owner)
    assert "as the sender." in page
    assert "FF_EMAIL_FROM" in page


def test_server_without_tls_is_told(
    as_owner: Client, post: Callable[..., Any], settings: Settings
) -> None:
    with post():
        settings.EMAIL_USE_TLS = True
        page = sent(as_owner)
    assert "TLS failed, or 127.0.0.1 does not offer what was asked of it." in page
    assert "FF_EMAIL_TLS=0" in page


def test_server_that_hangs_up_is_told(as_owner: Client, post: Callable[..., Any]) -> None:
    with post(greeting=""):
        page = sent(as_owner)
    assert "closed the connection" in page


def test_mail_that_is_not_taken_for_another_reason_is_told(
    as_owner: Client, post: Callable[..., Any]
) -> None:
    with post(DATA="452 4.3.1 The store is full"):
        page = sent(as_owner)
    assert "127.0.0.1 did not take the mail." in page
    assert "452 4.3.1 The store is full" in page


def test_closed_port_is_told(as_owner: Client, settings: Settings) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port: int = taken.getsockname()[1]
    lead_to(settings, port)
    page = sent(as_owner)
    assert f"127.0.0.1 refused the connection on port {port}." in page


def test_silent_server_is_told_in_time(
    as_owner: Client, settings: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(mail_test, "TIMEOUT_S", 0.2)
    with socket.create_server(("127.0.0.1", 0)) as silent:
        lead_to(settings, silent.getsockname()[1])
        page = sent(as_owner)
    assert "did not answer on port" in page


def test_name_that_is_none_is_told(
    as_owner: Client, settings: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    def unknown(*args: object, **kwargs: object) -> None:
        raise socket.gaierror(-2, "Name or service not known")

    monkeypatch.setattr(socket, "getaddrinfo", unknown)
    lead_to(settings, 587, "mail.nowhere.example")
    page = sent(as_owner)
    assert "There is no server of the name mail.nowhere.example." in page


def test_without_a_server_the_folder_is_named(
    as_owner: Client, settings: Settings, tmp_path: Path
) -> None:
    settings.EMAIL_BACKEND, settings.EMAIL_HOST = FILES, ""
    settings.EMAIL_FILE_PATH = tmp_path / "mail"
    page = sent(as_owner)
    assert f"It was written into the folder {tmp_path / 'mail'} and sent to nobody" in page
    (kept,) = (tmp_path / "mail").iterdir()
    assert "Test mail from Firm Footing" in kept.read_text()


@pytest.mark.parametrize("typed", ["", "nobody", "a@b.example\r\nBcc: c@d.example"])
def test_address_that_is_none_is_named_at_its_field(as_owner: Client, typed: str) -> None:
    answer = as_owner.post(ADDRESS, {"to": typed})
    assert answer.status_code == 422
    assert 'aria-invalid="true"' in answer.content.decode()
    assert not AuditEntry.objects.exists()
