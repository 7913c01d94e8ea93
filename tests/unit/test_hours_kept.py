"""An air that keeps its hours answers as one that works each of them out anew, to the last digit.

The curve and the sum of ages are said here a second time, the plain way and without the engine's.
"""

import datetime as dt
import math
from dataclasses import replace
from itertools import islice
from zoneinfo import ZoneInfo

import pytest
from hypothesis import event, given
from hypothesis import strategies as st

from scheduling.engine import air as air_module
from scheduling.engine.air import Air, LowHigh
from scheduling.engine.crew_days import frost_bar, hang_wait
from scheduling.engine.cure import CureMix, Work
from scheduling.engine.hanging import Pour, frost_words, hang_not_before, threats_to
from scheduling.engine.maturity import MaturityRule, Method, Reached, reach
from scheduling.engine.plan import Concrete, Phase
from scheduling.starter import load_cure_table
from tests.plan_cases import FACTS, OAK

CHICAGO = ZoneInfo("America/Chicago")
TABLE = load_cure_table()
ONE_DAY, ONE_HOUR = dt.timedelta(days=1), dt.timedelta(hours=1)
TUESDAY_14 = dt.datetime(2026, 3, 3, 14, tzinfo=CHICAGO)
# Nights on which clocks change, by an hour and by half of one; Nepal is 5:45 ahead of UTC.
ZONES = st.sampled_from(["America/Chicago", "Australia/Lord_Howe", "Asia/Kathmandu"])
SINCE = st.sampled_from(
    [
        dt.datetime(2026, month, day, tzinfo=dt.UTC)
        for month, day in ((3, 7), (4, 4), (7, 1), (11, 1))
    ]
)
RULES = st.builds(
    lambda method, cold_limit_f: replace(TABLE.rule, method=method, cold_limit_f=cold_limit_f),
    st.sampled_from(Method),
    st.sampled_from([-100.0, 32.0, 40.0]),
)
TEMPERATURES = st.one_of(st.integers(10, 90).map(float), st.floats(10, 90))
LOWS_HIGHS = st.builds(
    lambda one, other: LowHigh(low_f=min(one, other), high_f=max(one, other)),
    TEMPERATURES,
    TEMPERATURES,
)
MINUTES = st.one_of(st.integers(0, 4 * 24 * 5).map(lambda one: one * 15.0), st.floats(0, 7200))
NEEDED_H = st.one_of(st.sampled_from([0.0, 1e-10, 24.0]), st.floats(0, 150))


@st.composite
def airs(draw: st.DrawFn, since: dt.datetime) -> Air:
    """Draw some days' lows and highs round a moment, some months' and a figure that was said."""
    numbers = draw(st.sets(st.integers(-2, 9), min_size=1))
    months = draw(st.one_of(st.just(set[int]()), st.sets(st.integers(1, 12))))
    return Air(
        days={since.date() + ONE_DAY * number: draw(LOWS_HIGHS) for number in sorted(numbers)},
        normals={month: draw(LOWS_HIGHS) for month in sorted(months)},
        said_f=draw(st.one_of(st.none(), TEMPERATURES)),
    )


def plain_air_f(air: Air, moment: dt.datetime) -> float:
    """Return half a wave between low at 6:00 and high at 15:00, whichever lie around a moment."""
    hour = moment.hour + moment.minute / 60 + moment.second / 3600
    yesterday, today, tomorrow = (air.on(moment.date() + ONE_DAY * count) for count in (-1, 0, 1))
    if hour < 6:
        begins, ends, part = yesterday.high_f, today.low_f, (hour + 24 - 15) / 15
    elif hour <= 15:
        begins, ends, part = today.low_f, today.high_f, (hour - 6) / 9
    else:
        begins, ends, part = today.high_f, tomorrow.low_f, (hour - 15) / 15
    return begins + (ends - begins) * (1 - math.cos(math.pi * part)) / 2


def plain_reach(
    poured_at: dt.datetime, needed_h: float, air: Air, rule: MaturityRule
) -> Reached | None:
    """Return the same as `reach`: two months of hours, one after the other."""
    age_h = degree_hours = stopped_h = 0.0
    for hour in range(60 * 24):
        middle = poured_at.astimezone(dt.UTC) + ONE_HOUR * (hour + 0.5)
        air_f = plain_air_f(air, middle.astimezone(poured_at.tzinfo))
        rate = 0.0 if air_f < rule.cold_limit_f else rule.rate(air_f)
        if rate > 0 and age_h + rate >= needed_h - 1e-9:
            part = min(max((needed_h - age_h) / rate, 0.0), 1.0)
            hours = hour + part
            mean_f = (degree_hours + air_f * part) / hours if hours else air_f
            return Reached(hours=hours, counted_h=needed_h, mean_f=mean_f, stopped_h=stopped_h)
        age_h, degree_hours = age_h + rate, degree_hours + air_f
        stopped_h += 1 if rate == 0 else 0
    return None


@given(data=st.data(), since=SINCE, rules=st.lists(RULES, min_size=1, max_size=2))
def test_pours_that_share_an_air_are_as_old_as_each_by_itself(
    data: st.DataObject, since: dt.datetime, rules: list[MaturityRule]
) -> None:
    air = data.draw(airs(since))
    pours = data.draw(st.lists(st.tuples(MINUTES, ZONES, NEEDED_H), min_size=1, max_size=6))
    for minutes, zone, needed_h in pours:
        poured_at = (since + dt.timedelta(minutes=minutes)).astimezone(ZoneInfo(zone))
        for rule in rules:
            found = reach(poured_at, needed_h, air=air, rule=rule)
            event("reached" if found else "not in two months")
            assert found == plain_reach(poured_at, needed_h, air, rule)


