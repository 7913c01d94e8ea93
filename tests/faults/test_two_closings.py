"""Several processes end one job at the same moment: one signature, one payment, one invoice."""

import os
import sqlite3
import subprocess
import sys
import time
from pathlib import Path

import pytest

pytestmark = pytest.mark.slow

ROOT = Path(__file__).resolve().parents[2]
CLOSERS = 4
DEEDS = 3
# Long enough for all of them to have started.
HEAD_START_S = 8.0


def test_four_at_once_finish_pay_and_issue_once(tmp_path: Path) -> None:
    kept = {key: value for key, value in os.environ.items() if key != "DATABASE_URL"}
    environment = {**kept, "FF_VAR": str(tmp_path), "DJANGO_SETTINGS_MODULE": "firm.settings"}
    program = [sys.executable, "tests/faults/close_job.py"]
    for command in ([sys.executable, "manage.py", "migrate", "-v0"], [*program, "set-up"]):
        subprocess.run(command, cwd=ROOT, env=environment, check=True)

    moment = str(time.time() + HEAD_START_S)
    running = [
        subprocess.Popen([*program, moment], cwd=ROOT, env=environment) for _ in range(CLOSERS)
    ]
    assert sum(one.wait(timeout=60) for one in running) == DEEDS

    database = sqlite3.connect(tmp_path / "db.sqlite3")
    (signed,) = database.execute("SELECT count(*) FROM scheduling_completion").fetchone()
    paid = database.execute("SELECT amount FROM estimating_payment").fetchall()
    invoices = database.execute("SELECT state, amount FROM estimating_invoice").fetchall()
    database.close()
    assert signed == 1
    assert [round(amount, 2) for (amount,) in paid] == [2040.00]
    # 5,100.00 less the 2,040.00 received, or all of it where it was issued before the payment.
    [(state, amount)] = invoices
    assert state == "issued"
    assert round(amount, 2) in {3060.00, 5100.00}
