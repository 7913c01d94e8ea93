"""A backup that was damaged, cut short or meddled with is refused, and nothing is touched."""

import gzip
import hashlib
import io
import json
import shutil
import tarfile
import zlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from pytest_django import Settings

from firm.errors import Refusal
from firm.models import Customer
from firm.services import backup_reading
from firm.services.backup import make_backup
from firm.services.restore import restore_backup
from tests.cast import make_firm
from tests.factories import NOW, make_customer

pytestmark = pytest.mark.django_db(transaction=True)
Entry = tuple[tarfile.TarInfo, bytes]
CUSTOMERS = "tables/firm.customer.jsonl"


@pytest.fixture
def archive(settings: Settings, tmp_path: Path) -> Path:
    """Return a backup; what stands in the installation then differs from what is in it."""
    settings.FF_BACKUP_DIR = tmp_path / "backups"
    settings.FF_VAR = tmp_path
    make_firm()
    make_customer(name="In the backup")
    media = Path(settings.MEDIA_ROOT)
    (media / "sites").mkdir(parents=True)
    (media / "sites" / "plat.pdf").write_bytes(b"as it was")
    path = make_backup(target=tmp_path / "kept.tar.gz", now=NOW).path
    Customer.objects.update(name="Here now")
    (media / "sites" / "plat.pdf").write_bytes(b"as it is")
    return path


def refusal_of(archive: Path, settings: Settings) -> str:
    """Restore in vain; return the sentence after a look that nothing was touched."""
    with pytest.raises(Refusal) as refused:
        restore_backup(archive=archive, replace=True, now=NOW)
    assert [customer.name for customer in Customer.objects.all()] == ["Here now"]
    media = Path(settings.MEDIA_ROOT)
    assert [path.name for path in media.rglob("*")] == ["sites", "plat.pdf"]
    assert (media / "sites" / "plat.pdf").read_bytes() == b"as it is"
    assert list(media.parent.glob(".restore-*")) == []
    assert not settings.FF_BACKUP_DIR.exists()
    assert not (media.parent / "evil").exists()
    return str(refused.value)


def entries_of(archive: Path) -> list[Entry]:
    with tarfile.open(archive) as tar:
        found = [(entry, tar.extractfile(entry)) for entry in tar]
        return [(entry, content.read()) for entry, content in found if content]


def packed(entries: list[Entry], archive: Path) -> Path:
    with tarfile.open(archive, "w:gz", format=tarfile.PAX_FORMAT) as tar:
        for entry, content in entries:
            if entry.isreg():
                entry.size = len(content)
            tar.addfile(entry, io.BytesIO(content))
    return archive


def plain(name: str, content: bytes = b"x") -> Entry:
    return tarfile.TarInfo(name), content


def link(name: str, kind: bytes, to: str) -> Entry:
    entry = tarfile.TarInfo(name)
    entry.type, entry.linkname = kind, to
    return entry, b""


def unpacks_to(content: bytes, whole: bytes) -> bool:
    """Return whether a changed byte changes nothing of what is unpacked."""
    try:
        return gzip.decompress(content) == whole
    except (OSError, EOFError, zlib.error):
        return False


def with_manifest(archive: Path, change: Callable[[dict[str, Any]], None]) -> Path:
    """Write the manifest anew, with a seal that fits, as someone would who knows how."""
    entries = entries_of(archive)
    manifest = json.loads(entries[-2][1])
    change(manifest)
    content = json.dumps(manifest).encode()
    digest = hashlib.sha256(content).hexdigest()
    sealed = [plain("manifest.json", content), plain("manifest.sha256", f"{digest}\n".encode())]
    return packed([*entries[:-2], *sealed], archive)


def with_table(archive: Path, content: bytes) -> Path:
    """Write the customers anew, with check sums that fit."""
    entries = [
        plain(CUSTOMERS, content) if entry.name == CUSTOMERS else (entry, old)
        for entry, old in entries_of(archive)
    ]
    packed(entries, archive)

    def change(manifest: dict[str, Any]) -> None:
        for member in manifest["members"]:
            if member["name"] == CUSTOMERS:
                member["size_bytes"] = len(content)
                member["sha256"] = hashlib.sha256(content).hexdigest()

    return with_manifest(archive, change)


def test_the_untouched_archive_is_taken(archive: Path) -> None:
    restore_backup(archive=archive, replace=True, now=NOW)
    assert Customer.objects.get().name == "In the backup"


