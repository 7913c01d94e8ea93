"""Looking a backup over before it may touch anything: unpacked into a folder of its own."""

import gzip
import hashlib
import shutil
import tarfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

from firm.errors import Refusal
from firm.services.backup_format import (
    FILES,
    MANIFEST,
    MANIFEST_SUM,
    TABLES,
    Manifest,
    Member,
    applied_migrations,
    columns_of,
    kept_models,
    member_of,
    read_manifest,
    read_row,
)

CHUNK_BYTES = 1024 * 1024
MOST_MEMBERS = 1_000_000
MOST_MANIFEST_BYTES = 256 * 1024 * 1024
MOST_ROW_BYTES = 64 * 1024 * 1024
LONGEST_NAME = 1000
# Room that must remain on the disk while an archive is unpacked.
KEPT_FREE_BYTES = 50 * 1024 * 1024
DAMAGED = "It is damaged or cut short: it does not unpack to its end."


def unpack_checked(archive: Path, folder: Path) -> Manifest:
    """Unpack a backup into an empty folder and return its manifest once all of it holds.

    Checked are: every name and kind of member, every size and SHA-256, that nothing is missing and
    nothing added, the format's version, the migrations, and that every row fits its table.

    Raises:
        Refusal: one of these does not hold; only `folder` was written to.
    """
    with _as_refusals():
        unpacked = _unpack(archive, folder)
    manifest = read_manifest(_sealed_manifest(unpacked, folder))
    _compare_members(unpacked, manifest)
    _compare_migrations(manifest)
    _check_tables(manifest, folder)
    return manifest


@contextmanager
def _as_refusals() -> Iterator[None]:
    """Turn what unpacking meets into sentences."""
    try:
        yield
    except (EOFError, zlib.error, gzip.BadGzipFile, tarfile.TarError, ValueError) as error:
        raise Refusal(DAMAGED) from error
    except OSError as error:
        raise Refusal(f"It can't be read or unpacked: {error.strerror or error}.") from error


def _unpack(archive: Path, folder: Path) -> list[Member]:
    found: dict[str, Member] = {}
    free_bytes = shutil.disk_usage(folder).free - KEPT_FREE_BYTES
    with archive.open("rb") as raw, gzip.GzipFile(fileobj=raw, mode="rb") as packed:
        with tarfile.open(fileobj=packed, mode="r|") as tar:
            for entry in tar:
                _check_entry(entry, found)
                free_bytes -= entry.size
                if free_bytes < 0 or len(found) >= MOST_MEMBERS:
                    raise Refusal("It unpacks to more than there is room for on this disk.")
                content = tar.extractfile(entry)
                if content is None:
                    raise Refusal(f"{_shown(entry.name)} is no file.")
                found[entry.name] = _write(content, entry, folder)
        # What follows the end must be the filling of the last block, and the check sum be right.
        while filling := packed.read(CHUNK_BYTES):
            if filling.strip(b"\0"):
                raise Refusal("After its end stands something that does not belong there.")
    return list(found.values())


def _check_entry(entry: tarfile.TarInfo, found: dict[str, Member]) -> None:
    name = entry.name
    if entry.type not in {tarfile.REGTYPE, tarfile.AREGTYPE} or entry.issparse():
        raise Refusal(f"{_shown(name)} is a link or something else that is no plain file.")
    if name in found:
        raise Refusal(f"{_shown(name)} is in it twice.")
    if name in {MANIFEST, MANIFEST_SUM}:
        if entry.size > MOST_MANIFEST_BYTES:
            raise Refusal("Its manifest is far too large.")
        return
    if not name.startswith((TABLES, FILES)) or not _is_plain(name):
        raise Refusal(f"{_shown(name)} has no place in a backup.")


def _is_plain(name: str) -> bool:
    """Return whether a name stays inside the folder it is unpacked into."""
    parts = name.split("/")
    return (
        len(name) <= LONGEST_NAME
        and len(parts) > 1
        and not any(part in {"", ".", ".."} for part in parts)
        and not any(mark in name for mark in "\0\\")
    )


def _shown(name: str) -> str:
    return repr(name[:120])


def _write(content: IO[bytes], entry: tarfile.TarInfo, folder: Path) -> Member:
    path = folder / entry.name
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    digest = hashlib.sha256()
    with path.open("xb") as out:
        path.chmod(0o600)
        while chunk := content.read(CHUNK_BYTES):
            digest.update(chunk)
            out.write(chunk)
    return Member(name=entry.name, size_bytes=entry.size, sha256=digest.hexdigest())


def _sealed_manifest(unpacked: list[Member], folder: Path) -> bytes:
    """Return the manifest's bytes, which must be the last but one and match the last."""
    names = [member.name for member in unpacked]
    if MANIFEST not in names:
        raise Refusal("It is no backup of Firm Footing: it has no manifest.")
    if names[-2:] != [MANIFEST, MANIFEST_SUM]:
        raise Refusal("Its manifest does not stand at its end.")
    content = (folder / MANIFEST).read_bytes()
    if (folder / MANIFEST_SUM).read_bytes() != f"{unpacked[-2].sha256}\n".encode():
        raise Refusal("Its manifest was changed or damaged.")
    return content


def _compare_members(unpacked: list[Member], manifest: Manifest) -> None:
    found = {member.name: member for member in unpacked[:-2]}
    listed = {member.name: member for member in manifest.members}
    if added := sorted(found.keys() - listed.keys()):
        raise Refusal(f"{_shown(added[0])} is not in its manifest: something was added.")
    if missing := sorted(listed.keys() - found.keys()):
        raise Refusal(f"{_shown(missing[0])} is missing from it.")
    for name, member in found.items():
        if member != listed[name]:
            raise Refusal(f"{_shown(name)} was changed or damaged: its check sum is another.")


def _compare_migrations(manifest: Manifest) -> None:
    here, there = set(applied_migrations()), set(manifest.migrations)
    if newer := sorted(there - here):
        raise Refusal(
            f"It was made by a newer version of the app (here {newer[0]} is unknown). Update the "
            "app, then restore."
        )
    if older := sorted(here - there):
        raise Refusal(
            f"It was made by an older version of the app, before {older[0]}. Restore it with the "
            "version that made it, into a folder or database of its own; then start this version "
            "on that, which brings the data up to date."
        )


def _check_tables(manifest: Manifest, folder: Path) -> None:
    models = kept_models()
    described = {table.name: table for table in manifest.tables}
    wanted = {model._meta.label_lower for model in models}
    held = {member.name for member in manifest.members if member.name.startswith(TABLES)}
    if described.keys() != wanted or held != {member_of(model) for model in models}:
        raise Refusal("Its tables are not those of this version of the app.")
    for model in models:
        table = described[model._meta.label_lower]
        if table.columns != columns_of(model):
            raise Refusal(f"The columns of {table.name} are not those of this version.")
        count = 0
        for line in lines_of(folder / member_of(model)):
            read_row(model, line)
            count += 1
        if count != table.rows:
            raise Refusal(f"{table.name} has {count} rows, its manifest says {table.rows}.")


def lines_of(path: Path) -> Iterator[bytes]:
    """Return the rows of a table's file, line by line.

    Raises:
        Refusal: a line is longer than any row can be.
    """
    with path.open("rb") as file:
        while line := file.readline(MOST_ROW_BYTES + 1):
            if len(line) > MOST_ROW_BYTES:
                raise Refusal(f"A row of {path.name} is far too large.")
            yield line
