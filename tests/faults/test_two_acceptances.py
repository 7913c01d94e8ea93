"""Several processes accept one proposal at the same moment: one does, the others are harmless."""

import os
import sqlite3
import subprocess
import sys
import time
from pathlib import Path

import pytest

pytestmark = pytest.mark.slow

ROOT = Path(__file__).resolve().parents[2]
ACCEPTORS = 4
# Long enough for all of them to have started.
HEAD_START_S = 6.0


def test_four_at_once_accept_one_proposal_once(var: Path) -> None:
    kept = {key: value for key, value in os.environ.items() if key != "DATABASE_URL"}
    environment = {**kept, "FF_VAR": str(var), "DJANGO_SETTINGS_MODULE": "firm.settings"}
    program = [sys.executable, "tests/faults/accept_proposal.py"]
    subprocess.run([*program, "set-up"], cwd=ROOT, env=environment, check=True)

    moment = str(time.time() + HEAD_START_S)
    running = [
        subprocess.Popen([*program, f"Person {number}", moment], cwd=ROOT, env=environment)
        for number in range(ACCEPTORS)
    ]
    assert sorted(one.wait(timeout=60) for one in running) == [0] * (ACCEPTORS - 1) + [1]

    database = sqlite3.connect(var / "db.sqlite3")
    (accepted,) = database.execute("SELECT count(*) FROM estimating_acceptance").fetchone()
    (mails,) = database.execute(
        "SELECT count(*) FROM firm_outgoingmail WHERE subject LIKE '%accepted'"
    ).fetchone()
    database.close()
    # One to the customer and one to the firm.
    assert (accepted, mails) == (1, 2)
