"""A backup brings everything back, row for row and byte for byte, in the database under test."""

import datetime as dt
import os
import stat
import subprocess
import sys
import threading
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from django.contrib.auth.models import Group, Permission
from django.contrib.sessions.models import Session
from django.core.files.base import ContentFile
from django.core.management import CommandError, call_command
from django.db import IntegrityError, connection, models, transaction
from django.test import override_settings
from pytest_django import Settings

from estimating.models import Acceptance
from firm import tasks
from firm.celery import app
from firm.errors import Refusal
from firm.models import Attachment, AuditEntry, Customer, FailedLogIn, FirmProfile, Job, Role
from firm.selectors.backups import backup_files, backup_standing
from firm.services import backup, jobs
from firm.services.attachments import add_attachment
from firm.services.audit import record
from firm.services.backup import BACKUP_JOB, BackupMade, make_backup, place_of, prune_backups
from firm.services.backup_format import LEFT_OUT, columns_of, kept_models
from firm.services.restore import RESTORED, finish_interrupted_restores, restore_backup
from scheduling.models import Crew, CrewDay, CrewMember, FenceJob, JobPhase, JobPhoto
from scheduling.services.jobs import make_job
from tests.cast import make_person
from tests.factories import NOW, make_customer, make_site
from tests.firm_cast import PDF_BYTES, picture_bytes
from tests.job_cast import make_accepted_proposal

pytestmark = pytest.mark.django_db(transaction=True)
ROOT = Path(__file__).resolve().parents[2]
LATER = NOW + dt.timedelta(days=3)


@pytest.fixture(autouse=True)
def _own_folder_of_backups(settings: Settings, tmp_path: Path) -> None:
    settings.FF_BACKUP_DIR = tmp_path / "backups"
    settings.FF_VAR = tmp_path


def all_rows() -> dict[str, list[tuple[Any, ...]]]:
    """Return every row of every table that is kept, with each value's type."""
    return {
        model._meta.label_lower: [
            tuple((type(value), value) for value in row)
            for row in model._base_manager.order_by("pk").values_list(*columns_of(model))
        ]
        for model in kept_models()
    }


def all_files(root: Path) -> dict[str, bytes]:
    found = (path for path in root.rglob("*") if path.is_file())
    return {path.relative_to(root).as_posix(): path.read_bytes() for path in found}


def play(settings: Settings) -> None:
    """Fill tables of all three apps with values that are hard to keep."""
    proposal = make_accepted_proposal()
    job = FenceJob.objects.filter(proposal=proposal).first() or make_job(
        proposal_id=proposal.pk, now=NOW
    )
    lead = make_person(Role.CREW_LEAD, phone="555-0109")
    lead.groups.add(Group.objects.create(name="Yard"))
    lead.user_permissions.add(Permission.objects.order_by("-pk")[0])
    crew = Crew.objects.create(name="Crew Ö", lead=lead, day_start=dt.time(6, 45, 30, 250))
    CrewMember.objects.create(crew=crew, name="Ana “Hook” Ruíz", hourly_cost=Decimal("41.05"))
    phase = job.phases.order_by("pk")[0]
    JobPhase.objects.filter(pk=phase.pk).update(labor_hours=Decimal("123456.654321"))
    CrewDay.objects.create(
        job=job, phase=phase, crew=crew, date=dt.date(2026, 3, 8), air_f=0.1 + 0.2, placed_at=NOW
    )
    photo = JobPhoto(job=job, original_name="a.jpg", original_sha256="0" * 64, original_bytes=3)
    photo.added_at = NOW
    photo.file.save("odd name ü.jpg", ContentFile(picture_bytes()), save=True)
    site = make_site(make_customer(name='Line\nbreak, "quote", tab\t, \u2028, 🙂'), notes="\\N")
    add_attachment(
        actor=lead, site=site, kind="survey", name="p.pdf", content=PDF_BYTES, note="", at=NOW
    )
    record(actor=lead, action="looked", target=site, after={"deep": [1.5, None, {"ü": []}]}, at=NOW)
    FailedLogIn.objects.create(
        name="wren", address="::1", last_at=NOW + dt.timedelta(microseconds=7)
    )
    Session.objects.create(session_key="s", session_data="d", expire_date=NOW)
    # A file that no row speaks of is kept as well.
    orphan = Path(settings.MEDIA_ROOT) / "old" / "left.bin"
    orphan.parent.mkdir(parents=True)
    orphan.write_bytes(bytes(range(256)) * 5)


