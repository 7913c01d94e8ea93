"""Making a backup: everything the firm has written, uploaded or had made, in one file."""

import datetime as dt
import gzip
import hashlib
import io
import os
import shutil
import tarfile
import tempfile
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Any, cast

from django.conf import settings
from django.db import connection, transaction

from firm.errors import Refusal
from firm.models import User
from firm.selectors.backups import NAME_PATTERN, backup_files
from firm.services import audit, jobs
from firm.services.backup_format import (
    ENDING,
    FILES,
    MANIFEST,
    MANIFEST_SUM,
    TABLES,
    Manifest,
    Member,
    Model,
    Table,
    applied_migrations,
    columns_of,
    files_named,
    kept_models,
    written_row,
)

BACKUP_JOB = "backup.make"
ROWS_AT_ONCE = 1000
# Photos don't pack; a higher level only takes longer.
GZIP_LEVEL = 3
# What a killed run leaves behind is cleared away by a later one.
LEFTOVERS_STAY = dt.timedelta(days=1)

Report = Callable[[int], None]


@dataclass(frozen=True, kw_only=True, slots=True)
class BackupMade:
    """A finished backup."""

    path: Path
    size_bytes: int
    tables: int
    rows: int
    files: int
    missing_files: list[str]


def place_of(to: Path | None, *, now: dt.datetime) -> Path:
    """Return the file to write: a name with the time in the usual folder or the one given.

    Raises:
        Refusal: `to` is neither a folder nor a name that ends in .tar.gz.
    """
    name = f"firm-footing-{now.astimezone(dt.UTC):%Y%m%dT%H%M%SZ}{ENDING}"
    if to is None:
        settings.FF_BACKUP_DIR.mkdir(mode=0o700, parents=True, exist_ok=True)
        return Path(settings.FF_BACKUP_DIR / name)
    if to.is_dir():
        return to / name
    if not to.name.endswith(ENDING) or not to.parent.is_dir():
        raise Refusal(f"{to} is no folder. Name one, or a file in one that ends in {ENDING}.")
    return to


def make_backup(*, target: Path, now: dt.datetime, report: Report | None = None) -> BackupMade:
    """Write a backup; it gets its name when it is whole and safely on the disk.

    The rows are read in one transaction, as they stand at one moment, while others go on writing.
    Files are read after it: none that a row speaks of is ever changed.

    Raises:
        Refusal: there is a file of this name.
    """
    if target.exists():
        raise Refusal(f"{target} is there already; nothing is overwritten.")
    _clear_leftovers(target.parent, now=now)
    part = target.with_name(f"{target.name}.part")
    with tempfile.TemporaryDirectory(prefix=".backup-", dir=target.parent) as folder:
        writer = _Writer(now=now, tables_in=Path(folder))
        with _one_snapshot():
            writer.dump_tables()
        if report:
            report(10)
        try:
            descriptor = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
            with os.fdopen(descriptor, "wb") as raw:
                manifest = writer.write_archive(raw, report)
                raw.flush()
                os.fsync(raw.fileno())
            part.rename(target)
        finally:
            part.unlink(missing_ok=True)
    _sync_folder(target.parent)
    return BackupMade(
        path=target,
        size_bytes=target.stat().st_size,
        tables=len(manifest.tables),
        rows=sum(table.rows for table in manifest.tables),
        files=len(manifest.members) - len(manifest.tables),
        missing_files=manifest.missing_files,
    )


def prune_backups(*, keep: int) -> list[Path]:
    """Delete all but the newest backups in the usual folder; return those deleted."""
    old = [backup.path for backup in backup_files()[keep:]]
    for path in old:
        path.unlink(missing_ok=True)
    return old


def ask_for_backup(*, actor: User | None, now: dt.datetime) -> bool:
    """Have a worker make a backup; return False where one is on its way already."""
    with transaction.atomic():
        if jobs.is_open(kind=BACKUP_JOB):
            return False
        job = jobs.enqueue(kind=BACKUP_JOB, arguments={}, now=now)
        if actor is not None:
            audit.record(actor=actor, action="asked for a backup", target=job, at=now)
    return True


def carry_out_backup(run: jobs.JobRun) -> Mapping[str, Any]:
    """Make a backup in the usual folder and delete what is older than those to be kept."""
    made = make_backup(target=place_of(None, now=run.later()), now=run.later(), report=run.report)
    prune_backups(keep=settings.FF_BACKUP_KEEP)
    return {"name": made.path.name, "rows": made.rows, "missing_files": made.missing_files}


