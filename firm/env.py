"""Reads settings from the environment and refuses values that make no sense."""

import os
import secrets
import zoneinfo
from pathlib import Path
from urllib.parse import urlsplit

import dj_database_url
from django.core.exceptions import ImproperlyConfigured

KNOWN_NAMES = frozenset(
    {
        "FF_ALLOWED_HOSTS",
        "FF_BACKUP_DIR",
        "FF_BACKUP_KEEP",
        "FF_DEBUG",
        "FF_EMAIL_FROM",
        "FF_EMAIL_HOST",
        "FF_EMAIL_PASSWORD",
        "FF_EMAIL_PORT",
        "FF_EMAIL_TLS",
        "FF_EMAIL_USER",
        "FF_HTTPS",
        "FF_PUBLIC_URL",
        "FF_SECRET_KEY",
        "FF_TIME_ZONE",
        "FF_TRUST_PROXY",
        "FF_VAR",
    }
)
MIN_SECRET_CHARACTERS = 50


def text(name: str, default: str = "") -> str:
    """Return the value of `name` without surrounding blanks; an empty value is the default."""
    return os.environ.get(name, "").strip() or default


def flag(name: str, *, default: bool) -> bool:
    """Return whether `name` is switched on; only 0 and 1 are understood."""
    value = text(name, "1" if default else "0")
    if value not in {"0", "1"}:
        raise ImproperlyConfigured(f"{name} must be 0 or 1, not {value!r}.")
    return value == "1"


def integer(name: str, *, default: int, lowest: int, highest: int) -> int:
    """Return `name` as a whole number between `lowest` and `highest`."""
    value = text(name, str(default))
    if not value.isascii() or not value.isdecimal() or not lowest <= int(value) <= highest:
        raise ImproperlyConfigured(
            f"{name} must be a whole number from {lowest} to {highest}, not {value!r}."
        )
    return int(value)


def names(name: str, *, default: str) -> list[str]:
    """Return the comma-separated host names in `name`; `*` is refused."""
    found = [part.strip() for part in text(name, default).split(",") if part.strip()]
    for host in found:
        if host == "*" or "/" in host or " " in host:
            raise ImproperlyConfigured(
                f"{name} must list host names such as fences.example.com, not {host!r}."
            )
    return found


def time_zone(name: str, *, default: str) -> str:
    """Return the IANA time zone named by `name`."""
    value = text(name, default)
    try:
        zoneinfo.ZoneInfo(value)
    except (zoneinfo.ZoneInfoNotFoundError, ValueError) as error:
        raise ImproperlyConfigured(
            f"{name} must be a time zone such as America/Chicago, not {value!r}."
        ) from error
    return value


def web_address(name: str, *, default: str) -> str:
    """Return the address customers' links begin with, without a slash at the end."""
    value = text(name, default).rstrip("/")
    parts = urlsplit(value)
    if parts.scheme not in {"http", "https"} or not parts.hostname or parts.path:
        raise ImproperlyConfigured(
            f"{name} must be an address such as https://fences.example.com, not {value!r}."
        )
    return value


def database(name: str) -> dj_database_url.DBConfig | None:
    """Return the PostgreSQL database that `name` points to, or None where it is not set."""
    value = text(name)
    if not value:
        return None
    if urlsplit(value).scheme not in {"postgres", "postgresql"}:
        raise ImproperlyConfigured(
            f"{name} must begin with postgresql://; leave it out to use the built-in SQLite."
        )
    try:
        return dj_database_url.parse(value, conn_max_age=60, conn_health_checks=True)
    except (ValueError, dj_database_url.ParseError) as error:
        raise ImproperlyConfigured(f"{name} is not a database address: {error}") from error


def secret_key(name: str, *, path: Path) -> str:
    """Return the secret key from `name`, or from the file that the first start makes.

    The file is linked into place whole, so that two first starts at once agree on one key.
    """
    value = text(name)
    if not value:
        if not path.exists():
            _make_secret_file(path)
        value = path.read_text(encoding="ascii").strip()
    if len(value) < MIN_SECRET_CHARACTERS:
        raise ImproperlyConfigured(
            f"{name} must have at least {MIN_SECRET_CHARACTERS} characters, not {len(value)}."
        )
    return value


def _make_secret_file(path: Path) -> None:
    draft = path.with_name(f"{path.name}.{os.getpid()}")
    descriptor = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(descriptor, "w", encoding="ascii") as file:
        file.write(secrets.token_urlsafe(64))
    try:
        path.hardlink_to(draft)
    except FileExistsError:
        # Another process was first: its key counts.
        pass
    finally:
        draft.unlink()


def unknown_names() -> list[str]:
    """Return the FF_ variables that no setting reads: most often a misspelt one."""
    return sorted(name for name in os.environ if name.startswith("FF_") and name not in KNOWN_NAMES)
