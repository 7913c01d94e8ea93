"""Headers that keep pages private, on every answer, and addresses nobody means."""

import pytest
from django.test import Client

from firm.models import User

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    ("path", "status"),
    [
        ("/log-in/", 200),
        ("/customers/", 302),
        ("/no-such-page/", 404),
        ("/p/guess/", 404),
        ("/csp-report", 405),
        ("/customers/?q=%00", 400),
        ("/price-book/rates/hours/a%00b/", 400),
    ],
)
def test_every_answer_carries_its_policy(
    client: Client, owner: User, path: str, status: int
) -> None:
    answer = client.get(path)
    assert answer.status_code == status
    headers = answer.headers
    assert "default-src 'self'" in headers["Content-Security-Policy"]
    assert "unsafe" not in headers["Content-Security-Policy"]
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["X-Frame-Options"] == "DENY"
    assert headers["Referrer-Policy"] == "same-origin"
    assert "private" in headers["Cache-Control"]


def test_policy_stands_on_a_failure_too(owner: User, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail() -> None:
        raise RuntimeError("made to fail")

    monkeypatch.setattr("firm.views.mails.mails_for", lambda person: fail())
    client = Client(raise_request_exception=False)
    client.force_login(owner)
    answer = client.get("/mail/")
    assert answer.status_code == 500
    assert "default-src 'self'" in answer.headers["Content-Security-Policy"]
    assert "private" in answer.headers["Cache-Control"]
    assert "made to fail" not in answer.content.decode()


def test_cookies_are_out_of_reach_of_scripts(client: Client, owner: User) -> None:
    client.post("/log-in/", {"username": "owner", "password": "tall gate post"})
    session = client.cookies["sessionid"]
    assert session["httponly"]
    assert session["samesite"] == "Lax"