@contextmanager
def _one_snapshot() -> Iterator[None]:
    """Let all reads see the database as it stands at the first of them."""
    if connection.vendor == "postgresql":
        with transaction.atomic(durable=True):
            with connection.cursor() as cursor:
                cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
            yield
        return
    connection.ensure_connection()
    wrapper = cast(Any, connection)
    usual = wrapper.transaction_mode
    # IMMEDIATE would keep all writers waiting; a reader alone holds nobody up.
    wrapper.transaction_mode = "DEFERRED"
    try:
        with transaction.atomic():
            yield
    finally:
        wrapper.transaction_mode = usual


class _Writer:
    """Collects the tables, then writes them and the files, keeping what the manifest says."""

    def __init__(self, *, now: dt.datetime, tables_in: Path) -> None:
        self.now = now
        self.folder = tables_in
        self.tables: list[Table] = []
        self.members: list[Member] = []
        self.named: set[str] = set()
        self.migrations: list[str] = []

    def dump_tables(self) -> None:
        self.migrations = applied_migrations()
        for model in kept_models():
            self.tables.append(self._dump_table(model))

    def _dump_table(self, model: Model) -> Table:
        columns, count = columns_of(model), 0
        rows = model._base_manager.order_by("pk").values_list(*columns)
        with (self.folder / model._meta.label_lower).open("wb") as out:
            for row in rows.iterator(chunk_size=ROWS_AT_ONCE):
                out.write(written_row(row))
                self.named.update(files_named(model, dict(zip(columns, row, strict=True))))
                count += 1
        return Table(name=model._meta.label_lower, columns=columns, rows=count)

    def write_archive(self, raw: IO[bytes], report: Report | None) -> Manifest:
        with (
            gzip.GzipFile(fileobj=raw, mode="wb", compresslevel=GZIP_LEVEL, filename="") as packed,
            tarfile.open(fileobj=packed, mode="w|", format=tarfile.PAX_FORMAT) as tar,
        ):
            for table in self.tables:
                path = self.folder / table.name
                self._add(tar, f"{TABLES}{table.name}.jsonl", path.read_bytes())
            self._add_files(tar, report)
            manifest = self._manifest()
            content = manifest.written()
            self._put(tar, MANIFEST, content)
            digest = hashlib.sha256(content).hexdigest()
            self._put(tar, MANIFEST_SUM, f"{digest}\n".encode())
        return manifest

    def _add_files(self, tar: tarfile.TarFile, report: Report | None) -> None:
        root = Path(settings.MEDIA_ROOT)
        paths = sorted(path for path in root.rglob("*") if path.is_file())
        for number, path in enumerate(paths):
            # Gone since the listing: what was replaced is no part of what will be restored.
            with suppress(FileNotFoundError):
                self._add(tar, FILES + path.relative_to(root).as_posix(), path.read_bytes())
            if report and number % 50 == 0:
                report(10 + 85 * number // len(paths))

    def _add(self, tar: tarfile.TarFile, name: str, content: bytes) -> None:
        self._put(tar, name, content)
        digest = hashlib.sha256(content).hexdigest()
        self.members.append(Member(name=name, size_bytes=len(content), sha256=digest))

    def _put(self, tar: tarfile.TarFile, name: str, content: bytes) -> None:
        member = tarfile.TarInfo(name)
        member.size, member.mode, member.mtime = len(content), 0o600, int(self.now.timestamp())
        tar.addfile(member, io.BytesIO(content))

    def _manifest(self) -> Manifest:
        kept = {member.name for member in self.members}
        return Manifest(
            made_at=self.now.isoformat(),
            database=connection.vendor,
            migrations=self.migrations,
            tables=self.tables,
            members=self.members,
            missing_files=sorted(name for name in self.named if FILES + name not in kept),
        )


def _clear_leftovers(folder: Path, *, now: dt.datetime) -> None:
    for path in [*folder.glob(f"*{ENDING}.part"), *folder.glob(".backup-*")]:
        with suppress(FileNotFoundError):
            age_s = now.timestamp() - path.stat().st_mtime
            if age_s < LEFTOVERS_STAY.total_seconds():
                continue
            if path.is_dir():
                shutil.rmtree(path, ignore_errors=True)
            elif NAME_PATTERN.match(path.name):
                path.unlink()


def _sync_folder(folder: Path) -> None:
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
