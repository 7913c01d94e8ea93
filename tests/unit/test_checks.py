"""System checks: each speaks up for the fault it is there for, and is silent otherwise."""

from pathlib import Path

import pytest
from pytest_django import Settings

from firm import checks


@pytest.fixture(autouse=True)
def _sound_settings(settings: Settings) -> None:
    settings.ALLOWED_HOSTS = ["fences.example.com", "[::1]"]
    settings.FF_PUBLIC_URL = "https://fences.example.com:8443"
    settings.FF_HTTPS = True
    settings.EMAIL_HOST = "mail.example.com"


def test_sound_settings_pass_every_check() -> None:
    assert checks.var_is_writable(None) == []
    assert checks.public_address_is_answered(None) == []
    assert checks.public_address_matches_https(None) == []
    assert checks.mail_leaves_the_machine(None) == []


def test_missing_data_folder_is_an_error(settings: Settings, tmp_path: Path) -> None:
    settings.FF_VAR = tmp_path / "gone"
    assert [message.id for message in checks.var_is_writable(None)] == ["firm.E001"]


def test_public_address_that_is_not_answered_is_an_error(settings: Settings) -> None:
    settings.FF_PUBLIC_URL = "https://elsewhere.example.com"
    (message,) = checks.public_address_is_answered(None)
    assert message.id == "firm.E002"
    assert "elsewhere.example.com" in str(message.hint)


def test_public_address_in_brackets_is_answered(settings: Settings) -> None:
    settings.FF_PUBLIC_URL = "https://[::1]:8443"
    assert checks.public_address_is_answered(None) == []


def test_plain_address_with_https_on_is_an_error(settings: Settings) -> None:
    settings.FF_PUBLIC_URL = "http://fences.example.com"
    assert [message.id for message in checks.public_address_matches_https(None)] == ["firm.E003"]


def test_variable_that_nothing_reads_is_a_warning(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("FF_TIMEZONE", "America/Chicago")
    assert [message.id for message in checks.every_variable_is_read(None)] == ["firm.W001"]


def test_mail_that_stays_is_a_warning_before_deployment(settings: Settings) -> None:
    settings.EMAIL_HOST = ""
    assert [message.id for message in checks.mail_leaves_the_machine(None)] == ["firm.W002"]
