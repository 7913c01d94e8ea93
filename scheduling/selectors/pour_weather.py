"""Advice for the weather that a job's pour meets, for the office."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from firm.measure.written import METRIC
from firm.selectors.profile import firm_units
from scheduling.engine.hanging import threats_to
from scheduling.engine.weather_advice import evaporation_kg_m2_h
from scheduling.engine.wording import dated_words, degrees_words
from scheduling.models import DryingAir
from scheduling.selectors.planning import JobWaits
from scheduling.starter import load_weather_advice

weather_advice = cache(load_weather_advice)


@dataclass(frozen=True, kw_only=True, slots=True)
class Drying:
    """How the air dries a pour; concrete of no known warmth is as warm as the air."""

    air_f: float
    humidity_pct: float
    wind_mph: float
    concrete_f: float | None

    @property
    def kg_m2_h(self) -> float:
        """What evaporates in kg a square metre an hour."""
        return evaporation_kg_m2_h(
            concrete_f=self.air_f if self.concrete_f is None else self.concrete_f,
            air_f=self.air_f,
            humidity_pct=self.humidity_pct,
            wind_mph=self.wind_mph,
        )


@dataclass(frozen=True, kw_only=True, slots=True)
class PourWeather:
    """What is to be minded at a pour on a day: cold and heat, and how fast it dries where known."""

    date: dt.date
    air_f: float | None
    flags: Sequence[str]
    kept: Drying | None
    drying: str = ""
    is_too_fast: bool = False


def drying_of(day: dt.date) -> Drying | None:
    """Return what is written down of a day's drying air."""
    row = DryingAir.objects.filter(date=day).first()
    if row is None:
        return None
    return Drying(
        air_f=row.air_f,
        humidity_pct=row.humidity_pct,
        wind_mph=row.wind_mph,
        concrete_f=row.concrete_f,
    )


def _hottest_f(waits: JobWaits) -> float | None:
    """Return the warmest the pour's day is, where anybody knows."""
    pour = waits.pour
    if pour is None or not pour.air.knows(pour.poured_at.date()):
        return None
    return pour.air.on(pour.poured_at.date()).high_f


def pour_weather(waits: JobWaits) -> PourWeather | None:
    """Return the advice for a job's pour, where there is one whose posts still wait; one query."""
    pour = waits.pour
    if pour is None or not waits.spans:
        return None
    advice, is_metric = weather_advice(), firm_units() == METRIC
    threats, flags = threats_to(pour, waits.plan.facts.table), []
    if threats.cold is not None:
        at, air_f = threats.cold
        cold = f"{degrees_words(air_f, is_metric=is_metric)} on {dated_words(at)}."
        flags.append(f"{cold} {advice.cold_words()}")
    if threats.heat is not None:
        at, air_f = threats.heat
        hot = f"{degrees_words(air_f, is_metric=is_metric)} on {dated_words(at)}."
        flags.append(f"{hot} Pour early, cool the water; see below how fast it dries.")
    date = pour.poured_at.date()
    kept = drying_of(date)
    return PourWeather(
        date=date,
        air_f=_hottest_f(waits),
        flags=flags,
        kept=kept,
        drying=advice.drying_words(kept.kg_m2_h, is_metric=is_metric) if kept else "",
        is_too_fast=kept is not None and advice.is_too_fast(kept.kg_m2_h),
    )
