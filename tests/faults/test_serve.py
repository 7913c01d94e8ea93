"""The whole app on one machine: it answers, and stopping it leaves nothing running."""

import http.client
import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

# Its processes work on the built-in database, whatever the run is on.
pytestmark = [pytest.mark.slow, pytest.mark.once]

ROOT = Path(__file__).resolve().parents[2]
PATIENCE_S = 30


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def processes_under(var: Path) -> list[int]:
    """Return the processes that were started with this data folder."""
    mark = f"FF_VAR={var}".encode()
    found = []
    for entry in Path("/proc").glob("[0-9]*"):
        try:
            if mark in (entry / "environ").read_bytes().split(b"\0"):
                found.append(int(entry.name))
        except OSError:  # ended in the meantime, or another user's
            continue
    return found


def answer(port: int, path: str) -> int:
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=PATIENCE_S)
    try:
        connection.request("GET", path)
        return connection.getresponse().status
    finally:
        connection.close()


@pytest.fixture
def running(tmp_path: Path) -> Iterator[tuple[subprocess.Popen[str], int, Path]]:
    var, port = tmp_path / "var", free_port()
    # Unbuffered, the output would hide that it must be flushed.
    left_out = {"DATABASE_URL", "PYTHONUNBUFFERED"}
    kept = {key: value for key, value in os.environ.items() if key not in left_out}
    # As a shell starts what it runs in the background: deaf to SIGINT until it asks for it.
    heard = signal.signal(signal.SIGINT, signal.SIG_IGN)
    process = subprocess.Popen(
        [sys.executable, "manage.py", "serve", "--empty", "--port", str(port)],
        cwd=ROOT,
        env={**kept, "FF_VAR": str(var)},
        stdout=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )
    signal.signal(signal.SIGINT, heard)
    yield process, port, var
    for pid in processes_under(var):
        os.kill(pid, signal.SIGKILL)
    process.wait()
    if process.stdout is not None:
        process.stdout.close()


def first_line(process: subprocess.Popen[str]) -> str:
    assert process.stdout is not None
    return process.stdout.readline()


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_app_answers_at_the_address_it_prints_and_stops_whole(
    running: tuple[subprocess.Popen[str], int, Path], number: signal.Signals
) -> None:
    process, port, var = running

    assert first_line(process) == f"Firm Footing is running at http://127.0.0.1:{port}\n"
    assert answer(port, "/healthz") == 200
    assert answer(port, "/static/css/app.css") == 200
    assert answer(port, "/static/../manage.py") == 404

    process.send_signal(number)
    assert process.wait(timeout=PATIENCE_S) == 0
    assert processes_under(var) == []


def test_killed_worker_is_started_again(
    running: tuple[subprocess.Popen[str], int, Path],
) -> None:
    process, _, var = running
    first_line(process)

    def workers() -> set[int]:
        return {
            pid
            for pid in processes_under(var)
            if b"firm.celery:app" in Path(f"/proc/{pid}/cmdline").read_bytes()
        }

    before = workers()
    assert before
    for pid in before:
        os.kill(pid, signal.SIGKILL)

    deadline_s = time.monotonic() + PATIENCE_S
    while not workers() - before:
        assert time.monotonic() < deadline_s, "No new worker was started."
        time.sleep(0.1)
