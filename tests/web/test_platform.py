"""The addresses for machines, and the headers every answer carries."""

import logging

import pytest
from django.test import Client


@pytest.mark.django_db
def test_healthy_app_says_so_to_anyone(client: Client) -> None:
    answer = client.get("/healthz")
    assert (answer.status_code, answer.content) == (200, b"well\n")


def test_policy_is_on_every_answer_even_one_without_a_page(client: Client) -> None:
    policy = client.get("/csp-report").headers["Content-Security-Policy"]

    assert "default-src 'self'" in policy
    assert "object-src 'none'" in policy
    assert "frame-ancestors 'none'" in policy
    assert "report-uri /csp-report" in policy
    # Nothing may let inline code or another host in.
    assert "unsafe" not in policy
    assert "http" not in policy
    assert "*" not in policy


def test_answer_may_not_be_framed_guessed_at_or_named_to_other_sites(client: Client) -> None:
    headers = client.get("/csp-report").headers
    assert headers["X-Frame-Options"] == "DENY"
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Referrer-Policy"] == "same-origin"


def test_policy_report_is_logged_on_one_line(
    client: Client, caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.WARNING, logger="firm.csp"):
        answer = client.post(
            "/csp-report",
            '{"csp-report": {"blocked-uri":\n "inline\\nINFO all is well"}}',
            content_type="application/csp-report",
        )

    assert answer.status_code == 204
    (record,) = caplog.records
    assert "\n" not in record.getMessage()
    assert "inline" in record.getMessage()


@pytest.mark.parametrize(
    "body",
    ["", "not JSON", '{"cut": "' + "x" * 9000 + '"}', "[" * 8000],
    ids=["empty", "words", "too long", "too deep"],
)
def test_report_that_is_no_report_is_refused(
    client: Client, body: str, caplog: pytest.LogCaptureFixture
) -> None:
    answer = client.post("/csp-report", body, content_type="application/csp-report")
    assert answer.status_code == 400
    assert not [record for record in caplog.records if record.name == "firm.csp"]


def test_report_by_get_is_refused(client: Client) -> None:
    assert client.get("/csp-report").status_code == 405
