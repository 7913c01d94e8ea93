"""A program that stays loaded and forks a process for each line it is sent."""

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PATIENCE_S = 25
READY = "ready"


class Program:
    """A running program of this folder; it answers each line with one."""

    def __init__(self, name: str, *, var: Path) -> None:
        # The built-in database, whatever the other tests run on.
        kept = {key: value for key, value in os.environ.items() if key != "DATABASE_URL"}
        self.process = subprocess.Popen(
            [sys.executable, f"tests/faults/{name}.py"],
            cwd=ROOT,
            env={**kept, "FF_VAR": str(var)},
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        if (first := self.answer()) != READY:
            self.end()
            pytest.fail(f"{name} did not start: {first}")

    def answer(self) -> str:
        assert self.process.stdout is not None
        return self.process.stdout.readline().strip()

    def ask(self, *words: object) -> str:
        """Send a line; return the answer."""
        assert self.process.stdin is not None
        self.process.stdin.write(" ".join(str(word) for word in words) + "\n")
        self.process.stdin.flush()
        return self.answer()

    def end(self) -> None:
        assert self.process.stdin is not None
        assert self.process.stdout is not None
        self.process.stdin.close()
        self.process.wait(timeout=PATIENCE_S)
        self.process.stdout.close()


def wait_until_gone(process: int) -> None:
    """Wait for the end of a process that nobody waits for."""
    deadline_s = time.monotonic() + PATIENCE_S
    while True:
        try:
            os.kill(process, 0)
        except ProcessLookupError:
            return
        assert time.monotonic() < deadline_s, f"Process {process} lives on."
        time.sleep(0.005)
