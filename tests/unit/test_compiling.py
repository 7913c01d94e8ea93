"""Where what is compiled is kept."""

from pathlib import Path
from typing import Any

import numba
import pytest

from scheduling.engine.planner import compiling

CONFIG: Any = numba.config


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
