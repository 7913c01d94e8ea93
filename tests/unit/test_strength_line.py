"""A pour's strength as a line with its crossings, and where none is reckoned."""

import datetime as dt
from dataclasses import replace
from zoneinfo import ZoneInfo

import pytest

from scheduling.engine.air import Air, LowHigh
from scheduling.engine.cure import Work
from scheduling.engine.hanging import Pour
from scheduling.engine.strength_line import strength_line
from scheduling.starter import load_cure_table

CHICAGO = ZoneInfo("America/Chicago")
TABLE = load_cure_table()
TUESDAY_9 = dt.datetime(2026, 5, 5, 9, tzinfo=CHICAGO)
WORKS = (Work.PANELS, Work.GATES)


def pour(air: Air, *, mix: str = "standard", is_covered: bool = False) -> Pour:
    return Pour(poured_at=TUESDAY_9, mix=mix, air=air, is_covered=is_covered)


def test_line_ends_behind_its_last_crossing() -> None:
    # 48 F counts as .4297: panels 30.476 / .4297 = 70.93 h, Fri 7:55; gates 69.960 / .4297 =
    # 162.82 h, Tue 12 3:49. 162.82 + 12 = 174.82, up to 180 h.
    line = strength_line(pour(Air(said_f=48)), WORKS, TABLE)
    assert line is not None
    assert line.hours == 180
    assert [(one.work, one.part) for one in line.crossings] == [
        (Work.PANELS, 0.25),
        (Work.GATES, 0.45),
    ]
    assert [one.hours for one in line.crossings] == pytest.approx([70.93, 162.82], abs=0.01)
    assert [f"{one.at:%a %H:%M}" for one in line.crossings] == ["Fri 07:55", "Tue 03:49"]
    # Before and after the crossing of the panels, hour by hour.
    assert line.parts[0] == 0
    assert line.parts[70] < 0.25 < line.parts[71]
    assert line.parts[162] < 0.45 < line.parts[163]


@pytest.mark.parametrize(
    "none_for",
    [
        pour(Air(said_f=60), mix="fast"),
        pour(Air(said_f=30)),
        pour(Air(said_f=39)),
        pour(Air(said_f=30), is_covered=True),
    ],
    ids=["no curve", "frost", "too cold for ever", "covered, but too cold for ever"],
)
def test_no_line_where_no_strength_is_reckoned(none_for: Pour) -> None:
    assert strength_line(none_for, WORKS, TABLE) is None


def test_covered_pour_has_its_line_all_the_same() -> None:
    wednesday = TUESDAY_9.date() + dt.timedelta(days=1)
    frost = Air(days={wednesday: LowHigh(low_f=30, high_f=60)}, said_f=60)
    assert strength_line(pour(frost), WORKS, TABLE) is None
    assert strength_line(pour(frost, is_covered=True), WORKS, TABLE) is not None


def test_nothing_to_hang_has_no_line() -> None:
    assert strength_line(pour(Air(said_f=60)), (), TABLE) is None


def test_line_of_a_day_at_least() -> None:
    quick = replace(TABLE.mix("standard"), strength_parts=dict.fromkeys(Work, 0.02))
    line = strength_line(pour(Air(said_f=90)), (Work.PANELS,), replace(TABLE, mixes=(quick,)))
    assert line is not None
    assert line.hours == 24
