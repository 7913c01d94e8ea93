"""No file is too long to be read at once."""

from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
MOST_LINES = 400
KINDS = {".py", ".html", ".css", ".js"}


def lines_of(path: Path) -> int:
    return len(path.read_text(encoding="utf-8").splitlines())


@pytest.mark.once
@pytest.mark.parametrize(
    "part", ["firm", "estimating", "scheduling", "templates", "static", "tests"]
)
def test_no_file_is_longer_than_it_may_be(part: str) -> None:
    """Migrations are written by a program and read by nobody twice."""
    files = [
        path
        for path in (ROOT / part).rglob("*")
        if path.suffix in KINDS and "migrations" not in path.parts
    ]
    assert files
    assert [str(one) for one in files if lines_of(one) > MOST_LINES] == []