def made(tmp_path: Path, name: str = "kept.tar.gz") -> BackupMade:
    return make_backup(target=tmp_path / name, now=NOW)


def change_everything(settings: Settings) -> None:
    Customer.objects.update(notes="changed")
    make_customer(name="Someone newer")
    for path in list(Path(settings.MEDIA_ROOT).rglob("*")):
        if path.is_file():
            path.write_bytes(b"changed")
    (Path(settings.MEDIA_ROOT) / "newer.bin").write_bytes(b"newer")


def test_everything_comes_back_row_for_row_and_byte_for_byte(
    settings: Settings, tmp_path: Path
) -> None:
    play(settings)
    rows, files = all_rows(), all_files(Path(settings.MEDIA_ROOT))
    kept = made(tmp_path)
    assert (kept.rows, kept.files) == (sum(len(table) for table in rows.values()), len(files))
    assert kept.missing_files == []
    change_everything(settings)

    restored = restore_backup(archive=kept.path, replace=True, now=LATER)

    back = all_rows()
    # The restore itself is the one thing that is new.
    newest = back["firm.auditentry"].pop()
    assert RESTORED in [value for _, value in newest]
    assert back == rows
    assert all_files(Path(settings.MEDIA_ROOT)) == files
    assert restored.manifest.database == connection.vendor
    # Nobody stays logged in: the people in the tables may be others.
    assert {"sessions.session"} == LEFT_OUT
    assert not Session.objects.exists()
    assert list(tmp_path.glob(".restore-*")) == []


def test_tables_of_every_kind_of_value_are_in_the_round_trip(settings: Settings) -> None:
    play(settings)
    kinds = {kind.__name__ for table in all_rows().values() for row in table for kind, _ in row}
    assert kinds == {
        "int", "str", "bool", "NoneType", "float", "Decimal", "date", "time", "datetime",
        "dict", "list",
    }  # fmt: skip


def test_numbering_goes_on_and_kept_rows_stay_kept(settings: Settings, tmp_path: Path) -> None:
    play(settings)
    last = Customer.objects.order_by("-pk")[0].pk
    restore_backup(archive=made(tmp_path).path, replace=True, now=LATER)

    # On PostgreSQL a sequence that was not set would give out a key that is taken.
    assert make_customer(name="The next").pk == last + 1
    with pytest.raises(IntegrityError, match="kept for ever"), transaction.atomic():
        # A plain queryset: the model's own manager would refuse before the database is asked.
        models.QuerySet(Acceptance).update(total=1)
    assert RESTORED in set(AuditEntry.objects.values_list("action", flat=True))


def test_firm_that_is_here_is_replaced_only_when_that_is_said_and_is_kept(
    settings: Settings, tmp_path: Path
) -> None:
    play(settings)
    kept = made(tmp_path).path
    change_everything(settings)
    FirmProfile.objects.update(name="Birch & Sons")
    rows, files = all_rows(), all_files(Path(settings.MEDIA_ROOT))

    with pytest.raises(Refusal, match="There is the firm Birch & Sons here already"):
        restore_backup(archive=kept, replace=False, now=LATER)
    assert (all_rows(), all_files(Path(settings.MEDIA_ROOT))) == (rows, files)

    before = restore_backup(archive=kept, replace=True, now=LATER).kept_as
    assert before is not None
    assert before.name.startswith("before-restore-")
    restore_backup(archive=before, replace=True, now=LATER + dt.timedelta(minutes=1))
    back = all_rows()
    back["firm.auditentry"].pop()
    assert (back, all_files(Path(settings.MEDIA_ROOT))) == (rows, files)


