"""A job's days as one drawing from left to right: work, waits, windows of papers, deadlines.

Each row's words stand above its bar, so that the drawing reads as well at a phone's width.
"""

import datetime as dt
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from html import escape

ONE_DAY = dt.timedelta(days=1)
MINUTES_A_DAY = 1440
SATURDAY = 5
SIDE = 4.0
SIZE = 12.0
LETTER_WIDTH = 0.56
LINE_HEIGHT = 16.0
ROW_HEIGHT = 36.0
BAR_HEIGHT = 12.0
LEAST_WIDTH = 3.0
# A name of a week, such as Mon Nov 30, and the air beside it.
WEEK_NAME = 80.0
INK, SOFT, GRID, SHADE = "#1b1a16", "#5d574a", "#d8cfbb", "#f1ede2"
WORK, WINDOW, DONE, DUE = "#0b4640", "#dfece7", "#7d7563", "#8c1d18"


class Look(StrEnum):
    """What a bar stands for."""

    WORK = "work"
    WAIT = "wait"
    WINDOW = "window"
    CLOSED = "closed"


@dataclass(frozen=True, kw_only=True, slots=True)
class Bar:
    """A stretch of time on the site's clock; open where it has no beginning or no end."""

    begins_at: dt.datetime | None
    ends_at: dt.datetime | None
    look: Look


@dataclass(frozen=True, kw_only=True, slots=True)
class Point:
    """A day on which something comes: filled where it has come."""

    on: dt.date
    has_come: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class Row:
    """One thing of a job, and when it is, in words and as drawn."""

    name: str
    when: str
    bars: Sequence[Bar] = ()
    points: Sequence[Point] = ()

    @property
    def words(self) -> str:
        """Both in one line."""
        return f"{self.name}: {self.when}"


@dataclass(frozen=True, kw_only=True, slots=True)
class Mark:
    """A day that runs through all rows: today, a promise, a deadline."""

    on: dt.date
    name: str
    when: str
    is_due: bool = False

    @property
    def words(self) -> str:
        """Both in one line."""
        return f"{self.name}: {self.when}"


@dataclass(frozen=True, kw_only=True, slots=True)
class Timeline:
    """The days drawn, first and last included, and all that stands on them."""

    first: dt.date
    last: dt.date
    rows: Sequence[Row]
    marks: Sequence[Mark]
    title: str


class _Sheet:
    """A timeline at a width: where each moment lies on it."""

    def __init__(self, timeline: Timeline, width: float, key: str) -> None:
        self.timeline, self.width, self.key = timeline, width, key
        self.days = (timeline.last - timeline.first) // ONE_DAY + 1
        self.marks = [one for one in timeline.marks if timeline.first <= one.on <= timeline.last]
        self.top = LINE_HEIGHT * (len(self.marks) + 1) + SIDE
        self.bottom = self.top + ROW_HEIGHT * len(timeline.rows)

    @property
    def day_width(self) -> float:
        return (self.width - 2 * SIDE) / self.days

    def x(self, moment: dt.datetime | dt.date) -> float:
        """Return where a moment lies; a day begins at its midnight, what is outside at the edge."""
        if isinstance(moment, dt.datetime):
            day, part = moment.date(), (moment.hour * 60 + moment.minute) / MINUTES_A_DAY
        else:
            day, part = moment, 0.0
        count = (day - self.timeline.first) // ONE_DAY + part
        return SIDE + min(max(count, 0.0), float(self.days)) * self.day_width


def timeline_svg(
    timeline: Timeline, *, width: float, key: str, day_words: Callable[[dt.date], str]
) -> str:
    """Return a job's days as SVG of a width in CSS pixels; `key` parts its names from others'.

    `day_words` says a day as it stands over its Monday.
    """
    sheet = _Sheet(timeline, width, key)
    parts = [
        *_pattern(sheet),
        *_days(sheet, day_words),
        *_marks(sheet),
        *_rows(sheet),
    ]
    return (
        f'<svg class="timeline timeline-{key}" viewBox="0 0 {width:g} {sheet.bottom:g}" role="img" '
        f'aria-labelledby="timeline-{key}-title" xmlns="http://www.w3.org/2000/svg">'
        f'<title id="timeline-{key}-title">{escape(timeline.title)}</title>{"".join(parts)}</svg>'
    )


def _pattern(sheet: _Sheet) -> Iterator[str]:
    yield (
        f'<defs><pattern id="timeline-{sheet.key}-hatch" width="6" height="6" '
        'patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
        f'<rect width="6" height="6" fill="#ffffff"/><rect width="2" height="6" fill="{INK}"/>'
        "</pattern></defs>"
    )


