"""A program for the test beside it: restores that kill themselves, and a look at what is left.

It leaves two states of one firm, each a database and files of its own, and a backup of the second.
A line "restore N" forks a process that goes back to that backup and kills itself in front of its
step number N; steps are statements to the database and what is done to files. Without the number
N being reached it tells in a file how many steps there were. "look" does what a start of the app
does and tells, as a check sum of all rows and files, in which state things are.
"""

import hashlib
import os
import shutil
import signal
import sys
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "firm.settings")

import django

django.setup()

from django.conf import settings  # noqa: E402
from django.core.files.base import ContentFile  # noqa: E402
from django.db import connection, connections  # noqa: E402

from firm.models import AuditEntry, Customer  # noqa: E402
from firm.services.backup import make_backup  # noqa: E402
from firm.services.backup_format import columns_of, kept_models, written_row  # noqa: E402
from firm.services.restore import (  # noqa: E402
    RESTORED,
    finish_interrupted_restores,
    restore_backup,
)
from scheduling.models import JobPhoto  # noqa: E402
from tests import factories  # noqa: E402
from tests.faults.forks import READY  # noqa: E402
from tests.job_cast import make_fence_job  # noqa: E402

NOW = factories.NOW
VAR = Path(settings.FF_VAR)
ARCHIVE = VAR.parent / "kept.tar.gz"
STANDING = VAR.parent / "standing"
STEPS = VAR.parent / "steps.txt"
FILE_STEPS = frozenset({"open", "os.rename", "os.remove", "os.rmdir", "os.mkdir", "shutil.rmtree"})
CUSTOMERS, PHOTOS = 300, 20


def set_up() -> None:
    """Make a firm, back it up, change all of it and keep that as what stands here."""
    factories.make_firm()
    job = make_fence_job()
    for number in range(PHOTOS):
        photo = JobPhoto(job=job, original_name="a.jpg", original_sha256=f"{number:064}")
        photo.original_bytes, photo.added_at = 3, NOW
        photo.file.save(f"{number}.jpg", ContentFile(b"then" * number), save=True)
    for number in range(CUSTOMERS):
        factories.make_customer(name=f"Then {number}")
    make_backup(target=ARCHIVE, now=NOW)
    Customer.objects.update(name="Now")
    for path in Path(settings.MEDIA_ROOT).rglob("*.jpg"):
        path.write_bytes(b"now")
    (Path(settings.MEDIA_ROOT) / "newer.bin").write_bytes(b"newer")
    connections.close_all()
    shutil.copytree(VAR, STANDING)


class Steps:
    """Counts statements and what is done to files; kills this very process in front of one."""

    def __init__(self, last: int) -> None:
        self.last = last
        self.count = 0
        self.marks: list[str] = []

    def _take(self, what: str) -> None:
        self.count += 1
        if self.count == self.last:
            os.kill(os.getpid(), signal.SIGKILL)
        self.marks.append(what)

    def on_event(self, event: str, _arguments: Any) -> None:
        if event in FILE_STEPS:
            self._take(event)

    def on_statement(self, execute: Any, sql: str, *rest: Any) -> Any:
        self._take(" ".join(sql[:40].split()))
        return execute(sql, *rest)


def restore(last: int) -> str:
    steps = Steps(last)
    connection.execute_wrappers.append(steps.on_statement)
    sys.addaudithook(steps.on_event)
    restore_backup(archive=ARCHIVE, replace=True, now=NOW)
    STEPS.write_text("\n".join(steps.marks))
    return ""


def look() -> str:
    """Start as the app does; return the check sum of all there is."""
    finish_interrupted_restores()
    digest = hashlib.sha256()
    for model in kept_models():
        rows = model._base_manager.order_by("pk")
        if model is AuditEntry:
            rows = rows.exclude(action=RESTORED)
        for row in rows.values_list(*columns_of(model)):
            digest.update(written_row(row))
    media = Path(settings.MEDIA_ROOT)
    for path in sorted(media.rglob("*")):
        if path.is_file():
            digest.update(path.relative_to(media).as_posix().encode() + path.read_bytes())
    for left in VAR.glob(".restore-*"):
        digest.update(left.name.encode())
    return digest.hexdigest()


def main() -> None:
    set_up()
    # Nobody waits for the killed.
    signal.signal(signal.SIGCHLD, signal.SIG_IGN)
    sys.stdout.write(f"{READY}\n")
    sys.stdout.flush()
    for line in sys.stdin:
        word, *number = line.split()
        child = os.fork()
        if child == 0:
            signal.signal(signal.SIGCHLD, signal.SIG_DFL)
            answer = look() if word == "look" else restore(int(number[0]))
            # The next trial copies the database's files.
            connections.close_all()
            if answer:
                sys.stdout.write(f"{answer}\n")
                sys.stdout.flush()
            os._exit(0)
        if word != "look":
            sys.stdout.write(f"{child}\n")
            sys.stdout.flush()


if __name__ == "__main__":
    main()
