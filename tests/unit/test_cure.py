"""The wait runs in real hours, and a table that can't be right is refused."""

import datetime as dt
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.engine.cure import CureMix, CureTable, CureWait, Wait, Work, hang_not_before
from scheduling.engine.errors import EngineError
from scheduling.starter import load_cure_table

CHICAGO = ZoneInfo("America/Chicago")
TABLE = load_cure_table()


def wait_from(
    poured_at: dt.datetime, *, mix: str = "standard", air_f: float = 60, work: Work = Work.PANELS
) -> Wait:
    return hang_not_before(poured_at, mix, air_f, work, TABLE)


def bands(*pairs: tuple[float, float]) -> tuple[CureWait, ...]:
    return tuple(
        CureWait(work=work, from_air_f=air_f, hours=hours)
        for work in Work
        for air_f, hours in pairs
    )


def mix_of(waits: tuple[CureWait, ...], *, cold_words: str = "stop.") -> CureMix:
    return CureMix(key="own", name="own mix", cold_words=cold_words, waits=waits)


def test_concrete_hardens_through_the_weekend() -> None:
    # 48 h from Friday noon are Sunday noon; 2 working days would have said Tuesday.
    wait = wait_from(dt.datetime(2026, 5, 1, 12, tzinfo=CHICAGO))
    assert wait.ready_at == dt.datetime(2026, 5, 3, 12, tzinfo=CHICAGO)


def test_72_h_from_friday_noon_end_on_monday_noon() -> None:
    # Fri 1 May 2026 12:00; Sat, Sun, Mon noon. 40 to 50 F, panels.
    wait = wait_from(dt.datetime(2026, 5, 1, 12, tzinfo=CHICAGO), air_f=45)
    assert wait.ready_at == dt.datetime(2026, 5, 4, 12, tzinfo=CHICAGO)


def test_autumn_change_gives_an_hour_that_counts() -> None:
    # US clocks go back on Sun 1 Nov 2026 at 2:00 (15 U.S.C. 260a). Sat 14:00 is 19:00 UTC;
    # 48 h later it is Mon 19:00 UTC, which is 13:00 at UTC-6.
    wait = wait_from(dt.datetime(2026, 10, 31, 14, tzinfo=CHICAGO))
    assert wait.ready_at is not None
    assert wait.ready_at.isoformat() == "2026-11-02T13:00:00-06:00"
    assert wait.sentence == "Posts set Sat 14:00, 60 F, standard mix: panels from Mon 13:00 (48 h)."


def test_spring_change_takes_an_hour_away() -> None:
    # Clocks go forward on Sun 8 March 2026. Sat 14:00 is 20:00 UTC; 48 h later Mon 20:00 UTC
    # is 15:00 at UTC-5.
    wait = wait_from(dt.datetime(2026, 3, 7, 14, tzinfo=CHICAGO))
    assert wait.ready_at is not None
    assert wait.ready_at.isoformat() == "2026-03-09T15:00:00-05:00"


def test_wait_of_a_week_is_said_with_its_date() -> None:
    # Tue 5 May + 168 h is Tue 12 May: the weekday alone would name the day of the pour.
    wait = wait_from(dt.datetime(2026, 5, 5, 14, tzinfo=CHICAGO), air_f=44.5, work=Work.FABRIC)
    assert wait.sentence == (
        "Posts set Tue 14:00, 44.5 F, standard mix: stretched fabric from Tue May 12 14:00 (168 h)."
    )


def test_cold_pour_says_what_to_do_and_gives_no_hour() -> None:
    wait = wait_from(dt.datetime(2026, 1, 5, 9, tzinfo=CHICAGO), air_f=35)
    assert wait == Wait(
        hours=None,
        ready_at=None,
        sentence="Posts set Mon 09:00, 35 F, standard mix: protect it or do not pour; "
        "no wait can be given under 40 F.",
    )


def test_pour_without_a_time_zone_is_refused() -> None:
    with pytest.raises(EngineError, match="time zone") as refused:
        wait_from(dt.datetime(2026, 5, 1, 12))  # noqa: DTZ001 - the refusal of it is the test
    assert refused.value.field == "poured_at"


@pytest.mark.parametrize("air_f", [float("nan"), float("inf"), float("-inf")])
def test_air_without_a_figure_is_refused(air_f: float) -> None:
    with pytest.raises(EngineError, match="temperature") as refused:
        wait_from(dt.datetime(2026, 5, 1, 12, tzinfo=CHICAGO), air_f=air_f)
    assert refused.value.field == "air_f"


def test_mix_that_is_not_in_the_table_is_refused() -> None:
    with pytest.raises(EngineError, match="no mix 'quick'"):
        wait_from(dt.datetime(2026, 5, 1, 12, tzinfo=CHICAGO), mix="quick")


def test_firms_own_table_rules() -> None:
    own = CureTable(mixes=(mix_of(bands((30, 100), (60, 10.5))),))
    poured_at = dt.datetime(2026, 5, 1, 12, tzinfo=dt.UTC)
    warm = hang_not_before(poured_at, "own", 60, Work.GATES, own)
    assert (warm.hours, warm.ready_at) == (10.5, dt.datetime(2026, 5, 1, 22, 30, tzinfo=dt.UTC))
    assert hang_not_before(poured_at, "own", 59, Work.GATES, own).hours == 100


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


@given(
    minutes=st.integers(0, 525_599),
    mix=st.sampled_from(["standard", "fast"]),
    work=st.sampled_from(list(Work)),
    air_f=st.floats(40, 120),
    colder_by_f=st.floats(0, 80),
)
def test_wait_is_real_time_and_never_shorter_in_colder_air(
    minutes: int, mix: str, work: Work, air_f: float, colder_by_f: float
) -> None:
    started = dt.datetime(2026, 1, 1, tzinfo=dt.UTC) + dt.timedelta(minutes=minutes)
    poured_at = started.astimezone(CHICAGO)
    warm = wait_from(poured_at, mix=mix, air_f=air_f, work=work)
    cold = wait_from(poured_at, mix=mix, air_f=air_f - colder_by_f, work=work)
    assert warm.ready_at is not None
    assert warm.hours is not None
    assert warm.ready_at.astimezone(dt.UTC) - started == dt.timedelta(hours=warm.hours)
    assert cold.hours is None or cold.hours >= warm.hours
