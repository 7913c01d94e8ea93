"""Nothing hangs before label, table and strength allow it; the wait runs in real hours."""

import datetime as dt
from dataclasses import replace
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firm.measure.said import Said, in_words_of
from scheduling.engine.air import Air, LowHigh
from scheduling.engine.cure import CureTable, CureWait, Work
from scheduling.engine.errors import EngineError
from scheduling.engine.hanging import (
    Pour,
    Ruling,
    Wait,
    frost_once,
    frost_words,
    hang_not_before,
)
from scheduling.starter import load_cure_table

CHICAGO = ZoneInfo("America/Chicago")
TABLE = load_cure_table()
STANDARD = TABLE.mix("standard")
TUESDAY = dt.date(2026, 5, 5)
ONE_DAY = dt.timedelta(days=1)
TUESDAY_9 = dt.datetime(2026, 5, 5, 9, tzinfo=CHICAGO)


def wait_from(
    poured_at: dt.datetime = TUESDAY_9,
    *,
    mix: str = "standard",
    air: Air | None = None,
    air_f: float = 60,
    work: Work = Work.PANELS,
    table: CureTable = TABLE,
    is_covered: bool = False,
) -> Wait:
    pour = Pour(poured_at=poured_at, mix=mix, air=air or Air(said_f=air_f), is_covered=is_covered)
    return hang_not_before(pour, work, table)


def with_table(hours: float, label_h: float = 24) -> CureTable:
    """Return the mixes with one wait of the firm's in any air."""
    waits = tuple(CureWait(work=work, from_air_f=-80, hours=hours) for work in Work)
    own = replace(STANDARD, waits=waits, label_hours=dict.fromkeys(Work, label_h))
    return replace(TABLE, mixes=(own,))


def test_strength_rules_where_it_waits_longest() -> None:
    # 48 F counts as .4297: 30.476 / .4297 = 70.93, up to 71 h. Tue 9:00 to Fri 8:00.
    wait = wait_from(air_f=48, table=with_table(48))
    assert (wait.hours, wait.ruling) == (71, Ruling.STRENGTH)
    assert wait.ready_at == dt.datetime(2026, 5, 8, 8, tzinfo=CHICAGO)
    assert wait.sentence == (
        "Posts set Tue 09:00, standard mix. Panels from Friday 08:00: 71 h at a mean of 48 F count "
        "as 30.5 h at 73 F; 25 % of strength needs 30.5 h (the firm's table 48 h, the label 24 h)."
    )
    assert wait.brief == "Posts set Tue 09:00, standard mix. Panels by strength, 71 h."


def test_firm_s_table_rules_where_it_waits_longest() -> None:
    # The shipped table's 72 h from 40 F on.
    wait = wait_from(air_f=48)
    assert (wait.hours, wait.ruling) == (72, Ruling.TABLE)
    assert wait.sentence == (
        "Posts set Tue 09:00, standard mix. Panels from Friday 09:00: the firm's table says 72 h "
        "at 48 F (25 % of strength 71 h, the label 24 h)."
    )
    assert wait.brief == "Posts set Tue 09:00, standard mix. Panels by the firm's table, 72 h."


def test_label_rules_where_it_waits_longest() -> None:
    wait = wait_from(air_f=48, table=with_table(48, label_h=80))
    assert (wait.hours, wait.ruling) == (80, Ruling.LABEL)
    assert wait.sentence == (
        "Posts set Tue 09:00, standard mix. Panels from Friday 17:00: the label says 80 h "
        "(25 % of strength 71 h, the firm's table 48 h)."
    )


def test_wait_of_a_week_is_said_with_its_date() -> None:
    # 44.5 F is 280.09 K: exp(-5000 x (1/280.094 - 1/296.15)) = .3798; 69.960 / .3798 = 184.2, up
    # to 184.25 h: seven days and 16.25 h. The weekday alone would name a day too soon.
    wait = wait_from(air_f=44.5, work=Work.FABRIC)
    assert "Stretched fabric from Wednesday May 13 01:15: 184.25 h" in wait.sentence


