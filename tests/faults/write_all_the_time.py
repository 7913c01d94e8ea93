"""A program for the test beside it: writes without a pause, or makes backups meanwhile.

Each transaction of a writer puts the same number into two tables that a backup reads far apart, and
then a file is added with its row.
"""

import os
import sqlite3
import sys
import threading
import time
from contextlib import closing
from pathlib import Path
from typing import Any
from unittest.mock import patch

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "firm.settings")

import django

django.setup()

from django.conf import settings  # noqa: E402
from django.db import transaction  # noqa: E402

from firm.models import Customer, JobSite  # noqa: E402
from firm.services import backup  # noqa: E402
from firm.services.attachments import add_attachment  # noqa: E402
from scheduling.models import Crew  # noqa: E402
from tests.factories import NOW, make_customer, make_firm, make_site  # noqa: E402
from tests.faults.forks import PATIENCE_S, READY  # noqa: E402
from tests.firm_cast import PDF_BYTES  # noqa: E402

BACKUPS = 3
PAUSE_S = 0.01
WRITTEN_MEANWHILE = 3


def set_up() -> None:
    make_firm()
    make_site(make_customer(notes="0"))
    Crew.objects.create(name="0")


def write() -> None:
    """Write until the input ends."""
    site = JobSite.objects.get()
    stopped = threading.Event()

    def wait_for_the_end() -> None:
        sys.stdin.read()
        stopped.set()

    threading.Thread(target=wait_for_the_end, daemon=True).start()
    sys.stdout.write(f"{READY}\n")
    sys.stdout.flush()
    while not stopped.is_set():
        with transaction.atomic():
            number = int(Customer.objects.get().notes) + 1
            Customer.objects.update(notes=str(number))
            Crew.objects.update(name=str(number))
        content = PDF_BYTES.replace(b"<< >>", b"<< %d >>" % number)
        add_attachment(
            actor=None, site=site, kind="survey", name="p.pdf", content=content, note="", at=NOW
        )
        time.sleep(PAUSE_S)


def back_up() -> None:
    """Make backups; in each, read the second table only after others have written."""
    usual = backup._Writer._dump_table

    def dump_among_writers(writer: Any, model: Any) -> Any:
        table = usual(writer, model)
        if not writer.tables:
            _wait_for_writers()
        return table

    with patch.object(backup._Writer, "_dump_table", dump_among_writers):
        for number in range(BACKUPS):
            backup.make_backup(target=settings.FF_VAR.parent / f"{number}.tar.gz", now=NOW)


def _wait_for_writers() -> None:
    """Wait until others have committed, seen by a connection of its own."""
    with closing(sqlite3.connect(settings.FF_VAR / "db.sqlite3")) as eyes:

        def number() -> int:
            return int(eyes.execute("SELECT notes FROM firm_customer").fetchone()[0])

        first, deadline_s = number(), time.monotonic() + PATIENCE_S
        while number() < first + WRITTEN_MEANWHILE:
            assert time.monotonic() < deadline_s, "The backup keeps writers waiting."
            time.sleep(0.005)


if __name__ == "__main__":
    {"set-up": set_up, "write": write, "back-up": back_up}[sys.argv[1]]()