def test_one_byte_changed_in_any_member_is_noticed(archive: Path, settings: Settings) -> None:
    entries = entries_of(archive)
    filled = [number for number, (_, content) in enumerate(entries) if content]
    names = [entries[number][0].name for number in filled]
    assert {CUSTOMERS, "files/sites/plat.pdf", "manifest.json", "manifest.sha256"} <= set(names)
    for number in filled:
        entry, content = entries[number]
        at = len(content) // 2
        changed = content[:at] + bytes([content[at] ^ 1]) + content[at + 1 :]
        packed([*entries[:number], (entry, changed), *entries[number + 1 :]], archive)
        assert "changed or damaged" in refusal_of(archive, settings), entry.name


def test_one_byte_changed_anywhere_in_the_file_is_noticed(
    archive: Path, settings: Settings
) -> None:
    content = archive.read_bytes()
    whole = gzip.decompress(content)
    noticed = 0
    # Bytes 4 to 9 are gzip's time, level and system (RFC 1952): nothing that is restored.
    places = range(10, len(content), len(content) // 40)
    for at in [0, 1, 2, *places, len(content) - 8, len(content) - 1]:
        changed = content[:at] + bytes([content[at] ^ 0x20]) + content[at + 1 :]
        if unpacks_to(changed, whole):
            continue
        archive.write_bytes(changed)
        assert refusal_of(archive, settings), at
        noticed += 1
    # Of 45 nearly all: a run of zeros can be packed in two ways that differ by a bit.
    assert noticed >= 40


def test_archive_cut_short_anywhere_is_refused(archive: Path, settings: Settings) -> None:
    content = archive.read_bytes()
    for length in [0, 1, 9, 10, *range(100, len(content), len(content) // 20), len(content) - 1]:
        archive.write_bytes(content[:length])
        assert refusal_of(archive, settings), length


def test_something_else_is_no_backup(archive: Path, settings: Settings) -> None:
    for content in (b"", b"no archive", gzip.compress(b"text"), gzip.compress(b"\0" * 10240)):
        archive.write_bytes(content)
        assert refusal_of(archive, settings), content


def test_other_archives_are_no_backups(archive: Path, settings: Settings) -> None:
    packed([plain("files/sites/plat.pdf")], archive)
    assert refusal_of(archive, settings) == ("It is no backup of Firm Footing: it has no manifest.")


ADDED: list[tuple[Entry, str]] = [
    (plain("files/more.bin"), "something was added"),
    (plain("tables/firm.more.jsonl"), "something was added"),
    (plain("files/../../evil"), "no place in a backup"),
    (plain("/tmp/evil"), "no place in a backup"),  # noqa: S108 - must not be written
    (plain("files//evil"), "no place in a backup"),
    (plain("files/./evil"), "no place in a backup"),
    (plain("files/..\\evil"), "no place in a backup"),
    (plain("../evil"), "no place in a backup"),
    (plain("lock"), "no place in a backup"),
    (plain("files/" + "a" * 1000), "no place in a backup"),
    (plain("files/sites/plat.pdf"), "is in it twice"),
    (plain("manifest.json"), "is in it twice"),
    (link("files/l", tarfile.SYMTYPE, "/etc/passwd"), "no plain file"),
    (link("files/sites", tarfile.SYMTYPE, "/tmp"), "no plain file"),  # noqa: S108
    (link("files/l", tarfile.LNKTYPE, "manifest.json"), "no plain file"),
    (link("files/d", tarfile.DIRTYPE, ""), "no plain file"),
    (link("files/p", tarfile.FIFOTYPE, ""), "no plain file"),
    (link("files/c", tarfile.CHRTYPE, ""), "no plain file"),
]


def test_added_member_is_refused(archive: Path, settings: Settings) -> None:
    entries = entries_of(archive)
    for entry, words in ADDED:
        for at in (0, len(entries) - 2):
            packed([*entries[:at], entry, *entries[at:]], archive)
            assert words in refusal_of(archive, settings), (entry[0].name, at)


def test_members_after_the_manifest_are_refused(archive: Path, settings: Settings) -> None:
    packed([*entries_of(archive), plain("files/more.bin")], archive)
    assert refusal_of(archive, settings) == "Its manifest does not stand at its end."


def test_what_follows_the_end_is_refused(archive: Path, settings: Settings) -> None:
    content = archive.read_bytes()
    for added in (gzip.compress(b"more"), b"more"):
        archive.write_bytes(content + added)
        assert refusal_of(archive, settings)


def test_missing_member_is_named(archive: Path, settings: Settings) -> None:
    entries = entries_of(archive)
    for gone in (CUSTOMERS, "files/sites/plat.pdf"):
        packed([pair for pair in entries if pair[0].name != gone], archive)
        assert refusal_of(archive, settings) == f"'{gone}' is missing from it."
    for gone in ("manifest.json", "manifest.sha256"):
        packed([pair for pair in entries if pair[0].name != gone], archive)
        assert "manifest" in refusal_of(archive, settings)


def change_format(manifest: dict[str, Any]) -> None:
    manifest["format"] = "another"


def change_version(manifest: dict[str, Any]) -> None:
    manifest["version"] = 2


def lose_a_part(manifest: dict[str, Any]) -> None:
    del manifest["tables"]


def become_older(manifest: dict[str, Any]) -> None:
    manifest["migrations"].remove("firm.0005_record_is_kept")


def become_newer(manifest: dict[str, Any]) -> None:
    manifest["migrations"].append("firm.9999_not_yet")


def lose_a_column(manifest: dict[str, Any]) -> None:
    manifest["tables"][-1]["columns"].pop()


def lose_a_table(manifest: dict[str, Any]) -> None:
    manifest["tables"].pop()


OTHERS: list[tuple[Callable[[dict[str, Any]], None], str]] = [
    (change_format, "no backup of Firm Footing"),
    (change_version, "of version 2; this app reads version 1"),
    (lose_a_part, "manifest lacks something"),
    (become_older, "older version of the app, before firm.0005_record_is_kept"),
    (become_newer, "newer version of the app (here firm.9999_not_yet is unknown)"),
    (lose_a_column, "are not those of this version"),
    (lose_a_table, "Its tables are not those of this version"),
]


def test_archive_of_another_kind_or_time_is_refused_with_what_to_do(
    archive: Path, settings: Settings
) -> None:
    content = archive.read_bytes()
    for change, words in OTHERS:
        archive.write_bytes(content)
        assert words in refusal_of(with_manifest(archive, change), settings)


ROWS = [
    (b"", "has 0 rows, its manifest says 1"),
    (b"[1,2]\n", "wrong number of values"),
    (b"{}\n", "wrong number of values"),
    (b"no json\n", "can't be read"),
    (b"[" * 100_000 + b"\n", "can't be read"),
    (b'["x","","","","","","","","","","","","2026-01-01T00:00:00+00:00"]\n', "can't be read"),
    (b'[1,"A","","","","","","","","","","","not a time"]\n', "can't be read"),
]


def test_rows_that_do_not_fit_are_refused(archive: Path, settings: Settings) -> None:
    content = archive.read_bytes()
    for rows, words in ROWS:
        archive.write_bytes(content)
        assert words in refusal_of(with_table(archive, rows), settings), rows[:60]


def test_rows_the_database_refuses_are_taken_back(archive: Path, settings: Settings) -> None:
    # A customer must have a name.
    nameless = b'[1,"","","","","","","","","","","","2026-01-01T00:00:00+00:00"]\n'
    with_table(archive, nameless)
    with pytest.raises(Refusal, match="The database refuses what is in it"):
        restore_backup(archive=archive, replace=True, now=NOW)
    assert Customer.objects.get().name == "Here now"
    assert (Path(settings.MEDIA_ROOT) / "sites" / "plat.pdf").read_bytes() == b"as it is"


def test_archive_that_fills_the_disk_is_refused_while_it_is_unpacked(
    archive: Path, settings: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    def nearly_full(_folder: Path) -> Any:
        class Usage:
            free = backup_reading.KEPT_FREE_BYTES + 1000

        return Usage

    monkeypatch.setattr(shutil, "disk_usage", nearly_full)
    assert "more than there is room for" in refusal_of(archive, settings)


def test_command_says_why_and_that_nothing_was_changed(archive: Path, tmp_path: Path) -> None:
    with pytest.raises(CommandError, match=r"here already.* Nothing was changed\..*--yes"):
        call_command("restore", str(archive))
    with pytest.raises(CommandError, match=r"No such file or directory\. Nothing was changed"):
        call_command("restore", str(tmp_path / "none.tar.gz"), "--yes")
    with pytest.raises(CommandError, match="is no folder"):
        call_command("backup", to=tmp_path / "a.zip")
