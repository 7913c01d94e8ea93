"""The worker as `bin/start` runs it: it finds what is due, and killing it loses no job."""

import json
import os
import signal
import sqlite3
import subprocess
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from firm.management.commands import serve

# Its processes work on the built-in database, whatever the run is on.
pytestmark = [pytest.mark.slow, pytest.mark.once]

ROOT = Path(__file__).resolve().parents[2]
PATIENCE_S = 25


class Installation:
    """A data folder with a database of its own, and at most one worker."""

    def __init__(self, var: Path) -> None:
        self.path = var / "db.sqlite3"
        kept = {key: value for key, value in os.environ.items() if key != "DATABASE_URL"}
        self.environment = {**kept, **serve.QUIET_AS_ROOT, "FF_VAR": str(var)}
        self.worker: subprocess.Popen[bytes] | None = None

    def begin_worker(self) -> None:
        self.worker = subprocess.Popen(
            [*serve.worker_command(), "--include", "tests.faults.slow_jobs"],
            cwd=ROOT,
            env=self.environment,
            start_new_session=True,
        )

    def end_worker(self, number: int) -> None:
        if self.worker is not None:
            os.killpg(self.worker.pid, number)
            self.worker.wait(timeout=PATIENCE_S)
            self.worker = None

    def ask(self, query: str, *values: object) -> list[tuple[object, ...]]:
        connection = sqlite3.connect(self.path, timeout=PATIENCE_S)
        try:
            with connection:
                return connection.execute(query, values).fetchall()
        finally:
            connection.close()

    def add_job(self, kind: str) -> None:
        """Leave a row without a message, as a web server does that dies between the two."""
        self.ask(
            "INSERT INTO firm_job (kind, arguments, state, progress_pct, cancel_requested,"
            " attempts, error, created_at, due_at)"
            " VALUES (?, '{}', 'queued', 0, 0, 0, '', '2025-01-01', '2025-01-01')",
            kind,
        )

    def wait_for(self, **expected: object) -> None:
        """Wait until the one job has these values."""
        names = ", ".join(expected)
        deadline_s = time.monotonic() + PATIENCE_S
        seen: tuple[object, ...] = ()
        while time.monotonic() < deadline_s:
            (seen,) = self.ask(f"SELECT {names} FROM firm_job")  # noqa: S608 - names from here
            if seen == tuple(expected.values()):
                return
            time.sleep(0.1)
        pytest.fail(f"{names} of the job stayed at {seen}.")


@pytest.fixture
def installation(var: Path) -> Iterator[Installation]:
    installation = Installation(var)
    yield installation
    installation.end_worker(signal.SIGKILL)


def test_job_whose_message_was_lost_is_found_and_done(installation: Installation) -> None:
    installation.add_job("tests.quick")
    installation.begin_worker()

    installation.wait_for(state="done", attempts=1, result=json.dumps({"attempt": 1}))


def test_job_of_a_killed_worker_is_done_by_the_next(installation: Installation) -> None:
    installation.add_job("tests.slow_at_first")
    installation.begin_worker()
    installation.wait_for(state="running", progress_pct=10)

    installation.end_worker(signal.SIGKILL)
    # Ten minutes later, as far as the row can tell.
    installation.ask("UPDATE firm_job SET lease_until = '2025-01-01'")
    installation.begin_worker()

    installation.wait_for(state="done", attempts=2, result=json.dumps({"attempt": 2}))