def test_restore_into_an_empty_installation_needs_no_yes(
    settings: Settings, tmp_path: Path
) -> None:
    empty = made(tmp_path, "empty.tar.gz").path
    assert restore_backup(archive=empty, replace=False, now=LATER).kept_as is None
    # What is left by it is a row: now there is something here.
    with pytest.raises(Refusal, match="something in the database here already"):
        restore_backup(archive=empty, replace=False, now=LATER)


def test_stray_file_of_another_firm_is_not_lost_unasked(settings: Settings, tmp_path: Path) -> None:
    empty = made(tmp_path, "empty.tar.gz").path
    stray = Path(settings.MEDIA_ROOT) / "a" / "b.bin"
    stray.parent.mkdir(parents=True)
    stray.write_bytes(b"x")
    with pytest.raises(Refusal, match="a file of another firm here already"):
        restore_backup(archive=empty, replace=False, now=LATER)
    assert stray.read_bytes() == b"x"


def test_archive_is_private_whole_and_overwrites_nothing(tmp_path: Path) -> None:
    kept = made(tmp_path)
    assert stat.S_IMODE(kept.path.stat().st_mode) == 0o600
    assert [path.name for path in tmp_path.iterdir() if path.name != "media"] == ["kept.tar.gz"]
    content = kept.path.read_bytes()
    with pytest.raises(Refusal, match="nothing is overwritten"):
        made(tmp_path)
    assert kept.path.read_bytes() == content