def test_concrete_hardens_through_the_weekend() -> None:
    # 48 h from Friday noon are Sunday noon; 2 working days would have said Tuesday.
    wait = wait_from(dt.datetime(2026, 5, 1, 12, tzinfo=CHICAGO))
    assert wait.ready_at == dt.datetime(2026, 5, 3, 12, tzinfo=CHICAGO)


def test_autumn_change_gives_an_hour_that_counts() -> None:
    # US clocks go back on Sun 1 Nov 2026 at 2:00 (15 U.S.C. 260a). Sat 14:00 is 19:00 UTC;
    # 48 h later it is Mon 19:00 UTC, which is 13:00 at UTC-6.
    wait = wait_from(dt.datetime(2026, 10, 31, 14, tzinfo=CHICAGO))
    assert wait.ready_at is not None
    assert wait.ready_at.isoformat() == "2026-11-02T13:00:00-06:00"


def test_spring_change_takes_an_hour_away() -> None:
    # Clocks go forward on Sun 8 March 2026. Sat 14:00 is 20:00 UTC; 48 h later Mon 20:00 UTC
    # is 15:00 at UTC-5.
    wait = wait_from(dt.datetime(2026, 3, 7, 14, tzinfo=CHICAGO))
    assert wait.ready_at is not None
    assert wait.ready_at.isoformat() == "2026-03-09T15:00:00-05:00"


def test_cold_pour_says_what_to_do_and_gives_no_hour() -> None:
    wait = wait_from(dt.datetime(2026, 1, 5, 9, tzinfo=CHICAGO), air_f=35)
    assert (wait.hours, wait.ready_at, wait.ruling) == (None, None, None)
    assert (
        wait.sentence
        == wait.brief
        == (
            "Posts set Mon 09:00, standard mix. 35 F: protect it or do not pour; "
            "no wait can be given under 40 F."
        )
    )


def lows(*pairs: tuple[float, float]) -> Air:
    """Return lows and highs from Tuesday on, then a steady 60 F."""
    days = {
        TUESDAY + ONE_DAY * count: LowHigh(low_f=low, high_f=high)
        for count, (low, high) in enumerate(pairs)
    }
    return Air(days=days, said_f=60)


def test_freezing_night_bars_the_pour_unless_it_is_covered() -> None:
    air = lows((45, 60), (28, 60))
    wait = wait_from(air=air)
    assert wait.ready_at is None
    assert wait.sentence == (
        "Posts set Tue 09:00, standard mix. 28 F on Wed 06:00, before the concrete stands a frost. "
        "Cover it or do not pour; hang nothing on what froze."
    )
    covered = wait_from(air=air, is_covered=True)
    assert covered.ready_at is not None
    assert " Cover the posts: 28 F on Wed 06:00. Under 40 F for " in covered.sentence
    # Its clock stands all the same while the air is under 40 F.
    assert "which do not count: protect the concrete." in covered.sentence
    assert covered.brief.endswith("which do not count: protect the concrete.")


def test_cold_night_is_flagged_for_a_mix_without_a_curve() -> None:
    wait = wait_from(mix="fast", air=lows((45, 60), (36, 60)))
    assert wait.ready_at is not None
    assert wait.sentence.endswith("(the label 4 h). 36 F on Wed 06:00: protect the concrete.")


def test_hot_day_is_flagged() -> None:
    wait = wait_from(air=lows((70, 98), (70, 90)))
    assert wait.ready_at is not None
    assert wait.sentence.endswith(
        " 98 F on Tue 15:00: keep the mix under 95 F and the concrete wet."
    )


def test_coldest_of_three_days_is_looked_up_in_the_table() -> None:
    # Means of 75, 60 and 45 F: 72 h, as from 40 F on.
    wait = wait_from(air=lows((70, 80), (50, 70), (41, 49)))
    assert wait.ruling == Ruling.TABLE
    assert "the firm's table says 72 h at 45 F" in wait.sentence


def test_strength_that_does_not_come_bars_hanging() -> None:
    wait = wait_from(air_f=39, table=with_table(48))
    assert wait.ready_at is None
    assert wait.sentence == (
        "Posts set Tue 09:00, standard mix. 25 % of strength is not there within 60 days in this "
        "air. Hang no panels."
    )


