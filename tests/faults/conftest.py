"""A database with its tables, made once and copied for each test: making it takes seconds."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.faults.forks import ROOT


@pytest.fixture(scope="session")
def empty_database(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the built-in database as it stands before the first row."""
    var = tmp_path_factory.mktemp("empty")
    kept = {key: value for key, value in os.environ.items() if key != "DATABASE_URL"}
    command = [sys.executable, "manage.py", "migrate", "-v0"]
    subprocess.run(command, cwd=ROOT, env={**kept, "FF_VAR": str(var)}, check=True)
    return var / "db.sqlite3"


@pytest.fixture
def var(empty_database: Path, tmp_path: Path) -> Path:
    """Return a data folder of the test's own."""
    folder = tmp_path / "var"
    folder.mkdir()
    shutil.copy(empty_database, folder)
    return folder