def test_backup_that_fails_leaves_nothing_behind(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def disk_is_full(descriptor: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", disk_is_full)
    with pytest.raises(OSError, match="No space left"):
        made(tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_row_without_its_file_is_named_and_the_rest_is_kept(
    settings: Settings, tmp_path: Path
) -> None:
    play(settings)
    paper = Attachment.objects.get()
    Path(paper.file.path).unlink()
    kept = made(tmp_path)
    assert kept.missing_files == [paper.file.name]
    assert restore_backup(archive=kept.path, replace=True, now=LATER).manifest.missing_files == [
        paper.file.name
    ]


@pytest.mark.skipif(
    "connection.vendor != 'postgresql'",
    reason="in memory, SQLite has one connection; tests/faults does this on a file",
)
def test_rows_are_read_as_they_stand_at_one_moment(
    settings: Settings, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    make_customer()
    dump = backup._Writer._dump_table
    wrote: list[str] = []

    def add_customer() -> None:
        make_customer(name="Meanwhile")
        connection.close()

    def dump_while_others_write(writer: Any, model: Any) -> Any:
        if not wrote:
            wrote.append("once")
            assert Customer.objects.count() == 1
            thread = threading.Thread(target=add_customer)
            thread.start()
            thread.join()
        return dump(writer, model)

    monkeypatch.setattr(backup._Writer, "_dump_table", dump_while_others_write)
    kept = made(tmp_path)
    assert Customer.objects.count() == 2
    restore_backup(archive=kept.path, replace=True, now=LATER)
    assert [customer.name for customer in Customer.objects.all()] == ["Wren Halloway"]


@pytest.mark.skipif(
    "connection.vendor != 'postgresql'", reason="the run on PostgreSQL does it both ways"
)
def test_archive_of_one_kind_of_database_is_restored_on_the_other(
    settings: Settings, tmp_path: Path
) -> None:
    play(settings)
    rows, files = all_rows(), all_files(Path(settings.MEDIA_ROOT))
    var = tmp_path / "embedded"
    kept = {name: value for name, value in os.environ.items() if name != "DATABASE_URL"}
    environment = {**kept, "FF_VAR": str(var)}

    def manage(*words: str | Path) -> None:
        command = [sys.executable, "manage.py", *map(str, words)]
        subprocess.run(command, cwd=ROOT, env=environment, check=True, capture_output=True)

    manage("restore", made(tmp_path, "from-postgresql.tar.gz").path)
    assert all_files(var / "media") == files
    manage("backup", "--to", tmp_path / "from-sqlite.tar.gz")
    change_everything(settings)
    back = restore_backup(archive=tmp_path / "from-sqlite.tar.gz", replace=True, now=LATER)

    assert back.manifest.database == "sqlite"
    there_and_here = all_rows()
    del there_and_here["firm.auditentry"][-2:]
    assert there_and_here == rows
    assert all_files(Path(settings.MEDIA_ROOT)) == files


def test_newest_are_kept_and_other_files_let_be(settings: Settings) -> None:
    folder = settings.FF_BACKUP_DIR
    folder.mkdir()
    for day in range(1, 21):
        (folder / f"firm-footing-202603{day:02d}T032000Z.tar.gz").write_bytes(b"x" * day)
    for name in ("before-restore-20260101T000000000000Z.tar.gz", "notes.txt"):
        (folder / name).touch()

    deleted = prune_backups(keep=14)

    # Of 1 to 20 March the newest 14 are 7 to 20.
    gone = sorted(path.name[13:21] for path in deleted)
    assert gone == [f"202603{day:02d}" for day in range(1, 7)]
    assert [one.made_at.day for one in backup_files()] == list(range(20, 6, -1))
    assert len(list(folder.iterdir())) == 16


def test_worker_makes_a_backup_in_the_usual_folder_once(settings: Settings) -> None:
    settings.FF_BACKUP_KEEP = 1
    with override_settings(FF_JOBS_INLINE=False):
        tasks.back_up()
        tasks.back_up()
    assert Job.objects.filter(kind=BACKUP_JOB).count() == 1
    assert backup_standing(kind=BACKUP_JOB, now=NOW).is_running

    moment = Job.objects.get().due_at
    settings.FF_BACKUP_DIR.mkdir()
    (settings.FF_BACKUP_DIR / "firm-footing-20200101T000000Z.tar.gz").touch()
    assert jobs.run_due_jobs(now=moment) == 1

    (only,) = backup_files()
    assert (Job.objects.get().result or {})["name"] == only.path.name
    assert not backup_standing(kind=BACKUP_JOB, now=NOW).is_running


def test_night_s_backup_is_on_the_worker_s_clock(settings: Settings) -> None:
    entry = settings.CELERY_BEAT_SCHEDULE["backup"]
    assert entry["task"] == tasks.back_up.name
    assert entry["task"] in app.tasks
    # Once a day: at one hour and one minute of it, any day.
    assert (entry["schedule"].hour, entry["schedule"].minute) == ({3}, {20})
    assert len(entry["schedule"].day_of_week) == 7


def test_place_is_a_folder_or_a_new_name(settings: Settings, tmp_path: Path) -> None:
    name = "firm-footing-20260504T150000Z.tar.gz"
    assert place_of(None, now=NOW) == settings.FF_BACKUP_DIR / name
    assert place_of(tmp_path, now=NOW) == tmp_path / name
    assert place_of(tmp_path / "my.tar.gz", now=NOW) == tmp_path / "my.tar.gz"
    for wrong in (tmp_path / "nowhere" / "a.tar.gz", tmp_path / "a.zip"):
        with pytest.raises(Refusal, match="is no folder"):
            place_of(wrong, now=NOW)


def test_nothing_interrupted_is_nothing_to_finish() -> None:
    assert finish_interrupted_restores() == 0


def test_command_finishes_what_a_killed_restore_left(settings: Settings) -> None:
    left = Path(settings.MEDIA_ROOT).parent / ".restore-0123"
    (left / "files").mkdir(parents=True)
    call_command("restore", "--finish")
    # Its tables were never committed, so its files are not those of what stands here.
    assert not left.exists()
    with pytest.raises(CommandError, match="Name the file"):
        call_command("restore")
