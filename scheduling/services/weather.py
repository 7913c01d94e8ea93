"""Writing down how warm the air is, was or usually is, and the rain."""

import datetime as dt
from collections.abc import Iterator, Mapping
from contextlib import contextmanager

from django.db import transaction
from django.utils import timezone

from firm.errors import Refusal
from firm.models import User
from firm.services.audit import record, snapshot
from firm.services.saving import add_row, change_row, locked
from scheduling.engine.air import LowHigh
from scheduling.engine.breaches import Rule
from scheduling.engine.errors import EngineError
from scheduling.models import AirTemperature, PlanChange, RainDay
from scheduling.selectors.cure_spans import plan_around
from scheduling.selectors.planning import Plan
from scheduling.services.broken_blocks import broken_in, note_broken
from scheduling.services.plan_changes import note_waits, waits_of

# Low and high of a day or a month; None takes away what is written down.
Pair = tuple[float, float] | None
MOST_RAIN_IN = 20.0


@transaction.atomic
def write_down_days(*, pairs: Mapping[dt.date, Pair], actor: User, now: dt.datetime) -> int:
    """Write down days' lows and highs; return how many changed. From today on it is a forecast.

    Raises:
        Refusal: a low stands above its high; `field` names day and field: '2026-05-04-low_f'.
    """
    today = timezone.localdate(now)
    sources = AirTemperature.Source
    return sum(
        _write_down(
            AirTemperature(
                date=day,
                source=sources.FORECAST if day >= today else sources.ENTERED,
                entered_by=actor,
                entered_at=now,
            ),
            pair,
            prefix=day.isoformat(),
        )
        for day, pair in pairs.items()
    )


@transaction.atomic
def write_down_weather(
    *,
    pairs: Mapping[dt.date, Pair],
    rain: Mapping[dt.date, float | None],
    actor: User,
    now: dt.datetime,
) -> int:
    """Write down days' air and rain together; return how many days changed.

    Raises:
        Refusal: a low stands above its high, or there is more rain than can be.
    """
    with _noting_what_moves(actor=actor, now=now, is_needed=bool(pairs or rain)):
        changed = write_down_days(pairs=pairs, actor=actor, now=now)
        wet = write_down_rain(rain=rain, actor=actor, now=now)
    return max(changed, wet) if pairs.keys() >= rain.keys() else changed + wet


@transaction.atomic
def write_down_rain(*, rain: Mapping[dt.date, float | None], actor: User, now: dt.datetime) -> int:
    """Write down days' rain in inches; None takes it away. Return how many changed.

    Raises:
        Refusal: there is less than none, or more than ever fell; `field` names day and field.
    """
    today = timezone.localdate(now)
    changed = 0
    for day, rain_in in rain.items():
        if rain_in is not None and not 0 <= rain_in <= MOST_RAIN_IN:
            words = f"Give the rain of a day from 0 to {MOST_RAIN_IN:g} in."
            raise Refusal(words, field=f"{day.isoformat()}-rain_in")
        source = RainDay.Source.FORECAST if day >= today else RainDay.Source.ENTERED
        row = RainDay(date=day, source=source, entered_by=actor, entered_at=now)
        changed += _write_down_rain(row, rain_in)
    return changed


def _write_down_rain(row: RainDay, rain_in: float | None) -> bool:
    """Insert, change or take away the rain of one day; say whether it changed."""
    kept = RainDay.objects.filter(date=row.date).first()
    if rain_in is None:
        return kept is not None and _take_away(kept, actor=row.entered_by, at=row.entered_at)
    row.rain_in = rain_in
    if kept is None:
        add_row(row, actor=row.entered_by, action="wrote down the rain", at=row.entered_at)
        return True
    if (kept.rain_in, kept.source) == (row.rain_in, row.source):
        return False
    names = ("rain_in", "source", "entered_by", "entered_at")
    change_row(
        kept,
        changes={name: getattr(row, name) for name in names},
        actor=row.entered_by,
        action="changed the rain",
        at=row.entered_at,
    )
    return True


@transaction.atomic
def write_down_months(*, pairs: Mapping[int, Pair], actor: User, now: dt.datetime) -> int:
    """Write down what is usual in months; return how many changed.

    Raises:
        Refusal: a low stands above its high; `field` names month and field: '5-low_f'.
    """
    with _noting_what_moves(actor=actor, now=now, is_needed=bool(pairs)):
        return sum(
            _write_down(
                AirTemperature(
                    month=month,
                    source=AirTemperature.Source.USUAL,
                    entered_by=actor,
                    entered_at=now,
                ),
                pair,
                prefix=str(month),
            )
            for month, pair in pairs.items()
        )


@contextmanager
def _noting_what_moves(*, actor: User, now: dt.datetime, is_needed: bool) -> Iterator[None]:
    """Write down whose concrete waits otherwise in this weather, and which blocks it bars."""
    if not is_needed:
        yield
        return
    before = _as_planned(now)
    yield
    after = _as_planned(now)
    air, rain = PlanChange.Cause.AIR, PlanChange.Cause.RAIN
    note_waits(waits_of(before), waits_of(after), cause=air, actor=actor, now=now)
    stood, stands = broken_in(before, now), broken_in(after, now)
    for cause, rule in ((air, Rule.FROST), (rain, Rule.RAIN)):
        note_broken(stood, stands, cause=cause, rules={rule}, actor=actor, now=now)


def _as_planned(now: dt.datetime) -> Plan:
    today = timezone.localdate(now)
    return plan_around(today, today, now=now)


def _write_down(row: AirTemperature, pair: Pair, *, prefix: str) -> bool:
    """Insert, change or take away the row of one day or month; say whether it changed."""
    kept = AirTemperature.objects.filter(date=row.date, month=row.month).first()
    if pair is None:
        return kept is not None and _take_away(kept, actor=row.entered_by, at=row.entered_at)
    _refuse_what_cannot_be(pair, prefix)
    row.low_f, row.high_f = pair
    if kept is None:
        add_row(row, actor=row.entered_by, action="wrote down the air", at=row.entered_at)
        return True
    if (kept.low_f, kept.high_f, kept.source) == (row.low_f, row.high_f, row.source):
        return False
    names = ("low_f", "high_f", "source", "entered_by", "entered_at")
    change_row(
        kept,
        changes={name: getattr(row, name) for name in names},
        actor=row.entered_by,
        action="changed the air",
        at=row.entered_at,
    )
    return True


def _take_away(row: AirTemperature | RainDay, *, actor: User | None, at: dt.datetime) -> bool:
    kept = locked(row)
    what = "rain" if isinstance(kept, RainDay) else "air"
    action = f"took the {what} away"
    record(actor=actor, action=action, target=kept, before=snapshot(kept), at=at)
    kept.delete()
    return True


def _refuse_what_cannot_be(pair: tuple[float, float], prefix: str) -> None:
    try:
        LowHigh(low_f=pair[0], high_f=pair[1])
    except EngineError as error:
        raise Refusal(str(error), field=f"{prefix}-{error.field}") from error