def _days(sheet: _Sheet, day_words: Callable[[dt.date], str]) -> Iterator[str]:
    """Yield the weekends as shade, and Mondays by name where there is room."""
    every = max(1, -(-WEEK_NAME // (7 * sheet.day_width)))
    mondays = 0
    for count in range(sheet.days):
        day = sheet.timeline.first + count * ONE_DAY
        if day.weekday() >= SATURDAY:
            yield _rect(sheet.x(day), sheet.top, sheet.day_width, sheet.bottom - sheet.top, SHADE)
        if day.weekday() == 0:
            if mondays % every == 0 and sheet.x(day) + WEEK_NAME <= sheet.width:
                yield _text(sheet.x(day), sheet.top - 5, day_words(day), SOFT)
            yield _line(sheet.x(day), sheet.top, sheet.bottom, GRID)
            mondays += 1


def _rows(sheet: _Sheet) -> Iterator[str]:
    most = int((sheet.width - 2 * SIDE) / (SIZE * LETTER_WIDTH))
    for count, row in enumerate(sheet.timeline.rows):
        top = sheet.top + count * ROW_HEIGHT
        yield _text(SIDE, top + SIZE + 1, _cut(row.words, most), INK)
        for bar in row.bars:
            yield from _bar(sheet, bar, top + ROW_HEIGHT - BAR_HEIGHT - 5)
        for point in row.points:
            yield from _point(sheet, point, top + ROW_HEIGHT - BAR_HEIGHT / 2 - 5)


def _bar(sheet: _Sheet, bar: Bar, top: float) -> Iterator[str]:
    begins = sheet.x(bar.begins_at) if bar.begins_at else SIDE
    ends = sheet.x(bar.ends_at) if bar.ends_at else sheet.width - SIDE
    if ends <= SIDE or begins >= sheet.width - SIDE:
        return
    fill = {
        Look.WORK: WORK,
        Look.WAIT: f"url(#timeline-{sheet.key}-hatch)",
        Look.WINDOW: WINDOW,
        Look.CLOSED: DONE,
    }[bar.look]
    yield _rect(begins, top, max(ends - begins, LEAST_WIDTH), BAR_HEIGHT, fill, edge=INK)


def _point(sheet: _Sheet, point: Point, middle: float) -> Iterator[str]:
    """Yield a diamond in the middle of its day."""
    if not sheet.timeline.first <= point.on <= sheet.timeline.last:
        return
    x, half = sheet.x(point.on) + sheet.day_width / 2, BAR_HEIGHT / 2
    fill = WORK if point.has_come else "#ffffff"
    yield (
        f'<path d="M{x:.1f} {middle - half:.1f}l{half} {half}l-{half} {half}l-{half} -{half}z" '
        f'fill="{fill}" stroke="{INK}"/>'
    )


def _marks(sheet: _Sheet) -> Iterator[str]:
    """Yield the days that run through all rows, each with its words on a line of its own."""
    for count, mark in enumerate(sheet.marks):
        x = sheet.x(mark.on) + (sheet.day_width if mark.is_due else 0.0)
        colour = DUE if mark.is_due else SOFT
        y = SIDE + SIZE + count * LINE_HEIGHT
        yield _line(x, y - SIZE, sheet.bottom, colour, dash="" if mark.is_due else "4 3")
        is_left = x > sheet.width / 2
        at = x - 4 if is_left else x + 4
        yield _text(at, y - 1, mark.words, colour, anchor="end" if is_left else "start")


def _cut(words: str, most: int) -> str:
    return words if len(words) <= most else f"{words[: most - 1].rstrip()}\N{HORIZONTAL ELLIPSIS}"


def _text(x: float, y: float, words: str, fill: str, *, anchor: str = "start") -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-size="{SIZE:g}" fill="{fill}" '
        f'text-anchor="{anchor}" stroke="#fffdf9" stroke-width="3" stroke-linejoin="round" '
        f'paint-order="stroke">{escape(words)}</text>'
    )


def _rect(x: float, y: float, width: float, height: float, fill: str, *, edge: str = "") -> str:
    stroke = f' stroke="{edge}"' if edge else ""
    return (
        f'<rect x="{x:.1f}" y="{y:.1f}" width="{width:.1f}" height="{height:.1f}" '
        f'fill="{fill}"{stroke}/>'
    )


def _line(x: float, top: float, bottom: float, stroke: str, *, dash: str = "") -> str:
    dashes = f' stroke-dasharray="{dash}"' if dash else ""
    return f'<path d="M{x:.1f} {top:.1f}V{bottom:.1f}" stroke="{stroke}"{dashes}/>'
