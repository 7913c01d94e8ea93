"""Panels and gates on one pour: its hour is told once, then each work's rule, then what to mind."""

import datetime as dt
import re
from zoneinfo import ZoneInfo

import pytest

from firm.selectors.languages import speaking, spoken
from scheduling.engine.air import Air, LowHigh
from scheduling.engine.cure import Work
from scheduling.engine.hanging import Pour, Wait, hang_not_before
from scheduling.engine.wait_words import told_together
from scheduling.starter import load_cure_table

CHICAGO = ZoneInfo("America/Chicago")
TABLE = load_cure_table()


def waits(air_f: float, mix: str = "standard") -> list[Wait]:
    """Return the waits of a pour on Tuesday, 5 May 2026, at 9:00 in air that stays as it is."""
    poured_at = dt.datetime(2026, 5, 5, 9, tzinfo=CHICAGO)
    pour = Pour(poured_at=poured_at, mix=mix, air=Air(said_f=air_f))
    return [hang_not_before(pour, work, TABLE) for work in (Work.PANELS, Work.GATES)]


def told(found: list[Wait], *, is_planned: bool = False) -> str:
    return told_together((one.say() for one in found), is_planned=is_planned)


# The fast mix at 60 F: the table's 12 h for panels, 48 h for gates; the label's 4 h for both.
@pytest.mark.parametrize(
    ("is_planned", "head", "said"),
    [
        (False, "Posts set Tue 09:00, fast mix.", "Postes colocados mar 09:00, mezcla rápida."),
        (
            True,
            "As planned, posts are set Tue 09:00, fast mix.",
            "Según el plan, los postes se colocan mar 09:00, mezcla rápida.",
        ),
    ],
)
def test_pour_is_told_once_before_both_works(is_planned: bool, head: str, said: str) -> None:
    sentence = told(waits(60, "fast"), is_planned=is_planned)
    assert sentence == (
        f"{head} Panels from Tuesday 21:00: the firm's table says 12 h at 60 F (the label 4 h). "
        "Gates from Thursday 09:00: the firm's table says 48 h at 60 F (the label 4 h)."
    )
    with speaking("es"):
        spanish = spoken(sentence)
    assert spanish.startswith(f"{said} Paneles desde ")
    assert spanish.count("09:00, mezcla") == 1
    assert "Portones desde " in spanish


def test_brief_tells_it_once_too() -> None:
    brief = told_together(one.say_briefly() for one in waits(60, "fast"))
    assert brief == (
        "Posts set Tue 09:00, fast mix. Panels by the firm's table, 12 h. "
        "Gates by the firm's table, 48 h."
    )


def test_warning_that_both_works_have_comes_once_and_last() -> None:
    # 95 F is over the 90 F from which concrete is kept cool.
    sentence = told(waits(95))
    assert sentence.count("keep the mix under") == 1
    assert sentence.endswith("and the concrete wet.")
    assert sentence.index("Gates from") < sentence.index("keep the mix under")


def cold_waits(*days: tuple[float, float]) -> list[Wait]:
    """Return the waits of a pour on Tuesday at 9:00 with these lows and highs from then on."""
    poured_at = dt.datetime(2026, 5, 5, 9, tzinfo=CHICAGO)
    lows = {
        poured_at.date() + dt.timedelta(days=count): LowHigh(low_f=low, high_f=high)
        for count, (low, high) in enumerate(days)
    }
    pour = Pour(poured_at=poured_at, mix="standard", air=Air(days=lows, said_f=60))
    return [hang_not_before(pour, work, TABLE) for work in (Work.PANELS, Work.GATES)]


def test_hours_in_the_cold_are_told_once_where_they_are_the_same_and_else_by_work() -> None:
    (same,) = re.findall(
        r"Under 40 F for [^:]*:", told(cold_waits((45, 60), (36, 60), (45, 60), (36, 60)))
    )
    assert "before" not in same
    nights = [(36.0, 50.0)] * 8
    found = cold_waits(*nights)
    panels, gates = re.findall(r"Under 40 F for ([\d.]+) h before (\w+) may hang", told(found))
    assert (panels[1], gates[1]) == ("panels", "gates")
    assert float(panels[0]) < float(gates[0])
    with speaking("es"):
        spanish = spoken(told(found))
    assert "antes de montar paneles, que no cuentan" in spanish
    assert "antes de montar portones, que no cuentan" in spanish
    for one, (hours, _) in zip(found, (panels, gates), strict=True):
        assert f"Under 40 F for {hours} h, which do not count" in one.sentence


def test_what_bars_both_is_told_once() -> None:
    assert told(waits(35)) == (
        "Posts set Tue 09:00, standard mix. 35 F: protect it or do not pour; "
        "no wait can be given under 40 F."
    )
    # At 25 F there is a frost before the concrete stands one: 25 F is told of the first morning.
    frozen = told(waits(25))
    assert frozen.count("before the concrete stands a frost") == 1


def test_nothing_to_hang_is_nothing_to_tell() -> None:
    assert told([]) == ""
