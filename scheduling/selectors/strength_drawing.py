"""A pour's strength as a drawing: where its line, its marks and its ticks lie on the paper."""

import datetime as dt
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from scheduling.engine.cure import NAMES
from scheduling.engine.strength_line import Crossing, StrengthLine

WIDTH, HEIGHT = 640, 270
LEFT, RIGHT, TOP, BOTTOM = 48.0, 626.0, 18.0, 228.0
TENTH = 0.1
ONE_DAY = dt.timedelta(days=1)
# More names of days than this run into one another.
MOST_DAYS_NAMED = 9
SECONDS_AN_HOUR = 3600


@dataclass(frozen=True, kw_only=True, slots=True)
class Mark:
    """A crossing: where it lies, and in words which work, which part and when."""

    x: float
    y: float
    words: str
    at: dt.datetime
    hours: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Tick:
    """A place on an axis with what stands there, if anything does."""

    at: float
    words: str


@dataclass(frozen=True, kw_only=True, slots=True)
class StrengthDrawing:
    """All that the template needs to draw; lengths in the drawing's own units."""

    points: str
    marks: Sequence[Mark]
    days: Sequence[Tick]
    tenths: Sequence[Tick]
    width: int = WIDTH
    height: int = HEIGHT
    left: float = LEFT
    right: float = RIGHT
    top: float = TOP
    bottom: float = BOTTOM


def strength_drawing(line: StrengthLine) -> StrengthDrawing:
    """Return a pour's strength as it is drawn: real hours across, tenths of strength upwards."""
    highest = max(*line.parts, *(one.part for one in line.crossings))
    tenths = math.ceil(highest / TENTH)

    def x(hours: float) -> float:
        return round(LEFT + (RIGHT - LEFT) * hours / line.hours, 1)

    def y(part: float) -> float:
        return round(BOTTOM - (BOTTOM - TOP) * part / (tenths * TENTH), 1)

    return StrengthDrawing(
        points=" ".join(f"{x(hour)},{y(part)}" for hour, part in enumerate(line.parts)),
        marks=tuple(
            Mark(x=x(one.hours), y=y(one.part), words=_words(one), at=one.at, hours=one.hours)
            for one in line.crossings
        ),
        days=tuple(Tick(at=x(hours), words=words) for hours, words in _days(line)),
        tenths=tuple(
            Tick(at=y(count * TENTH), words=f"{count * 10} %") for count in range(tenths + 1)
        ),
    )


def _words(one: Crossing) -> str:
    return f"{one.part * 100:g} %, {NAMES[one.work]}: {one.at:%a %b} {one.at.day} {one.at:%H:%M}"


def _days(line: StrengthLine) -> Iterator[tuple[float, str]]:
    """Yield each midnight of the site's clock with its hours from the pour and the day's name."""
    every = math.ceil(line.hours / 24 / MOST_DAYS_NAMED)
    day = line.poured_at.date() + ONE_DAY
    for count in range(line.hours // 24 + 2):
        midnight = dt.datetime.combine(day, dt.time(), tzinfo=line.poured_at.tzinfo)
        passed = midnight.astimezone(dt.UTC) - line.poured_at.astimezone(dt.UTC)
        hours = passed.total_seconds() / SECONDS_AN_HOUR
        if hours <= line.hours:
            yield hours, f"{day:%a} {day.day}" if count % every == 0 else ""
        day += ONE_DAY
