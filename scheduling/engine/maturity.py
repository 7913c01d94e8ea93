"""How strong young concrete is: its age in warmth (ASTM C1074) on a curve of strength (ACI 209R).

Concrete hardens faster in warmth. An hour of real time counts as more or less than an hour at the
reference temperature: by equivalent age in the Arrhenius form, or in proportion to the warmth
over a datum (Nurse-Saul). The strength then is read from the strength-time curve t / (a + b t).
Air stands for concrete here: a post's footing is small and soon as cold as what is round it.
ASTM C1074 asks for a curve measured on the very mix; with customary constants this plans work and
proves no strength.
"""

import datetime as dt
import itertools
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from scheduling.engine.air import Air, Extreme
from scheduling.engine.errors import EngineError
from scheduling.engine.real_time import hours_later

HOURS_A_DAY = 24.0
KELVIN_AT_0_F = 273.15 - 32.0 / 1.8
F_PER_KELVIN = 1.8
# Over a longer time weather is no forecast, and concrete that cold has other troubles.
MOST_HOURS = 60 * 24
# Hours add up in binary: 30.4761 of them must still be reached by 30.4761.
SLACK_H = 1e-9


class Method(StrEnum):
    """How warmth counts."""

    EQUIVALENT_AGE = "equivalent_age"
    TEMPERATURE_TIME = "temperature_time"


@dataclass(frozen=True, kw_only=True, slots=True)
class StrengthCurve:
    """The part of the 28-day strength over time, t / (a + b t), with t in days at reference."""

    name: str
    a_days: float
    b: float

    def __post_init__(self) -> None:
        for field, value in (("a_days", self.a_days), ("b", self.b)):
            if not 0 < value < math.inf:
                raise EngineError(f"{self.name}: give {field} as more than 0.", field=field)

    def fraction_at(self, age_h: float) -> float:
        """Return the part of the 28-day strength at an age in hours at reference."""
        days = max(age_h, 0.0) / HOURS_A_DAY
        return days / (self.a_days + self.b * days)

    def age_h_for(self, fraction: float) -> float:
        """Return the age in hours at which a part of the 28-day strength is reached.

        Raises:
            EngineError: the part is not more than 0, or the curve never comes so far.
        """
        if not 0 < fraction < 1.0 / self.b:
            raise EngineError(
                f"{self.name}: a part of the 28-day strength lies between 0 and "
                f"{1.0 / self.b:.2f}.",
                field="fraction",
            )
        return self.a_days * fraction / (1.0 - self.b * fraction) * HOURS_A_DAY


@dataclass(frozen=True, kw_only=True, slots=True)
class MaturityRule:
    """How warmth counts, and from where on weather harms young concrete.

    `q_k` is the activation energy over the gas constant, in kelvin. Under `cold_limit_f` the clock
    stops. Concrete under `safe_psi` is lost to one freeze, and so is any in its first night.
    """

    method: Method
    q_k: float
    reference_f: float
    datum_f: float
    cold_limit_f: float
    freezing_f: float
    first_night_h: float
    safe_psi: float
    hot_limit_f: float

    def __post_init__(self) -> None:
        for field in ("q_k", "first_night_h", "safe_psi"):
            if not 0 < getattr(self, field) < math.inf:
                raise EngineError("Give a figure of more than 0.", field=field)
        for field in ("reference_f", "datum_f", "cold_limit_f", "freezing_f", "hot_limit_f"):
            if not math.isfinite(getattr(self, field)):
                raise EngineError("Give a temperature.", field=field)
        if self.datum_f >= self.reference_f:
            raise EngineError("The datum lies under the reference temperature.", field="datum_f")

    def rate(self, concrete_f: float) -> float:
        """Return how many hours at reference an hour at this temperature counts as."""
        if self.method == Method.TEMPERATURE_TIME:
            return max(concrete_f - self.datum_f, 0.0) / (self.reference_f - self.datum_f)
        colder = 1.0 / _kelvin(concrete_f) - 1.0 / _kelvin(self.reference_f)
        return math.exp(-self.q_k * colder)

    def rate_in_air(self, air_f: float) -> float:
        """Return the same for a pour out of doors: nothing under the cold limit."""
        return 0.0 if air_f < self.cold_limit_f else self.rate(air_f)


def equivalent_age_h(rule: MaturityRule, hourly_f: Iterable[float]) -> float:
    """Return the hours at reference that some hours at these temperatures count as."""
    return math.fsum(rule.rate(one) for one in hourly_f)


def temperature_time_f_h(datum_f: float, hourly_f: Iterable[float]) -> float:
    """Return the Nurse-Saul index in degree hours: nothing counts under the datum."""
    return math.fsum(max(one - datum_f, 0.0) for one in hourly_f)


