"""Equal entries are read once; whatever differs is read anew."""

from types import MappingProxyType
from typing import Any

import pytest

from estimating.engine.catalog import PriceItem
from estimating.engine.errors import EngineError
from estimating.engine.fields import Entry
from estimating.engine.reading import read_catalog
from estimating.engine.reading_once import reads_once
from estimating.starter import load_starter_data

reads: list[str] = []


@reads_once(most=3)
def read_width(key: str, entry: Entry) -> tuple[str, float]:
    reads.append(key)
    return key, entry.number("width_in")


def read(key: str, values: Any) -> tuple[str, float]:
    return read_width(key, Entry(values, "here"))


@pytest.fixture(autouse=True)
def _none_read_yet() -> None:
    reads.clear()
    for key in "wxyz":  # more than are kept: what other tests read is forgotten
        read(key, {"width_in": -0.0})
    reads.clear()


def test_equal_values_are_read_once_wherever_they_come_from() -> None:
    first = read("a", {"width_in": 4.5})
    assert read("a", {"width_in": float("4.5")}) is first
    assert reads == ["a"]


def test_another_key_and_other_values_are_read_anew() -> None:
    assert read("a", {"width_in": 4.5}) == ("a", 4.5)
    assert read("b", {"width_in": 4.5}) == ("b", 4.5)
    assert read("a", {"width_in": 5.0}) == ("a", 5.0)
    assert reads == ["a", "b", "a"]


def test_one_and_true_are_not_the_same() -> None:
    # In Python 1 == 1.0 == True, and only two of them are numbers of inches.
    read("a", {"width_in": 1})
    with pytest.raises(EngineError, match="must be a number"):
        read("a", {"width_in": True})


def test_a_refusal_is_told_each_time_and_what_it_refused_is_not_kept() -> None:
    for _ in range(2):
        with pytest.raises(EngineError, match="can't be negative"):
            read("a", {"width_in": -1})
    assert reads == ["a", "a"]


def test_the_path_of_a_refusal_is_where_it_stands_now() -> None:
    read("a", {"width_in": 1})
    with pytest.raises(EngineError) as refusal:
        read_width("a", Entry({"width_in": -1}, "there"))
    assert refusal.value.field == "there.width_in"


def test_values_that_no_bytes_tell_apart_are_read_each_time() -> None:
    for _ in range(2):
        assert read("a", MappingProxyType({"width_in": 2})) == ("a", 2.0)
    assert reads == ["a", "a"]


def test_only_so_many_are_kept() -> None:
    for width_in in (1, 2, 3, 4, 1):
        read("a", {"width_in": width_in})
    assert len(reads) == 5


def test_a_changed_price_and_system_are_seen_at_the_next_reading() -> None:
    data = load_starter_data()
    before = read_catalog(data)
    key = next(iter(data["fence_systems"]))
    data["prices"]["concrete_80lb"]["unit_cost"] = "9.87"
    data["fence_systems"][key]["height_in"] = 61.5
    after = read_catalog(data)

    assert str(after.prices["concrete_80lb"].unit_cost) == "9.87"
    assert after.systems[key].height_in == 61.5
    assert before.systems[key].height_in != 61.5
    assert isinstance(before.prices["concrete_80lb"], PriceItem)
    others = set(before.systems) - {key}
    assert all(after.systems[each] is before.systems[each] for each in others)
