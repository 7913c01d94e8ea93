"""A table of mixes that can't be right is refused, and what waits longest in steady air."""

import math
from dataclasses import replace

import pytest

from scheduling.engine.cure import CureMix, CureTable, CureWait, Work
from scheduling.engine.errors import EngineError
from scheduling.starter import load_cure_table, load_hardening

TABLE = load_cure_table()
HARDENING = load_hardening()
STANDARD, FAST = TABLE.mix("standard"), TABLE.mix("fast")


def bands(*pairs: tuple[float, float]) -> tuple[CureWait, ...]:
    return tuple(
        CureWait(work=work, from_air_f=air_f, hours=hours)
        for work in Work
        for air_f, hours in pairs
    )


def mix_of(waits: tuple[CureWait, ...], *, cold_words: str = "stop.") -> CureMix:
    return CureMix(
        key="own",
        name="own mix",
        cold_words=cold_words,
        waits=waits,
        label_hours=dict.fromkeys(Work, 4),
    )


@pytest.mark.parametrize(
    ("pairs", "words"),
    [
        ((), "every work"),
        (((50, 0),), "longer than 0 h"),
        (((50, -4),), "longer than 0 h"),
        (((50, float("nan")),), "longer than 0 h"),
        (((50, float("inf")),), "longer than 0 h"),
        (((float("nan"), 24),), "begins at a temperature"),
        (((50, 24), (50, 48)), "twice"),
        (((50, 24), (40, 12)), "colder air"),
    ],
)
def test_table_that_cannot_be_right_is_refused(
    pairs: tuple[tuple[float, float], ...], words: str
) -> None:
    with pytest.raises(EngineError, match=words):
        mix_of(bands(*pairs))


def test_mix_without_a_word_for_the_cold_is_refused() -> None:
    with pytest.raises(EngineError, match="in the cold"):
        mix_of(bands((50, 24)), cold_words=" ")


def test_mix_that_is_not_in_the_table_is_refused() -> None:
    with pytest.raises(EngineError, match="no mix 'quick'") as refused:
        TABLE.mix("quick")
    assert refused.value.field == "mix"


@pytest.mark.parametrize("hours", [-1, math.inf, math.nan])
def test_label_that_cannot_be_right_is_refused(hours: float) -> None:
    with pytest.raises(EngineError, match="label") as refused:
        replace(STANDARD, label_hours={**STANDARD.label_hours, Work.GATES: hours})
    assert refused.value.field == "label_hours"


@pytest.mark.parametrize("parts", [{}, dict.fromkeys(Work, 1.3)])
def test_part_of_strength_no_curve_comes_to_is_refused(parts: dict[Work, float]) -> None:
    with pytest.raises(EngineError, match="between 0 and") as refused:
        replace(STANDARD, strength_parts=parts)
    assert refused.value.field == "fraction"
    # Without a curve none is asked for.
    assert replace(FAST, strength_parts=parts).curve is None


@pytest.mark.parametrize(
    ("mix", "work", "air_f", "hours"),
    [
        # 60 F counts as .6471: panels 30.476 / .6471 = 47.1 of the table's 48; gates 108.1.
        (STANDARD, Work.PANELS, 60, 48),
        (STANDARD, Work.GATES, 60, 108.1),
        (FAST, Work.PANELS, 75, 4),
        (replace(FAST, label_hours=dict.fromkeys(Work, 6)), Work.PANELS, 75, 6),
        (FAST, Work.PANELS, 39, math.inf),
        # A table that goes on where the clock stops.
        (replace(STANDARD, waits=bands((20, 100))), Work.PANELS, 39, math.inf),
    ],
)
def test_longest_wait_in_steady_air(mix: CureMix, work: Work, air_f: float, hours: float) -> None:
    assert mix.steady_hours(work, air_f, TABLE.rule) == pytest.approx(hours, abs=0.05)


def test_longest_wait_of_all_mixes() -> None:
    # Gates on standard mix at 40 F: 69.960 / .3235 = 216.3.
    assert TABLE.longest_h(40) == pytest.approx(216.3, abs=0.05)


def test_table_is_searched_by_key() -> None:
    own = mix_of(bands((30, 100)))
    assert CureTable(mixes=(own,), rule=HARDENING.rule).mix("own") is own
