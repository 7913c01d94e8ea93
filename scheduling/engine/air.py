"""The air's temperature hour by hour, from each day's low and high.

Between turning points the air follows half a cosine wave: up from the day's low at 6:00 to its
high at 15:00, down to the next day's low at 6:00. Sunrise and the warmest hour move with place
and season; common practice puts the low near sunrise and the high in mid-afternoon. The curve runs
by the site's clock; who counts hours along it counts real ones.
"""

import datetime as dt
import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import lru_cache, partial
from itertools import count

from scheduling.engine.errors import EngineError

LOW_AT_H = 6.0
HIGH_AT_H = 15.0
RISE_H = HIGH_AT_H - LOW_AT_H
FALL_H = 24.0 - RISE_H
# Colder or warmer air than was ever measured where fences stand is a slip of the pen.
COLDEST_F = -80.0
HOTTEST_F = 140.0
# Where nobody said or forecast anything: the limit of cold weather, the longest waits there are.
UNKNOWN_AIR_F = 40.0
MINUTES_AN_HOUR = 60
SECONDS_AN_HOUR = 3600
# Three days of cold in a row were long what made cold weather (ACI 306.1-90).
DAYS_LOOKED_AT = 3
ONE_DAY = dt.timedelta(days=1)
# Half a year of quarter hours, some 5 MB (measured: 0.24 kB an hour).
MOST_HOURS_KEPT = 20_000

Rate = Callable[[float], float]
# When the air is coldest or hottest, and its temperature then.
Extreme = tuple[dt.datetime, float]


@dataclass(frozen=True, kw_only=True, slots=True)
class LowHigh:
    """The lowest and the highest temperature of a day."""

    low_f: float
    high_f: float

    def __post_init__(self) -> None:
        for name, value in (("low_f", self.low_f), ("high_f", self.high_f)):
            if not COLDEST_F <= value <= HOTTEST_F:
                raise EngineError(
                    f"Give a temperature between {COLDEST_F:g} and {HOTTEST_F:g} F.", field=name
                )
        if self.low_f > self.high_f:
            raise EngineError(
                f"A day's low of {self.low_f:g} F stands above its high of {self.high_f:g} F.",
                field="low_f",
            )

    @property
    def mean_f(self) -> float:
        """The mean of low and high, as a day's mean is usually taken."""
        return (self.low_f + self.high_f) / 2


@dataclass(frozen=True, kw_only=True, slots=True)
class Air:
    """What is known of the air: days by date, the months' usual lows and highs, one figure said.

    A day's own low and high rule. Elsewhere it is the colder of what was said and what is usual:
    one reading, taken in the warmth of the afternoon, tells nothing of the nights.

    Days and hours that were asked for are kept: a plan asks for the same ones thousands of times.
    What is known changes by making another Air, which begins with none.
    """

    days: Mapping[dt.date, LowHigh] = field(default_factory=dict)
    normals: Mapping[int, LowHigh] = field(default_factory=dict)
    said_f: float | None = None
    _known: dict[dt.date, LowHigh] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )
    _hours: dict[tuple[dt.tzinfo | None, Rate], Callable[[int], tuple[float, float]]] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )

    def __post_init__(self) -> None:
        if self.said_f is not None and not math.isfinite(self.said_f):
            raise EngineError("Give the air temperature as a figure.", field="air_f")

    def on(self, day: dt.date) -> LowHigh:
        """Return a day's low and high, the same figure twice where only one is known."""
        if day in self.days:
            return self.days[day]
        usual = self.normals.get(day.month)
        if usual is not None and (self.said_f is None or usual.mean_f < self.said_f):
            return usual
        said_f = UNKNOWN_AIR_F if self.said_f is None else self.said_f
        steady_f = min(max(said_f, COLDEST_F), HOTTEST_F)
        return LowHigh(low_f=steady_f, high_f=steady_f)

    @property
    def steady_f(self) -> float | None:
        """Return the one temperature there is, or None where days or months have their own."""
        if self.days or self.normals:
            return None
        return self.on(dt.date.min).low_f

    def knows(self, day: dt.date) -> bool:
        """Say whether a day has a low and a high of its own, or its month has."""
        return day in self.days or day.month in self.normals

    def coldest_mean_f(self, day: dt.date) -> float:
        """Return the mean of the coldest of three days, the first of them given."""
        return min(self.on(day + ONE_DAY * count).mean_f for count in range(DAYS_LOOKED_AT))

    def at(self, moment: dt.datetime) -> float:
        """Return the temperature at a moment, which stands on the site's clock."""
        hour = moment.hour + moment.minute / MINUTES_AN_HOUR + moment.second / SECONDS_AN_HOUR
        today = moment.date()
        if hour < LOW_AT_H:
            begins, ends = self._on(today - ONE_DAY).high_f, self._on(today).low_f
            part = (hour + 24.0 - HIGH_AT_H) / FALL_H
        elif hour <= HIGH_AT_H:
            day = self._on(today)
            begins, ends, part = day.low_f, day.high_f, (hour - LOW_AT_H) / RISE_H
        else:
            begins, ends = self._on(today).high_f, self._on(today + ONE_DAY).low_f
            part = (hour - HIGH_AT_H) / FALL_H
        return begins + (ends - begins) * (1.0 - math.cos(math.pi * part)) / 2.0

    def hourly(self, since: dt.datetime, rate: Rate) -> Iterator[tuple[float, float]]:
        """Yield the air in the middle of each real hour from a moment on, with its rate.

        There is no end to it, as months come round.
        """
        key = since.tzinfo, rate
        if key not in self._hours:
            self._hours[key] = lru_cache(MOST_HOURS_KEPT)(partial(self._rated, *key))
        middle_s = int(since.replace(microsecond=0).timestamp()) + SECONDS_AN_HOUR // 2
        return map(self._hours[key], count(middle_s, SECONDS_AN_HOUR))

    def _rated(self, zone: dt.tzinfo | None, rate: Rate, moment_s: int) -> tuple[float, float]:
        air_f = self.at(dt.datetime.fromtimestamp(moment_s, zone))
        return air_f, rate(air_f)

    def coldest(self, since: dt.datetime, until: dt.datetime) -> Extreme:
        """Return when in between the air is coldest, and how cold."""
        found = [(one, self.at(one)) for one in _turning_points(since, until, LOW_AT_H)]
        return min(found, key=lambda each: each[1])

    def hottest(self, since: dt.datetime, until: dt.datetime) -> Extreme:
        """Return when in between the air is hottest, and how hot."""
        found = [(one, self.at(one)) for one in _turning_points(since, until, HIGH_AT_H)]
        return max(found, key=lambda each: each[1])

    def _on(self, day: dt.date) -> LowHigh:
        found = self._known.get(day)
        if found is None:
            found = self._known[day] = self.on(day)
        return found


def _turning_points(since: dt.datetime, until: dt.datetime, hour: float) -> Iterator[dt.datetime]:
    """Yield both ends and that hour of each day between: nowhere else is the curve's extreme."""
    yield since
    yield until
    begins, ends = since.astimezone(dt.UTC), until.astimezone(dt.UTC)
    day, last = since.date(), until.date()
    while day <= last:
        turn = dt.datetime.combine(day, dt.time(int(hour)), tzinfo=since.tzinfo)
        if begins < turn.astimezone(dt.UTC) < ends:
            yield turn
        day += ONE_DAY