def test_pour_without_a_time_zone_is_refused() -> None:
    with pytest.raises(EngineError, match="time zone") as refused:
        wait_from(dt.datetime(2026, 5, 1, 12))  # noqa: DTZ001 - the refusal of it is the test
    assert refused.value.field == "poured_at"


def test_mix_that_is_not_in_the_table_is_refused() -> None:
    with pytest.raises(EngineError, match="no mix 'quick'"):
        wait_from(mix="quick")


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


@given(
    lows_and_spans=st.lists(st.tuples(st.floats(25, 90), st.floats(0, 30)), min_size=8, max_size=8),
    mix=st.sampled_from(["standard", "fast"]),
    work=st.sampled_from(list(Work)),
    hour=st.integers(0, 23),
)
def test_no_wait_is_shorter_than_any_of_the_three_rules(
    lows_and_spans: list[tuple[float, float]], mix: str, work: Work, hour: int
) -> None:
    air = lows(*((low, low + span) for low, span in lows_and_spans))
    poured_at = TUESDAY_9.replace(hour=hour)
    wait = wait_from(poured_at, mix=mix, air=air, work=work)
    if wait.hours is None:
        return
    row = TABLE.mix(mix)
    band = row.wait_for(work, air.coldest_mean_f(TUESDAY))
    assert band is not None
    assert wait.hours >= max(band.hours, row.label_hours[work])
    if row.curve is not None:
        warmest = max(low + span for low, span in lows_and_spans)
        fastest = TABLE.rule.rate(max(warmest, 60))
        assert wait.hours >= row.curve.age_h_for(row.strength_parts[work]) / fastest - 1e-6


def test_metric_firm_reads_celsius() -> None:
    metric = replace(TABLE, is_metric=True)
    # 48 F are 16 / 1.8 = 8.9 C, 39 F 3.9 C, the limit of 40 F 4.4 C; the reference is 23 C.
    mild = wait_from(air_f=48, table=replace(with_table(48), is_metric=True))
    assert "71 h at a mean of 8.9 C count as 30.5 h at 23 C" in mild.sentence
    assert wait_from(air_f=48, table=metric).sentence.endswith(
        "the firm's table says 72 h at 8.9 C (25 % of strength 71 h, the label 24 h)."
    )
    cold = wait_from(air_f=39, table=metric)
    assert cold.sentence == (
        "Posts set Tue 09:00, standard mix. 3.9 C: protect it or do not pour; "
        "no wait can be given under 4.4 C."
    )
    # 30 F: -1.1 C; 100 F: 37.8 C, over the limit of 95 F, 35 C.
    assert "-1.1 C on Tue 09:00" in wait_from(air_f=30, table=metric).sentence
    assert "37.8 C on Tue 09:00: keep the mix under 35 C" in (
        wait_from(air_f=100, table=metric).sentence
    )


def test_each_frost_is_told_in_full_once_on_a_page() -> None:
    friday = frost_words((dt.datetime(2026, 3, 6, 5, tzinfo=CHICAGO), 20.0), is_metric=False)
    saturday = frost_words((dt.datetime(2026, 3, 7, 5, tzinfo=CHICAGO), 18.5), is_metric=False)
    of_pour = Said("{set_at}, {mix}: {what}", set_at="Posts set", mix="fast mix", what=friday)
    page = ["Job 7: Hanging comes too early. " + friday, of_pour, saturday, friday]
    assert frost_once(page) == [
        "Job 7: Hanging comes too early. 20 F on Fri 05:00, before the concrete stands a frost. "
        "Cover it or do not pour; hang nothing on what froze.",
        "Posts set, fast mix: The same frost bars it.",
        "18.5 F on Sat 05:00, before the concrete stands a frost. "
        "Cover it or do not pour; hang nothing on what froze.",
        "The same frost bars it.",
    ]
    # What is left in is still made of its phrases: another language says it too.
    shown = frost_once([friday, of_pour])[1]
    spanish = {"The same frost bars it.": "Lo impide la misma helada."}
    assert in_words_of(shown, lambda phrase: spanish.get(phrase, phrase)) == (
        "Posts set, fast mix: Lo impide la misma helada."
    )
