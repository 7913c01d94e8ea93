"""A worker killed twenty times while it prints a proposal or makes a job: each is made once."""

import hashlib
import json
import os
import signal
import sqlite3
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.faults.forks import PATIENCE_S, Program, wait_until_gone

# Its processes work on the built-in database, whatever the run is on.
pytestmark = [pytest.mark.slow, pytest.mark.once]

CLOSING = -1
PROPOSALS, SALES = 4, 4

# A printing takes some 0.4 s after it reported 10 %: seconds from then to the kill.
KILLED_AFTER_S = ((0.0, 0.02), (0.04, 0.06), (0.08, 0.10), (0.12, 0.14))
# Then once in front of a statement: when the PDF is printed, when it lies on the disk and no row
# knows of it, when the mail is written and not the record, when all stands but that it is done.
PRINTING_STATEMENTS = (5, 7, 17, CLOSING)
# In front of a statement of making a job: reading the sale, beginning the transaction, writing the
# job, its phases, the record; and with all of it written, once before looking for it again.
MAKING_STATEMENTS = ((3, 4), (6, 7), (8, CLOSING), (CLOSING, 2))


class Workers:
    """A data folder, and one worker at a time."""

    def __init__(self, var: Path) -> None:
        self.var = var
        self.program = Program("frail_worker", var=var)
        self.database = sqlite3.connect(var / "db.sqlite3", timeout=20, isolation_level=None)
        self.landed = 0

    def begin(self, *, statement: int = 0) -> int:
        """Begin a worker; return its process, which leads its group."""
        return int(self.program.ask(statement))

    def end(self) -> None:
        self.database.close()
        self.program.end()

    def rows(self, query: str, *values: object) -> list[tuple[object, ...]]:
        return self.database.execute(query, values).fetchall()

    def waiting(self, kind: str) -> list[int]:
        found = self.rows("SELECT id FROM firm_job WHERE kind = ? AND state = 'queued'", kind)
        return [int(str(pk)) for (pk,) in found]

    def make_due(self, job: int) -> None:
        self.rows("UPDATE firm_job SET due_at = '2025-01-01' WHERE id = ?", job)

    def wait_for(self, job: int, state: str, *, progress_pct: int) -> None:
        query = "SELECT state, progress_pct, error FROM firm_job WHERE id = ?"
        deadline_s = time.monotonic() + PATIENCE_S
        while time.monotonic() < deadline_s:
            (seen,) = self.rows(query, job)
            if seen[:2] == (state, progress_pct):
                return
            time.sleep(0.002)
        pytest.fail(f"Job {job} stayed at {seen}.")

    def kill_after(self, job: int, pause_s: float) -> None:
        """Kill a worker this long after it told that it begins to print."""
        process = self.begin()
        self.wait_for(job, "running", progress_pct=10)
        time.sleep(pause_s)
        os.killpg(process, signal.SIGKILL)
        self._count_kill(job, process)

    def kill_before(self, job: int, statement: int) -> None:
        """Let a worker kill itself in front of a statement."""
        self._count_kill(job, self.begin(statement=statement))

    def _count_kill(self, job: int, process: int) -> None:
        wait_until_gone(process)
        # It died at its work: the job was begun and is not closed. Its lease runs out at once.
        query = "UPDATE firm_job SET lease_until = '2025-01-01' WHERE id = ? AND state = 'running'"
        self.landed += self.database.execute(query, (job,)).rowcount
        self.rows("UPDATE firm_job SET progress_pct = 0 WHERE id = ?", job)

    def finish(self, job: int, *, kills: int) -> None:
        process = self.begin()
        self.wait_for(job, "done", progress_pct=100)
        os.killpg(process, signal.SIGKILL)
        # Every worker but the last was killed with it in hand.
        assert self.rows("SELECT attempts FROM firm_job WHERE id = ?", job) == [(kills + 1,)]


@pytest.fixture
def workers(var: Path) -> Iterator[Workers]:
    workers = Workers(var)
    yield workers
    workers.end()


def test_each_is_made_once_though_its_workers_are_killed_twenty_times(workers: Workers) -> None:
    printings, makings = workers.waiting("proposal.send"), workers.waiting("job.make")
    assert (len(printings), len(makings)) == (PROPOSALS, SALES)

    for job, pauses_s, statement in zip(
        printings, KILLED_AFTER_S, PRINTING_STATEMENTS, strict=True
    ):
        workers.make_due(job)
        for pause_s in pauses_s:
            workers.kill_after(job, pause_s)
        workers.kill_before(job, statement)
        workers.finish(job, kills=3)
    for job, statements in zip(makings, MAKING_STATEMENTS, strict=True):
        workers.make_due(job)
        for statement in statements:
            workers.kill_before(job, statement)
        workers.finish(job, kills=2)

    # 4 printings x 3 and 4 makings x 2, all of them in the midst of the work.
    assert workers.landed == 20
    assert_each_proposal_was_sent_once(workers)
    assert_each_job_was_made_once(workers)


def assert_each_proposal_was_sent_once(workers: Workers) -> None:
    sent = workers.rows(
        "SELECT p.id, p.pdf, p.pdf_sha256 FROM estimating_proposal p JOIN estimating_estimate e"
        " ON e.id = p.estimate_id WHERE p.state = 'sent' AND e.number > 2000"
    )
    assert len(sent) == PROPOSALS
    for pk, name, digest in sent:
        pdf = (workers.var / "media" / str(name)).read_bytes()
        assert pdf.startswith(b"%PDF-")
        assert hashlib.sha256(pdf).hexdigest() == digest
        told = "SELECT count(*) FROM firm_auditentry WHERE action = ? AND target_id = ?"
        assert workers.rows(told, "proposal sent", str(pk)) == [(1,)]
    mails = "SELECT subject FROM firm_outgoingmail WHERE subject LIKE 'Proposal 2%' ORDER BY 1"
    assert workers.rows(mails) == [
        (f"Proposal {number} from Alder & Post Fencing",) for number in range(2001, 2005)
    ]


def assert_each_job_was_made_once(workers: Workers) -> None:
    made = workers.rows("SELECT id, proposal_id FROM scheduling_fencejob")
    assert len(made) == len({proposal for _, proposal in made}) == SALES
    for pk, _ in made:
        phases = "SELECT count(*) FROM scheduling_jobphase WHERE job_id = ?"
        # Layout, dig, set, hang, gates, clean-up.
        assert workers.rows(phases, pk) == [(6,)]
    results = workers.rows("SELECT result FROM firm_job WHERE kind = 'job.make'")
    assert sorted(json.loads(str(one))["job_id"] for (one,) in results) == sorted(
        int(str(pk)) for pk, _ in made
    )
    told = "SELECT count(*) FROM firm_auditentry WHERE action LIKE 'made a job%'"
    assert workers.rows(told) == [(SALES,)]
