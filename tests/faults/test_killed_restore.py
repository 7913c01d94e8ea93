"""A restore killed at any of its steps leaves the old state whole, or the new one."""

import os
import shutil
import signal
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.faults.forks import Program, wait_until_gone

# Its processes work on the built-in database, whatever the run is on.
pytestmark = [pytest.mark.slow, pytest.mark.once]

# Spread over all steps; those around the commit and of putting the files in place are all taken.
SPREAD = 16
AFTER_COMMIT = 12
FROM_OUTSIDE = 10
MOST_SHORTENED = 1000
NEVER = 1_000_000


class Installation:
    """A data folder that stands as before at every trial."""

    def __init__(self, folder: Path, var: Path) -> None:
        self.folder, self.var = folder, var
        self.program = Program("frail_restore", var=self.var)

    def stand_as_before(self) -> None:
        shutil.rmtree(self.var)
        shutil.copytree(self.folder / "standing", self.var)

    def state(self) -> str:
        return self.program.ask("look")

    def state_after_kill_at(self, step: int) -> str:
        """Restore, killed in front of a step; return in which state a start finds things."""
        self.stand_as_before()
        wait_until_gone(int(self.program.ask("restore", step)))
        return self.state()

    def takes_s(self) -> float:
        """Return how long a restore takes that nobody kills."""
        self.stand_as_before()
        began_s = time.monotonic()
        wait_until_gone(int(self.program.ask("restore", NEVER)))
        return time.monotonic() - began_s

    def is_killed_after(self, pause_s: float) -> bool:
        """Kill a restore after a time; return whether it was not over by then."""
        self.stand_as_before()
        process = int(self.program.ask("restore", NEVER))
        time.sleep(pause_s)
        try:
            os.kill(process, signal.SIGKILL)
        except ProcessLookupError:
            return False
        wait_until_gone(process)
        return True


@pytest.fixture
def installation(tmp_path: Path, var: Path) -> Iterator[Installation]:
    installation = Installation(tmp_path, var)
    yield installation
    installation.program.end()


def test_killed_restore_leaves_the_old_or_the_new_whole(installation: Installation) -> None:
    old = installation.state()
    took_s = installation.takes_s()
    new = installation.state()
    assert old != new
    steps = (installation.folder / "steps.txt").read_text().splitlines()
    # The last statement inside the transaction writes the record; the commit follows it.
    commit = max(i for i, step in enumerate(steps, 1) if step.startswith("INSERT INTO")) + 1
    assert "os.rename" in steps[commit:]

    spread = set(range(2, commit, commit // SPREAD)) | {commit - 2, commit - 1}
    for step in sorted(spread):
        assert installation.state_after_kill_at(step) == old, (step, steps[step - 1])
    for step in range(commit, min(commit + AFTER_COMMIT, len(steps) + 1)):
        assert installation.state_after_kill_at(step) == new, (step, steps[step - 1])
    # From outside, by the clock, inside the commit itself, too, if it so falls. On a machine that
    # has less to do by now a restore may be over first: then sooner.
    for number in range(FROM_OUTSIDE):
        pause_s = took_s * number / FROM_OUTSIDE
        while not installation.is_killed_after(pause_s):
            assert installation.state() == new, number
            pause_s /= 2
            assert pause_s > took_s / MOST_SHORTENED, "No restore is ever caught at work."
        assert installation.state() in {old, new}, number
