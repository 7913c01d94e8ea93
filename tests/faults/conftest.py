"""A database with its tables, made once and copied for each test: making it takes seconds."""

import os
import shutil
import sqlite3
import subprocess
import sys
import uuid
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlsplit

import psycopg
import pytest

from tests.faults.forks import ROOT

KEPT = {key: value for key, value in os.environ.items() if key != "DATABASE_URL"}


@dataclass(frozen=True)
class Place:
    """What processes of a test work on together: a data folder and a database."""

    environment: dict[str, str]
    ask: Callable[[str], list[tuple[object, ...]]]


def _migrate(**environment: str) -> None:
    command = [sys.executable, "manage.py", "migrate", "-v0"]
    subprocess.run(command, cwd=ROOT, env={**KEPT, **environment}, check=True)


@pytest.fixture(scope="session")
def empty_database(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the built-in database as it stands before the first row."""
    var = tmp_path_factory.mktemp("empty")
    _migrate(FF_VAR=str(var))
    return var / "db.sqlite3"


@pytest.fixture
def var(empty_database: Path, tmp_path: Path) -> Path:
    """Return a data folder of the test's own."""
    folder = tmp_path / "var"
    folder.mkdir()
    shutil.copy(empty_database, folder)
    return folder


@pytest.fixture(scope="session")
def postgres() -> Iterator[Callable[[], str]]:
    """Return what makes a database with its tables on the server of this run; all are dropped."""
    server, made = os.environ["DATABASE_URL"], list[str]()

    def at(name: str) -> str:
        return urlsplit(server)._replace(path=f"/{name}").geturl()

    def run(statement: str) -> None:
        with psycopg.connect(server, autocommit=True) as connection:
            connection.execute(statement.encode())

    def make() -> str:
        made.append(f"ff_at_once_{uuid.uuid4().hex}")
        run(f"CREATE DATABASE {made[-1]}" + (f" TEMPLATE {made[0]}" if made[1:] else ""))
        if len(made) == 1:
            _migrate(DATABASE_URL=at(made[0]))
            return make()
        return at(made[-1])

    yield make
    for name in made:
        run(f"DROP DATABASE {name}")


@pytest.fixture
def place(request: pytest.FixtureRequest, tmp_path: Path) -> Place:
    """Return a place on the kind of database this run tests."""
    environment = {**KEPT, "DJANGO_SETTINGS_MODULE": "firm.settings"}
    if not os.environ.get("DATABASE_URL", "").startswith("postgres"):
        var = request.getfixturevalue("var")

        def ask_file(query: str) -> list[tuple[object, ...]]:
            database = sqlite3.connect(var / "db.sqlite3")
            try:
                return database.execute(query).fetchall()
            finally:
                database.close()

        return Place({**environment, "FF_VAR": str(var)}, ask_file)

    url = request.getfixturevalue("postgres")()

    def ask_server(query: str) -> list[tuple[object, ...]]:
        with psycopg.connect(url) as database:
            return database.execute(query.encode()).fetchall()

    return Place({**environment, "FF_VAR": str(tmp_path), "DATABASE_URL": url}, ask_server)
