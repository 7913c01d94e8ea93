"""The form of a backup: which members it has, what its manifest says, how rows are written.

A backup is one .tar.gz. First a member `tables/<app>.<model>.jsonl` for every table, a row to a
line, then a member `files/<path>` for every file that was uploaded or made, then `manifest.json`
with the size and the SHA-256 of all of these, last `manifest.sha256` with its own.
"""

import base64
import datetime as dt
import json
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.apps import apps
from django.contrib.sessions.models import Session
from django.core.exceptions import ValidationError
from django.db import connection, models
from django.db.migrations.recorder import MigrationRecorder

from firm.errors import Refusal

FORMAT = "firm-footing-backup"
VERSION = 1
MANIFEST, MANIFEST_SUM = "manifest.json", "manifest.sha256"
TABLES, FILES = "tables/", "files/"
ENDING = ".tar.gz"
# Log-ins end with a restore: the people in the restored tables may be others.
LEFT_OUT = frozenset({Session._meta.label_lower})

Model = type[models.Model]


@dataclass(frozen=True, kw_only=True, slots=True)
class Member:
    """A member of the archive as the manifest knows it."""

    name: str
    size_bytes: int
    sha256: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Table:
    """A table in the archive: its columns in the order of each row's values."""

    name: str
    columns: list[str]
    rows: int


@dataclass(frozen=True, kw_only=True, slots=True)
class Manifest:
    """What an archive says of itself; `missing_files` had a row and no file."""

    made_at: str
    database: str
    migrations: list[str]
    tables: list[Table]
    members: list[Member]
    missing_files: list[str]

    def written(self) -> bytes:
        """Return the manifest as it stands in the archive."""
        values = {"format": FORMAT, "version": VERSION, **asdict(self)}
        return json.dumps(values, indent=1, ensure_ascii=False).encode() + b"\n"


def read_manifest(content: bytes) -> Manifest:
    """Return what a manifest says.

    Raises:
        Refusal: it is none of ours, of a later version, or lacks something.
    """
    try:
        values = json.loads(content)
        kind, version = values["format"], values["version"]
    except (ValueError, RecursionError, KeyError, TypeError) as error:
        raise Refusal("Its manifest can't be read.") from error
    if kind != FORMAT:
        raise Refusal("It is no backup of Firm Footing.")
    if version != VERSION:
        raise Refusal(
            f"It is of version {version}; this app reads version {VERSION}. Restore it with the "
            "version of the app that made it."
        )
    try:
        return Manifest(
            made_at=dt.datetime.fromisoformat(values["made_at"]).isoformat(),
            database=str(values["database"]),
            migrations=[str(name) for name in values["migrations"]],
            tables=[Table(**table) for table in values["tables"]],
            members=[Member(**member) for member in values["members"]],
            missing_files=[str(name) for name in values["missing_files"]],
        )
    except (ValueError, KeyError, TypeError) as error:
        raise Refusal("Its manifest lacks something.") from error


def kept_models() -> list[Model]:
    """Return the models whose tables a backup holds: all but the log-ins'."""
    found = [
        model
        for model in apps.get_models(include_auto_created=True)
        if model._meta.managed and model._meta.label_lower not in LEFT_OUT
    ]
    return sorted(found, key=lambda model: model._meta.label_lower)


def member_of(model: Model) -> str:
    """Return the name of the member that holds a model's rows."""
    return f"{TABLES}{model._meta.label_lower}.jsonl"


def columns_of(model: Model) -> list[str]:
    """Return the names of a model's columns, in the order in which rows are written."""
    return [field.attname for field in model._meta.local_concrete_fields]


def applied_migrations() -> list[str]:
    """Return the migrations the database has been through, as app.name."""
    return sorted(
        f"{app}.{name}" for app, name in MigrationRecorder(connection).applied_migrations()
    )


def written_row(values: Sequence[Any]) -> bytes:
    """Return a row's values as one line of JSON."""
    plain = [_plain(value) for value in values]
    return json.dumps(plain, ensure_ascii=False, separators=(",", ":")).encode() + b"\n"


def _plain(value: Any) -> Any:
    """Return a value as JSON can hold it; the model's field says how to read it back."""
    match value:
        case dt.datetime():
            return value.astimezone(dt.UTC).isoformat()
        case dt.date() | dt.time():
            return value.isoformat()
        case dt.timedelta() | Decimal() | UUID():
            return str(value)
        case bytes() | bytearray() | memoryview():
            return base64.b64encode(bytes(value)).decode("ascii")
        case float() if not math.isfinite(value):
            return str(value)
        case _:
            return value


def read_row(model: Model, line: bytes) -> models.Model:
    """Return the row that a line holds.

    Raises:
        Refusal: the line does not fit the table.
    """
    fields = model._meta.local_concrete_fields
    try:
        plain = json.loads(line)
        if not isinstance(plain, list) or len(plain) != len(fields):
            raise Refusal(f"A row of {model._meta.label_lower} has the wrong number of values.")
        values = {
            field.attname: field.to_python(value)
            for field, value in zip(fields, plain, strict=True)
        }
    except (ValueError, TypeError, ArithmeticError, RecursionError, ValidationError) as error:
        raise Refusal(f"A row of {model._meta.label_lower} can't be read.") from error
    return model(**values)


def files_named(model: Model, row: Mapping[str, Any]) -> Iterator[str]:
    """Return the files that a row speaks of."""
    for field in model._meta.local_concrete_fields:
        if isinstance(field, models.FileField) and row[field.attname]:
            yield str(row[field.attname])
