"""Advice for the weather that a job's pour meets, for the office."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from firm.measure.written import METRIC
from firm.selectors.profile import firm_units
from scheduling.engine.hanging import threats_to
from scheduling.engine.wording import dated_words, degrees_words
from scheduling.selectors.planning import JobWaits
from scheduling.starter import load_weather_advice

weather_advice = cache(load_weather_advice)


@dataclass(frozen=True, kw_only=True, slots=True)
class PourWeather:
    """What is to be minded at a pour: cold and heat, and how fast it dries where that was asked."""

    flags: Sequence[str]
    drying: str = ""
    is_too_fast: bool = False


def hottest_f(waits: JobWaits) -> float | None:
    """Return the warmest the pour's day is, where anybody knows."""
    pour = waits.pour
    if pour is None or not pour.air.knows(pour.poured_at.date()):
        return None
    return pour.air.on(pour.poured_at.date()).high_f


def pour_weather(waits: JobWaits, *, kg_m2_h: float | None) -> PourWeather | None:
    """Return the advice for a job's pour, where there is one whose posts still wait."""
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
    if kg_m2_h is None:
        return PourWeather(flags=flags)
    return PourWeather(
        flags=flags,
        drying=advice.drying_words(kg_m2_h, is_metric=is_metric),
        is_too_fast=advice.is_too_fast(kg_m2_h),
    )
