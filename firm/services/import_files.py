"""Keeps an uploaded file between its preview and its confirmation, for its uploader alone."""

import datetime as dt
import secrets

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage

FOLDER = "imports"
KEPT_FOR = dt.timedelta(days=1)


def keep_import_file(*, content: bytes, at: dt.datetime) -> str:
    """Keep a file and return its key; files forgotten a day ago are thrown away."""
    _throw_away_old(at)
    key = secrets.token_urlsafe(24)
    default_storage.save(_path(key), ContentFile(content))
    return key


def import_file(key: str) -> bytes | None:
    """Return the file kept under a key, if it is still there."""
    if not key or not default_storage.exists(_path(key)):
        return None
    with default_storage.open(_path(key), "rb") as kept:
        content: bytes = kept.read()
    return content


def throw_away_import_file(key: str) -> None:
    """Delete the file kept under a key."""
    if key:
        default_storage.delete(_path(key))


def _path(key: str) -> str:
    return f"{FOLDER}/{key}.csv"


def _throw_away_old(at: dt.datetime) -> None:
    if not default_storage.exists(FOLDER):
        return
    for name in default_storage.listdir(FOLDER)[1]:
        path = f"{FOLDER}/{name}"
        if at - default_storage.get_modified_time(path) > KEPT_FOR:
            default_storage.delete(path)