@given(data=st.data(), since=SINCE, mix=st.sampled_from(TABLE.mixes), work=st.sampled_from(Work))
def test_wait_in_an_air_asked_before_is_that_in_a_fresh_one(
    data: st.DataObject, since: dt.datetime, mix: CureMix, work: Work
) -> None:
    air = data.draw(airs(since))
    for minutes in data.draw(st.lists(MINUTES, min_size=2, max_size=5)):
        poured_at = (since + dt.timedelta(minutes=minutes)).astimezone(CHICAGO)
        pour = Pour(poured_at=poured_at, mix=mix.key, air=air)
        kept = hang_not_before(pour, work, TABLE)
        fresh = hang_not_before(replace(pour, air=replace(air)), work, TABLE)
        assert (kept, kept.sentence, kept.brief) == (fresh, fresh.sentence, fresh.brief)


@given(data=st.data(), since=SINCE, uncovered=st.lists(st.booleans(), min_size=2, max_size=4))
def test_frost_of_a_day_is_that_of_its_mid_afternoon_whoever_pours(
    data: st.DataObject, since: dt.datetime, uncovered: list[bool]
) -> None:
    facts = replace(FACTS, weather=replace(data.draw(airs(since)), said_f=None))
    said = st.sampled_from([None, 25.0, 60.0])
    for bare in uncovered:
        mix, air_f = data.draw(st.sampled_from(TABLE.mixes)).key, data.draw(said)
        day = since.date() + ONE_DAY * data.draw(st.integers(-1, 3))
        job = replace(OAK, concrete=Concrete(mix=mix, air_f=air_f, is_covered=not bare))
        found = frost_bar(Phase.SET, job, day, facts)
        pour = Pour(
            poured_at=dt.datetime.combine(day, dt.time(15), tzinfo=CHICAGO),
            mix=mix,
            air=replace(facts.weather, said_f=air_f),
        )
        frost = threats_to(pour, TABLE).frost
        event("frost" if frost else "none")
        assert found == (frost_words(frost, is_metric=False) if frost and bare else "")


def test_each_mix_meets_its_own_frost() -> None:
    # Tuesday's pour meets the frost of Thursday's dawn as standard mix, which has no 500 psi yet.
    # Fast mix is watched in its first night alone.
    thursday = TUESDAY_14.date() + ONE_DAY * 2
    facts = replace(FACTS, weather=Air(days={thursday: LowHigh(low_f=20, high_f=45)}))
    for mix, frost_at in (("standard", thursday), ("fast", None)):
        found = facts.frost_on(Concrete(mix=mix, air_f=45), TUESDAY_14.date())
        assert (found[0].date() if found else None) == frost_at


def hours_of(air: Air, count: int) -> list[tuple[float, float]]:
    return list(islice(air.hourly(TUESDAY_14, TABLE.rule.rate_in_air), count))


def test_new_forecast_is_another_air_that_has_kept_nothing() -> None:
    air = Air(days={TUESDAY_14.date(): LowHigh(low_f=40, high_f=60)}, said_f=50)
    before = hours_of(air, 24)
    warmer = replace(air, days={TUESDAY_14.date(): LowHigh(low_f=60, high_f=80)})
    # The middle of the first hour is 14:30, nearly the high.
    assert before[0][0] == pytest.approx(60, abs=0.2)
    assert hours_of(warmer, 1)[0][0] == pytest.approx(80, abs=0.2)
    assert hours_of(air, 24) == before
    assert air == replace(air)


def test_no_more_hours_are_kept_than_so_many(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(air_module, "MOST_HOURS_KEPT", 5)
    asked: list[float] = []

    def rate(air_f: float) -> float:
        asked.append(air_f)
        return air_f

    air = Air(days={TUESDAY_14.date(): LowHigh(low_f=40, high_f=60)}, said_f=50)
    first = list(islice(air.hourly(TUESDAY_14, rate), 8))
    assert len(asked) == 8
    # Of the eight the last five are kept: none is worked out again from the fourth on.
    assert list(islice(air.hourly(TUESDAY_14 + 3 * ONE_HOUR, rate), 5)) == first[3:]
    assert len(asked) == 8
    assert list(islice(air.hourly(TUESDAY_14, rate), 1)) == first[:1]
    assert len(asked) == 9


def test_concrete_in_the_same_air_shares_it_and_facts_that_change_do_not() -> None:
    facts = replace(FACTS, weather=Air(normals={6: LowHigh(low_f=45, high_f=65)}))
    one, other = Concrete(mix="standard", air_f=50), Concrete(mix="fast", air_f=50)
    assert facts.air_of(one) is facts.air_of(other)
    assert facts.air_of(replace(one, air_f=None)) == facts.weather
    warmer = replace(facts, weather=Air(normals={6: LowHigh(low_f=47, high_f=67)}))
    assert warmer.air_of(one) == replace(warmer.weather, said_f=50)


def test_plan_in_another_weather_waits_by_it() -> None:
    job = replace(OAK, concrete=Concrete(mix="fast", air_f=None, poured_at=TUESDAY_14))
    job = replace(job, done=frozenset({Phase.SET}))
    mild, warm = (
        replace(FACTS, weather=Air(normals={3: LowHigh(low_f=low_f, high_f=low_f + 10)}))
        for low_f in (45, 65)
    )
    slow, quick = (hang_wait(Phase.HANG, job, (), facts) for facts in (mild, warm))
    assert slow is not None
    assert quick is not None
    # Means of 50 and 70 F. Common practice, no source: panels after 12 h from 50 F on, after 4 h
    # from 70 F.
    assert (slow.hours, quick.hours) == (12, 4)
