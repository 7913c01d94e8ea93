"""A program for the tests beside it: workers that can be begun again and again in no time.

Django and WeasyPrint are loaded once, and rows are left to work on. Then each line on the input
forks a process with a group of its own, in which Celery's worker runs as it does anywhere. The
number on the line says in front of which statement the worker kills itself, counted from the one
that claims a job; CLOSING is the one that writes it down as done, 0 leaves the killing to others.
"""

import os
import signal
import sys
import warnings
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "firm.settings")

import django

django.setup()

from django.db import connection, connections  # noqa: E402
from django.utils import timezone  # noqa: E402

import firm.pdf_engine  # noqa: E402, F401 - loaded before the forks
from estimating.services.proposal_sending import send_proposal  # noqa: E402
from estimating.services.proposals import create_draft  # noqa: E402
from firm.celery import app  # noqa: E402
from firm.models import Job  # noqa: E402
from firm.services import jobs  # noqa: E402
from tests import factories  # noqa: E402
from tests.faults.forks import READY  # noqa: E402
from tests.job_cast import accept, make_sold_estimate  # noqa: E402

PROPOSALS, SALES = 4, 4
CLOSING = -1
NOW = factories.NOW


def set_up() -> None:
    """Leave sales to be made jobs of, and proposals to be printed and mailed; none is due yet."""
    factories.make_firm()
    site = factories.make_site()
    for number in range(SALES):
        accept(factories.make_sent_proposal(make_sold_estimate(site, number=1001 + number)))
        _put_off()
    for number in range(PROPOSALS):
        estimate = factories.make_estimate(site, number=2001 + number)
        draft = create_draft(estimate=estimate, actor=None, now=NOW)
        send_proposal(proposal=draft, to="wren@example.com", actor=None, now=NOW)
    _put_off()
    connections.close_all()


def _put_off() -> None:
    Job.objects.filter(state="queued").update(due_at=NOW.replace(year=2999))


class Bomb:
    """Kills this very process in front of a statement."""

    def __init__(self, statement: int) -> None:
        self.statement = statement
        self.seen: int | None = None

    def __call__(self, execute: Any, sql: str, params: Any, many: bool, context: Any) -> Any:
        of_the_job = sql.startswith('UPDATE "firm_job"')
        if self.seen is not None:
            self.seen += 1
            closes = of_the_job and "done" in params
            if self.seen == self.statement or (self.statement == CLOSING and closes):
                os.kill(os.getpid(), signal.SIGKILL)
        answer = execute(sql, params, many, context)
        if self.seen is None and of_the_job and "running" in params:
            self.seen = 0
        return answer


def work(statement: int) -> None:
    """Send what is due, as a sweep does, and be a worker from now on."""
    jobs.sweep(now=timezone.now())
    if statement:
        connection.execute_wrappers.append(Bomb(statement))
    options: dict[str, Any] = {"pool": "solo", "loglevel": "ERROR", "quiet": True}
    app.Worker(**options, without_gossip=True, without_mingle=True, without_heartbeat=True).start()


def main() -> None:
    set_up()
    warnings.filterwarnings("ignore", message="You're running the worker with superuser")
    # Nobody waits for the killed.
    signal.signal(signal.SIGCHLD, signal.SIG_IGN)
    sys.stdout.write(f"{READY}\n")
    sys.stdout.flush()
    for line in sys.stdin:
        child = os.fork()
        if child == 0:
            os.setsid()
            signal.signal(signal.SIGCHLD, signal.SIG_DFL)
            work(int(line))
            os._exit(0)
        sys.stdout.write(f"{child}\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main()
