"""Enough stands behind the figures: the count of this folder's checks by their sources."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


@pytest.mark.slow
def test_enough_checks_name_their_source() -> None:
    counted = subprocess.run(
        [sys.executable, "-m", "tests.published.count"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )

    # 30 from published examples, tables or texts, 60 in all; count.py says which is missing.
    assert counted.returncode == 0, counted.stdout[-3000:] + counted.stderr[-1000:]
