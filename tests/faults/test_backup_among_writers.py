"""A backup made while others write shows one moment, keeps nobody waiting and lacks no file."""

import json
import os
import subprocess
import sys
import tarfile
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from tests.faults.forks import READY, ROOT

# Its processes work on the built-in database, whatever the run is on.
pytestmark = [pytest.mark.slow, pytest.mark.once]

WRITERS = 2
BACKUPS = 3


def test_backup_among_writers_shows_one_moment(tmp_path: Path, var: Path) -> None:
    kept = {key: value for key, value in os.environ.items() if key != "DATABASE_URL"}
    environment = {**kept, "FF_VAR": str(var)}
    program = [sys.executable, "tests/faults/write_all_the_time.py"]
    subprocess.run([*program, "set-up"], cwd=ROOT, env=environment, check=True)
    writers = [
        subprocess.Popen(
            [*program, "write"],
            cwd=ROOT,
            env=environment,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        for _ in range(WRITERS)
    ]
    try:
        for writer in writers:
            assert writer.stdout is not None
            assert writer.stdout.readline().strip() == READY
        # Fails by itself where the writers do not get on between its first table and its second.
        subprocess.run([*program, "back-up"], cwd=ROOT, env=environment, check=True)
    finally:
        for writer in writers:
            writer.communicate()
    assert [writer.returncode for writer in writers] == [0] * WRITERS

    moments = [moment_of(tmp_path / f"{number}.tar.gz") for number in range(BACKUPS)]
    # Writers got on from each to the next, by 3 at least while it was made.
    assert all(later - sooner >= 3 for sooner, later in pairwise(moments))


def moment_of(archive: Path) -> int:
    """Return the number that all of a backup agrees on."""
    with tarfile.open(archive) as tar:
        contents = {entry.name: tar.extractfile(entry) for entry in tar}
        read = {name: content.read() for name, content in contents.items() if content}
    manifest = json.loads(read["manifest.json"])
    columns = {table["name"]: table["columns"] for table in manifest["tables"]}

    def rows(name: str) -> list[dict[str, Any]]:
        lines = read[f"tables/{name}.jsonl"].splitlines()
        return [dict(zip(columns[name], json.loads(line), strict=True)) for line in lines]

    (customer,), (crew,), papers = (
        rows("firm.customer"),
        rows("scheduling.crew"),
        rows("firm.attachment"),
    )
    assert customer["notes"] == crew["name"]
    assert manifest["missing_files"] == []
    assert {f"files/{paper['file']}" for paper in papers} <= read.keys()
    # A paper follows its number; those of the writers that are at it are still to come.
    number = int(customer["notes"])
    assert number - WRITERS <= len(papers) <= number
    return number
