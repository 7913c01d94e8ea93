"""The month: a row for each day with what each crew does, and which concrete hardens."""

import datetime as dt
from calendar import monthrange
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from django.utils import timezone

from scheduling.models import Crew, CrewDay, FenceJob, JobPhase
from scheduling.selectors.calendar import (
    ONE_DAY,
    blocks_between,
    crews_shown,
    holiday_words,
    off_days,
    short_days,
)
from scheduling.selectors.cure_spans import (
    JobSpans,
    SpanWords,
    blocks_of,
    misfits,
    plan_around,
    spans_reaching,
)
from scheduling.selectors.week_words import rain_words

SHORT = {
    JobPhase.Kind.REMOVAL: "take out",
    JobPhase.Kind.LAYOUT: "lay out",
    JobPhase.Kind.DIG: "dig",
    JobPhase.Kind.SET: "set",
    JobPhase.Kind.HANG: "hang",
    JobPhase.Kind.GATES: "gates",
    JobPhase.Kind.CLEAN_UP: "clean up",
    JobPhase.Kind.EXTRA: "other",
}


@dataclass(frozen=True, kw_only=True, slots=True)
class MonthBlock:
    """Work of a crew on a day, in few words."""

    row: CrewDay

    @property
    def phase(self) -> str:
        """The phase in a word or two."""
        return SHORT[JobPhase.Kind(self.row.phase.kind)]


@dataclass(frozen=True, kw_only=True, slots=True)
class MonthCell:
    """A crew's day."""

    crew: Crew
    off_words: str
    short_words: str
    blocks: list[MonthBlock]


@dataclass(frozen=True, kw_only=True, slots=True)
class MonthDay:
    """A day of all crews, and the jobs whose concrete hardens on it."""

    date: dt.date
    is_today: bool
    cells: list[MonthCell]
    waits: list[tuple[FenceJob, SpanWords]]
    is_over: bool = False
    holiday: str = ""
    rain: str = ""

    @property
    def may_rain_out(self) -> bool:
        """Say whether there is work that rain could still take away."""
        return not self.is_over and any(cell.blocks for cell in self.cells)


@dataclass(frozen=True, kw_only=True, slots=True)
class MonthView:
    """Everything the month's page shows."""

    first: dt.date
    crews: list[Crew]
    days: list[MonthDay]
    misfit_blocks: frozenset[int]

    @property
    def month_before(self) -> str:
        """The month before, as ISO 8601 writes it: 2026-05."""
        return f"{self.first - ONE_DAY:%Y-%m}"

    @property
    def month_after(self) -> str:
        """The month after, as ISO 8601 writes it."""
        return f"{self.days[-1].date + ONE_DAY:%Y-%m}"


def month_view(*, first: dt.date, now: dt.datetime) -> MonthView:
    """Return the month that begins on a day."""
    today = timezone.localdate(now)
    days = [first + number * ONE_DAY for number in range(monthrange(first.year, first.month)[1])]
    by_day: dict[tuple[int, dt.date], list[MonthBlock]] = defaultdict(list)
    for row in blocks_between(first, days[-1]):
        by_day[row.crew_id, row.date].append(MonthBlock(row=row))
    with_work = {crew for crew, _ in by_day}
    plan = plan_around(first, days[-1], now=now)
    crews = crews_shown(plan, with_work)
    off = {crew.pk: off_days(plan, crew) for crew in crews}
    short = {crew.pk: short_days(plan, crew) for crew in crews}
    spans = spans_reaching(plan, first, days[-1], also=())
    return MonthView(
        first=first,
        crews=crews,
        days=[
            MonthDay(
                date=day,
                is_today=day == today,
                cells=[
                    MonthCell(
                        crew=crew,
                        off_words=_off_words(crew, day, off[crew.pk].get(day, "")),
                        short_words=short[crew.pk].get(day, ""),
                        blocks=by_day[crew.pk, day],
                    )
                    for crew in crews
                ],
                waits=_waits_on(day, spans),
                is_over=day < today,
                holiday=holiday_words(plan, day),
                rain=rain_words(plan.facts, day),
            )
            for day in days
        ],
        misfit_blocks=blocks_of(misfits(plan, first, days[-1], now=now), today),
    )


def _off_words(crew: Crew, day: dt.date, said: str) -> str:
    return said or ("" if day.weekday() in crew.weekday_numbers else "No working day")


def _waits_on(day: dt.date, found: Sequence[JobSpans]) -> list[tuple[FenceJob, SpanWords]]:
    """Return the waits that last for some of a day; one without an end lasts on."""
    zone = timezone.get_current_timezone()
    begins_at = dt.datetime.combine(day, dt.time.min, tzinfo=zone)
    ends_at = dt.datetime.combine(day + ONE_DAY, dt.time.min, tzinfo=zone)
    return [
        (spans.job, span)
        for spans in found
        for span in spans.spans
        if span.from_at < ends_at and (span.ready_at is None or span.ready_at > begins_at)
    ]
