"""Many processes writing to the built-in database at once: none fails, nothing is lost."""

import json
import os
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

# Its processes work on the built-in database, whatever the run is on.
pytestmark = [pytest.mark.slow, pytest.mark.once]

ROOT = Path(__file__).resolve().parents[2]
WRITERS = 4
TRANSACTIONS = 25


def test_four_writers_at_once_lose_no_transaction(var: Path) -> None:
    kept = {key: value for key, value in os.environ.items() if key != "DATABASE_URL"}
    environment = {**kept, "FF_VAR": str(var), "DJANGO_SETTINGS_MODULE": "firm.settings"}
    environment["PYTHONPATH"] = str(ROOT)
    database = sqlite3.connect(var / "db.sqlite3")
    with database:
        database.execute(
            "INSERT INTO firm_job (kind, arguments, state, progress_pct, cancel_requested,"
            " attempts, error, created_at, due_at) VALUES ('tests.counter', '{\"count\": 0}',"
            " 'queued', 0, 0, 0, '', '2025-01-01', '2025-01-01')"
        )

    command = [sys.executable, "tests/faults/write_jobs.py", str(TRANSACTIONS)]
    writers = [subprocess.Popen(command, cwd=ROOT, env=environment) for _ in range(WRITERS)]
    assert [writer.wait(timeout=60) for writer in writers] == [0] * WRITERS

    (row,) = database.execute("SELECT arguments FROM firm_job")
    database.close()
    # 4 writers x 25 transactions.
    assert json.loads(row[0]) == {"count": 100}
