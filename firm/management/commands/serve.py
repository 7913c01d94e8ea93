"""Starts the whole app on one machine: database, demo, web server and worker."""

import argparse
import http.client
import os
import signal
import socket
import subprocess
import sys
import time
from io import StringIO
from pathlib import Path
from types import FrameType
from typing import Any

from django.conf import settings
from django.core.management import BaseCommand, CommandError, call_command
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

from firm import checks
from firm.models import FirmProfile
from firm.services.restore import finish_interrupted_restores

START_WITHIN_S = 30
STOP_WITHIN_S = 15
# A firm's one machine may well run this as root; jobs are JSON, so Celery's warning has no cause.
QUIET_AS_ROOT = {"PYTHONWARNINGS": "ignore:You're running the worker with superuser"}


class Command(BaseCommand):
    help = "Brings the database up to date and runs web server and worker until Ctrl-C."
    requires_system_checks = (checks.START,)

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        parser.add_argument("--port", type=int, default=8000, help="port to listen on")
        parser.add_argument("--host", default="127.0.0.1", help="address to listen on")
        parser.add_argument(
            "--empty", action="store_true", help="begin with first-run set-up, not the demo firm"
        )

    def handle(self, *args: Any, port: int, host: str, empty: bool, **options: Any) -> None:
        refuse_taken_port(host, port)
        migrate_if_needed()
        finish_interrupted_restores()
        logins = prepare_data(empty=empty)
        # A link in a mail must lead to the port that was asked for.
        os.environ.setdefault("FF_PUBLIC_URL", f"http://{host}:{port}")
        # A shell starts what it runs in the background deaf to Ctrl-C's signal, and so Python.
        for number in (signal.SIGINT, signal.SIGTERM):
            signal.signal(number, _stop)
        with Children(host=host, port=port) as children:
            children.wait_until_web_answers()
            self.stdout.write(f"Firm Footing is running at {os.environ['FF_PUBLIC_URL']}")
            if logins:
                self.stdout.write(logins)
            self.stdout.write("Ctrl-C stops it.")
            # Into a log file, the address would otherwise wait for the end.
            self.stdout.flush()
            try:
                children.watch()
            except KeyboardInterrupt:
                self.stdout.write("Stopping.")


def _stop(number: int, frame: FrameType | None) -> None:
    raise KeyboardInterrupt


def refuse_taken_port(host: str, port: int) -> None:
    """Say that the port is taken now, in a sentence, and not after a long start."""
    if not 1 <= port <= 65535:
        raise CommandError(f"A port is a number from 1 to 65535, not {port}.")
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    with socket.socket(family, socket.SOCK_STREAM) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except OSError as error:
            raise CommandError(
                f"Port {port} of {host} can't be used ({error.strerror}). Is the app running "
                f"already? Another port: bin/start --port {min(port + 1, 65535)}"
            ) from error


def migrate_if_needed() -> None:
    executor = MigrationExecutor(connection)
    if executor.migration_plan(executor.loader.graph.leaf_nodes()):
        call_command("migrate", interactive=False, verbosity=0)


def prepare_data(*, empty: bool) -> str:
    """Load the demo firm into a new database; return its log-ins, which are kept in a file."""
    logins_file: Path = settings.FF_VAR / "demo-log-ins.txt"
    empty_mark: Path = settings.FF_VAR / "started-empty"
    if logins_file.exists():
        if empty:
            raise CommandError(
                f"{settings.FF_VAR} holds the demo firm already. For a firm of your own, choose "
                "another folder: FF_VAR=/path/to/folder bin/start --empty"
            )
        return logins_file.read_text(encoding="utf-8")
    if FirmProfile.objects.exists():
        return ""
    if empty:
        empty_mark.touch()
    if empty_mark.exists():
        # Fence systems, prices and rates to begin with; the demo brings its own.
        call_command("load_starter", stdout=StringIO())
        return ""
    answer = StringIO()
    call_command("load_demo", stdout=answer)
    logins_file.write_text(answer.getvalue(), encoding="utf-8")
    return answer.getvalue()


def web_command(*, host: str, port: int) -> list[str]:
    address = f"[{host}]:{port}" if ":" in host else f"{host}:{port}"
    return [
        *(sys.executable, "-m", "gunicorn", "firm.wsgi:application", "--bind", address),
        *("--workers", "2", "--threads", "4", "--worker-class", "gthread", "--timeout", "60"),
        # Loaded once, shared by both.
        *("--preload", "--no-control-socket", "--log-level", "warning"),
    ]


def worker_command() -> list[str]:
    """Return the command of one worker that also sends the sweeps.

    It works on one job after another: two PDFs at once would only share the processor.
    """
    return [
        *(sys.executable, "-m", "celery", "--quiet", "--app", "firm.celery:app", "worker"),
        *("--beat", "--pool", "solo", "--loglevel", "WARNING"),
        *("--without-gossip", "--without-mingle", "--without-heartbeat"),
    ]


class Children:
    """The web server and the worker, which end together."""

    def __init__(self, *, host: str, port: int) -> None:
        self.address = (host, port)
        self.web = self._begin(web_command(host=host, port=port))
        self.worker = self._begin(worker_command())

    def __enter__(self) -> "Children":
        return self

    def __exit__(self, *error: object) -> None:
        running = [self.web, self.worker]
        for child in running:
            if child.poll() is None:
                child.terminate()
        for child in running:
            try:
                child.wait(timeout=STOP_WITHIN_S)
            except subprocess.TimeoutExpired:
                child.kill()

    @staticmethod
    def _begin(command: list[str]) -> subprocess.Popen[bytes]:
        # A session of its own: Ctrl-C reaches this process alone, which ends both in order.
        # S603: both commands are written above, without a word from outside.
        return subprocess.Popen(  # noqa: S603
            command,
            cwd=settings.BASE_DIR,
            env={**os.environ, **QUIET_AS_ROOT},
            start_new_session=True,
        )

    def wait_until_web_answers(self) -> None:
        deadline_s = time.monotonic() + START_WITHIN_S
        while time.monotonic() < deadline_s:
            if self.web.poll() is not None:
                raise CommandError("The web server did not start; the reason stands above.")
            if self._web_answers():
                return
            time.sleep(0.05)
        raise CommandError(f"The web server did not answer within {START_WITHIN_S} seconds.")

    def _web_answers(self) -> bool:
        """Say whether a request gets an answer; the port is taken before the app is there."""
        connection = http.client.HTTPConnection(*self.address, timeout=START_WITHIN_S)
        try:
            connection.request("GET", "/healthz")
            connection.getresponse()
        except OSError:
            return False
        finally:
            connection.close()
        return True

    def watch(self) -> None:
        """Start the worker again when it dies; return when the web server has ended."""
        while self.web.poll() is None:
            if self.worker.poll() is not None:
                self.worker = self._begin(worker_command())
            time.sleep(1)
        raise CommandError("The web server has ended; the reason stands above.")
