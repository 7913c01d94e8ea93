"""Several processes do one thing at the same moment: it is done once, the others are harmless."""

import subprocess
import sys
import time

import pytest

from tests.faults.conftest import Place
from tests.faults.forks import ROOT

pytestmark = pytest.mark.slow

PEOPLE = 4
# Long enough for all of them to have started.
HEAD_START_S = 6.0


def begin_together(program: str, place: Place) -> list[int]:
    """Run the program's set-up, then four of it at one moment; return what each ended with."""
    command = [sys.executable, f"tests/faults/{program}.py"]
    subprocess.run([*command, "set-up"], cwd=ROOT, env=place.environment, check=True)
    moment = str(time.time() + HEAD_START_S)
    running = [
        subprocess.Popen([*command, f"Person {number}", moment], cwd=ROOT, env=place.environment)
        for number in range(PEOPLE)
    ]
    return sorted(one.wait(timeout=60) for one in running)


def test_four_at_once_accept_one_proposal_once(place: Place) -> None:
    assert begin_together("accept_proposal", place) == [0, 0, 0, 1]

    [(accepted,)] = place.ask("SELECT count(*) FROM estimating_acceptance")
    [(mails,)] = place.ask("SELECT count(*) FROM firm_outgoingmail WHERE subject LIKE '%accepted'")
    # One to the customer and one to the firm.
    assert (accepted, mails) == (1, 2)


def test_four_at_once_finish_pay_and_issue_once(place: Place) -> None:
    # Each of the three deeds succeeds with one of them.
    assert sum(begin_together("close_job", place)) == 3

    assert place.ask("SELECT count(*) FROM scheduling_completion") == [(1,)]
    paid = place.ask("SELECT amount FROM estimating_payment")
    assert [f"{amount:.2f}" for (amount,) in paid] == ["2040.00"]
    # 5,100.00 less the 2,040.00 received, or all of it where it was issued before the payment.
    [(state, amount)] = place.ask("SELECT state, amount FROM estimating_invoice")
    assert state == "issued"
    assert f"{amount:.2f}" in {"3060.00", "5100.00"}
