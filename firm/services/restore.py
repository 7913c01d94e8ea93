"""Going back to a backup: tables in one transaction, files by a rename after it."""

import datetime as dt
import fcntl
import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from uuid import uuid4

from django.conf import settings
from django.contrib.contenttypes.models import ContentType
from django.core.management.color import no_style
from django.db import DatabaseError, OperationalError, connection, transaction

from firm.errors import Refusal
from firm.models import AuditEntry, FirmProfile
from firm.services.backup import make_backup
from firm.services.backup_format import (
    ENDING,
    Manifest,
    Model,
    kept_models,
    member_of,
    read_row,
)
from firm.services.backup_reading import lines_of, unpack_checked

ROWS_AT_ONCE = 200
FOLDER, LOCK, FILES_FOLDER, REPLACED = ".restore-", "lock", "files", "replaced"
RESTORED = "restored a backup"
OUR_APPS = frozenset({"firm", "estimating", "scheduling"})


@dataclass(frozen=True, kw_only=True, slots=True)
class Restored:
    """What a restore brought back; `kept_as` holds what stood here before."""

    manifest: Manifest
    kept_as: Path | None


def restore_backup(*, archive: Path, replace: bool, now: dt.datetime) -> Restored:
    """Bring back a backup: all of it, or nothing where it does not hold.

    The transaction's commit decides. A process killed before it leaves everything as it was; one
    killed after it leaves the files to `finish_interrupted_restores`. What stood here before is
    first kept as a backup of its own.

    Raises:
        Refusal: the archive does not hold, or there is something here and `replace` is not said.
    """
    finish_interrupted_restores()
    standing = _what_stands_here()
    if standing and not replace:
        raise Refusal(f"There is {standing} here already, which a restore replaces.")
    folder = Path(settings.MEDIA_ROOT).parent / f"{FOLDER}{uuid4().hex}"
    folder.mkdir(mode=0o700, parents=True)
    with _held(folder):
        try:
            (folder / FILES_FOLDER).mkdir(mode=0o700)
            manifest = unpack_checked(archive, folder)
            kept_as = _keep_what_stands_here(now=now) if standing else None
            # The files must be on the disk before the rows that speak of them.
            os.sync()
            _load_tables(folder, archive=archive, manifest=manifest, now=now)
        except BaseException:
            # Asked, not assumed: a lost connection does not tell whether the commit was done.
            with suppress(DatabaseError):
                _settle(folder)
            raise
        _settle(folder)
    ContentType.objects.clear_cache()
    return Restored(manifest=manifest, kept_as=kept_as)


def finish_interrupted_restores() -> int:
    """Finish, or clear away, what a killed restore left; return how many there were."""
    count = 0
    for folder in Path(settings.MEDIA_ROOT).parent.glob(f"{FOLDER}*"):
        with suppress(BlockingIOError), _held(folder):
            _settle(folder)
            count += 1
    return count


def _what_stands_here() -> str:
    firm = FirmProfile.objects.first()
    if firm is not None:
        return f"the firm {firm.name}"
    ours = (model for model in kept_models() if model._meta.app_label in OUR_APPS)
    if any(model._base_manager.exists() for model in ours):
        return "something in the database"
    files = Path(settings.MEDIA_ROOT).rglob("*")
    return "a file of another firm" if any(path.is_file() for path in files) else ""


def _keep_what_stands_here(*, now: dt.datetime) -> Path:
    folder = settings.FF_BACKUP_DIR
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    name = f"before-restore-{now.astimezone(dt.UTC):%Y%m%dT%H%M%S%fZ}{ENDING}"
    return make_backup(target=folder / name, now=now).path


def _load_tables(folder: Path, *, archive: Path, manifest: Manifest, now: dt.datetime) -> None:
    try:
        with transaction.atomic(durable=True):
            _empty_tables()
            for model in kept_models():
                _load_table(model, folder / member_of(model))
            connection.check_constraints()
            with connection.cursor() as cursor:
                for statement in connection.ops.sequence_reset_sql(no_style(), kept_models()):
                    cursor.execute(statement)
            AuditEntry.objects.create(
                actor_name="manage.py restore",
                action=RESTORED,
                target_type="firm.backup",
                target_id=_id_of(folder),
                target_label=archive.name[:200],
                after={"made_at": manifest.made_at, "database": manifest.database},
                at=now,
            )
    except OperationalError as error:
        raise Refusal(
            "The database is in use. Stop the app and its worker, then try again."
        ) from error
    except DatabaseError as error:
        raise Refusal(f"The database refuses what is in it: {error}") from error


def _empty_tables() -> None:
    """Empty every table, log-ins' too; TRUNCATE passes the triggers that guard single rows."""
    tables = connection.introspection.django_table_names(only_existing=True)
    kept = [name for name in tables if name != "django_migrations"]
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute("SET LOCAL lock_timeout = '15s'")
        for statement in connection.ops.sql_flush(no_style(), kept, reset_sequences=True):
            cursor.execute(statement)


def _load_table(model: Model, path: Path) -> None:
    rows = (read_row(model, line) for line in lines_of(path))
    while batch := list(islice(rows, ROWS_AT_ONCE)):
        model._base_manager.bulk_create(batch)


@contextmanager
def _held(folder: Path) -> Iterator[None]:
    """Hold a restore's folder; BlockingIOError says that another process does."""
    with (folder / LOCK).open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        yield


def _id_of(folder: Path) -> str:
    return folder.name.removeprefix(FOLDER)


def _settle(folder: Path) -> None:
    """Give the files their place where the tables were committed, and clear the folder away."""
    if AuditEntry.objects.filter(action=RESTORED, target_id=_id_of(folder)).exists():
        files, media = folder / FILES_FOLDER, Path(settings.MEDIA_ROOT)
        if files.exists():
            if media.exists():
                media.rename(folder / f"{REPLACED}-{uuid4().hex}")
            files.rename(media)
        _set_demo_log_ins_aside()
    shutil.rmtree(folder)


def _set_demo_log_ins_aside() -> None:
    """The people of the demo that was here may be gone: the start must not print their log-ins."""
    log_ins = settings.FF_VAR / "demo-log-ins.txt"
    if log_ins.exists():
        log_ins.rename(settings.FF_VAR / "demo-log-ins.before-restore.txt")
