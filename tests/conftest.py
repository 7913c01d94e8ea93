"""What every test runs with: quick passwords, files of its own, jobs in its own process."""

import gc
from pathlib import Path

import pytest
from hypothesis import settings as hypothesis_settings
from pytest_django import Settings

# How long an example takes on a busy machine says nothing of whether it is right.
hypothesis_settings.register_profile("untimed", deadline=None)
hypothesis_settings.load_profile("untimed")


def pytest_sessionstart() -> None:
    # Python looks for cycles after every 700 new objects; a page makes many more, and a fifth of
    # the tests' time went into looking. What is imported by now stays to the end anyway.
    gc.collect()
    gc.freeze()
    gc.set_threshold(20_000, 50, 100)


@pytest.fixture(autouse=True)
def _own_surroundings(settings: Settings, tmp_path: Path) -> None:
    # Argon2 is slow on purpose; what it protects is not under test.
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    settings.MEDIA_ROOT = tmp_path / "media"
    settings.EMAIL_FILE_PATH = tmp_path / "mail"
    settings.FF_JOBS_INLINE = True