@dataclass(frozen=True, kw_only=True, slots=True)
class Reached:
    """After how many real hours a pour is as old as was asked, and the air until then.

    `stopped_h` are hours under the cold limit, in which nothing counted.
    """

    hours: float
    counted_h: float
    mean_f: float
    stopped_h: float


def reach(
    poured_at: dt.datetime, needed_h: float, *, air: Air, rule: MaturityRule
) -> Reached | None:
    """Return when a pour has aged that many hours at reference; None if not in two months.

    Raises:
        EngineError: the pour has no time zone.
    """
    _check_zone(poured_at)
    if air.steady_f is not None:
        return _reach_in_steady_air(needed_h, air.steady_f, rule)
    counted = degree_hours = stopped_h = 0.0
    enough_h = needed_h - SLACK_H
    passing = itertools.islice(air.hourly(poured_at, rule.rate_in_air), MOST_HOURS)
    for hour, (air_f, rate) in enumerate(passing):
        if counted + rate >= enough_h and rate > 0:
            part = min(max((needed_h - counted) / rate, 0.0), 1.0)
            hours = hour + part
            return Reached(
                hours=hours,
                counted_h=needed_h,
                mean_f=(degree_hours + air_f * part) / hours if hours else air_f,
                stopped_h=stopped_h,
            )
        counted += rate
        degree_hours += air_f
        if rate == 0:
            stopped_h += 1
    return None


def _reach_in_steady_air(needed_h: float, air_f: float, rule: MaturityRule) -> Reached | None:
    rate = rule.rate_in_air(air_f)
    if rate == 0 or needed_h > MOST_HOURS * rate:
        return None
    return Reached(hours=needed_h / rate, counted_h=needed_h, mean_f=air_f, stopped_h=0.0)


def strength_by_hour(
    poured_at: dt.datetime, curve: StrengthCurve, *, air: Air, rule: MaturityRule, hours: int
) -> Sequence[float]:
    """Return the part of the 28-day strength at the pour and after each real hour.

    Raises:
        EngineError: the pour has no time zone.
    """
    _check_zone(poured_at)
    passing = itertools.islice(air.hourly(poured_at, rule.rate_in_air), hours)
    rates = (rate for _, rate in passing)
    return tuple(curve.fraction_at(age) for age in itertools.accumulate(rates, initial=0.0))


@dataclass(frozen=True, kw_only=True, slots=True)
class Hazards:
    """What weather does to a young pour; each a moment with its temperature, or None.

    `frost` blocks the pour unless it is covered; the other two are flags.
    """

    frost: Extreme | None
    cold: Extreme | None
    heat: Extreme | None


def hazards(
    poured_at: dt.datetime,
    *,
    air: Air,
    rule: MaturityRule,
    curve: StrengthCurve | None,
    strength_psi: float,
) -> Hazards:
    """Return what threatens a pour until it may freeze once, and in its first night in any case.

    Without a curve only the first night is looked at.

    Raises:
        EngineError: the pour has no time zone, or the mix stays too weak to freeze at all.
    """
    _check_zone(poured_at)
    coldest, hottest = _extremes(poured_at, air, rule, curve, strength_psi)
    return Hazards(
        frost=coldest if coldest[1] <= rule.freezing_f else None,
        cold=coldest if coldest[1] < rule.cold_limit_f else None,
        heat=hottest if hottest[1] >= rule.hot_limit_f else None,
    )


def _extremes(
    poured_at: dt.datetime,
    air: Air,
    rule: MaturityRule,
    curve: StrengthCurve | None,
    strength_psi: float,
) -> tuple[Extreme, Extreme]:
    """Return the coldest moment while frost does harm, and the hottest of the first day."""
    if air.steady_f is not None:
        return (poured_at, air.steady_f), (poured_at, air.steady_f)
    watched_h = rule.first_night_h
    if curve is not None:
        safe_h = curve.age_h_for(rule.safe_psi / strength_psi)
        safe = reach(poured_at, safe_h, air=air, rule=rule)
        watched_h = max(watched_h, safe.hours if safe else MOST_HOURS)
    coldest = air.coldest(poured_at, hours_later(poured_at, watched_h))
    return coldest, air.hottest(poured_at, hours_later(poured_at, rule.first_night_h))


def _kelvin(f: float) -> float:
    return KELVIN_AT_0_F + f / F_PER_KELVIN


def _check_zone(poured_at: dt.datetime) -> None:
    if poured_at.tzinfo is None:
        raise EngineError("Give the pour with its time zone.", field="poured_at")
