"""How the search is compiled, and where what is compiled is kept."""

from pathlib import Path
from typing import Any

import numba
import numpy as np
import pytest
from numpy.typing import NDArray

from scheduling.engine.planner import compiling

CONFIG: Any = numba.config
Rows = NDArray[np.int64]


@pytest.fixture
def options(monkeypatch: pytest.MonkeyPatch) -> dict[str, object]:
    """Begin from nothing kept."""
    found: dict[str, object] = {}
    monkeypatch.setattr(compiling, "OPTIONS", found)
    monkeypatch.setattr(CONFIG, "CACHE_DIR", "")
    return found


def test_what_is_compiled_is_kept_by_what_the_code_is(
    options: dict[str, object], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(compiling, "HERE", tmp_path)
    kept = []
    for code in ("one = 1\n", "one = 2\n"):
        (tmp_path / "code.py").write_text(code)
        compiling.keep_made()
        kept.append(Path(CONFIG.CACHE_DIR))
    assert kept[0] != kept[1]
    # What was made of code that is no more goes.
    assert [one.exists() for one in kept] == [False, True]
    assert options == {"cache": True}


def test_where_nothing_can_be_written_nothing_is_kept(
    options: dict[str, object], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "file"
    file.write_text("")
    monkeypatch.setattr(compiling, "HERE", file)
    compiling.keep_made()
    assert (options, CONFIG.CACHE_DIR) == ({}, "")


def test_where_only_others_may_write_nothing_is_kept(
    options: dict[str, object], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(compiling, "HERE", tmp_path)
    monkeypatch.setattr("os.access", lambda *_: False)
    compiling.keep_made()
    assert (options, CONFIG.CACHE_DIR) == ({}, "")


@pytest.fixture
def in_bounds(monkeypatch: pytest.MonkeyPatch) -> None:
    """Have what is compiled look for indexes beyond an array, and keep nothing of it."""
    changed = compiling.OPTIONS | {"boundscheck": True, "cache": False}
    monkeypatch.setattr(compiling, "OPTIONS", changed)


def raised(rows: Rows, row: int, column: int) -> int:
    """Count one more at a row and column; return what that comes to."""
    rows[row, column] += 1
    return int(rows[row, column])


@pytest.mark.usefixtures("in_bounds")
@pytest.mark.parametrize("row", [0, 2, np.int32(1), np.uint8(2)])
def test_index_finds_what_it_finds_uncompiled(row: int) -> None:
    rows, others = np.arange(12).reshape(3, 4), np.arange(12).reshape(3, 4)
    assert compiling.compiled(raised)(rows, row, 3) == raised(others, row, 3)
    assert (rows == others).all()


@pytest.mark.usefixtures("in_bounds")
@pytest.mark.parametrize(("row", "column"), [(3, 0), (0, 4), (-1, 0), (0, -1), (np.int32(-3), 0)])
def test_no_index_is_counted_from_the_end(row: int, column: int) -> None:
    """By itself the compiler takes -1 for the last; here it is beyond the array."""
    rows = np.arange(12).reshape(3, 4)
    with pytest.raises(IndexError):
        compiling.compiled(raised)(rows, row, column)
    assert (rows == np.arange(12).reshape(3, 4)).all()
