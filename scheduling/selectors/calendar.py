"""The week: what each crew does on each day, what hardens meanwhile, and what has no day yet."""

import datetime as dt
from collections import defaultdict
from collections.abc import Container, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from django.db.models import QuerySet
from django.utils import timezone

from scheduling import mapping
from scheduling.models import Crew, CrewDay
from scheduling.selectors.cure_spans import (
    JobSpans,
    SpanWords,
    blocks_of,
    misfits,
    plan_around,
    spans_reaching,
)
from scheduling.selectors.planning import Plan
from scheduling.selectors.unplaced import UnplacedJob, unplaced_jobs
from scheduling.selectors.week_words import drive_words, rain_words, ticket_calls

ONE_DAY = dt.timedelta(days=1)
A_WEEK = dt.timedelta(days=7)
DAYS_IN_WEEK = 7
# How far a block's two buttons look for the crew's next working day.
FURTHEST = 14


@dataclass(frozen=True, kw_only=True, slots=True)
class DayHead:
    """A day of the week."""

    date: dt.date
    is_today: bool
    rain: str = ""
    holiday: str = ""
    may_rain_out: bool = False


@dataclass(frozen=True, kw_only=True, slots=True)
class Block:
    """Work on a day, and the crew's working days next to it."""

    row: CrewDay
    earlier: dt.date | None
    later: dt.date | None


@dataclass(frozen=True, kw_only=True, slots=True)
class CrewCell:
    """A crew's day: hours planned of hours there, or why there are none."""

    head: DayHead
    hours_planned: Decimal
    hours_there: Decimal
    off_words: str
    blocks: list[Block]
    drive: str = ""
    short_words: str = ""

    @property
    def is_over(self) -> bool:
        """Say whether more is planned than the day has hours."""
        return self.hours_planned > self.hours_there


@dataclass(frozen=True, kw_only=True, slots=True)
class CrewLine:
    """A crew's week."""

    crew: Crew
    cells: list[CrewCell]


@dataclass(frozen=True, kw_only=True, slots=True)
class JobCell:
    """A job's day."""

    head: DayHead
    blocks: list[CrewDay]


@dataclass(frozen=True, kw_only=True, slots=True)
class SpanView:
    """A wait as it lies in the week: whole days before it, of it and after it.

    `left_pct` and `width_pct` place the hatching to the hour inside the days of it.
    """

    days_before: int
    days: int
    days_after: int
    left_pct: str
    width_pct: str
    words: str
    sentence: str


@dataclass(frozen=True, kw_only=True, slots=True)
class JobLine:
    """A job's week: its blocks, and below them the waits of its concrete."""

    spans: JobSpans
    cells: list[JobCell]
    views: list[SpanView]

    @property
    def row_count(self) -> int:
        """How many rows of the table belong to this job."""
        return 1 + len(self.views)


@dataclass(frozen=True, kw_only=True, slots=True)
class DayList:
    """One day for a phone: each crew's cell, and what hardens."""

    head: DayHead
    cells: list[tuple[Crew, CrewCell]]
    waits: list[tuple[JobSpans, str]]


@dataclass(frozen=True, kw_only=True, slots=True)
class WeekView:
    """Everything the week's page shows; `done` are days ahead of work that is finished.

    `misfits` are sentences, `misfit_blocks` the rows they speak of.
    """

    monday: dt.date
    days: list[DayHead]
    crews: list[CrewLine]
    jobs: list[JobLine]
    misfits: list[str]
    misfit_blocks: frozenset[int]
    done: list[CrewDay]
    calls: list[str]
    unplaced: list[UnplacedJob]

    @property
    def sunday(self) -> dt.date:
        """The last day of the week."""
        return self.monday + 6 * ONE_DAY

    @property
    def week_before(self) -> str:
        """The week before, as ISO 8601 names it: 2026-W22."""
        return f"{self.monday - A_WEEK:%G-W%V}"

    @property
    def week_after(self) -> str:
        """The week after, as ISO 8601 names it."""
        return f"{self.monday + A_WEEK:%G-W%V}"

    @property
    def by_day(self) -> list[DayList]:
        """The same week as one list by day."""
        return [
            DayList(
                head=head,
                cells=[(line.crew, line.cells[number]) for line in self.crews],
                waits=[
                    # The reason once, as the wait begins; on the days after it the hour alone.
                    (line.spans, view.sentence if number == view.days_before else view.words)
                    for line in self.jobs
                    for view in line.views
                    if view.days_before <= number < view.days_before + view.days
                ],
            )
            for number, head in enumerate(self.days)
        ]


def monday_of(day: dt.date) -> dt.date:
    """Return the Monday of a day's week."""
    return day - day.weekday() * ONE_DAY


def week_view(*, monday: dt.date, now: dt.datetime) -> WeekView:
    """Return the week that begins on a Monday."""
    today = timezone.localdate(now)
    days = [monday + number * ONE_DAY for number in range(DAYS_IN_WEEK)]
    blocks = list(blocks_between(monday, days[-1]))
    plan = plan_around(monday, days[-1], now=now)
    heads = [
        DayHead(
            date=day,
            is_today=day == today,
            rain=rain_words(plan.facts, day),
            holiday=holiday_words(plan, day),
            may_rain_out=day >= today and any(block.date == day for block in blocks),
        )
        for day in days
    ]
    wrong = misfits(plan, monday, days[-1], now=now)
    return WeekView(
        monday=monday,
        days=heads,
        crews=_crew_lines(heads, blocks, plan, today=today),
        jobs=_job_lines(heads, blocks, plan),
        misfits=[one.sentence for one in wrong],
        misfit_blocks=blocks_of(wrong, today),
        done=[block for block in blocks if block.date >= today and block.is_done_already],
        calls=ticket_calls(plan, {block.job_id: block.job for block in blocks}),
        unplaced=unplaced_jobs(now=now),
    )


def blocks_between(first: dt.date, last: dt.date) -> QuerySet[CrewDay]:
    """Return the blocks of some days with all that names them, in the order of the work."""
    return (
        CrewDay.objects.filter(date__range=(first, last))
        .select_related("job__customer", "job__site__jurisdiction", "phase", "crew", "machine")
        .order_by("date", "crew__name", "position", "pk")
    )


def _crew_lines(
    heads: Sequence[DayHead],
    blocks: Iterable[CrewDay],
    plan: Plan,
    *,
    today: dt.date,
) -> list[CrewLine]:
    by_day: dict[tuple[int, dt.date], list[CrewDay]] = defaultdict(list)
    for block in blocks:
        by_day[block.crew_id, block.date].append(block)
    with_work = {crew for crew, _ in by_day}
    drives = drive_words(plan)
    lines = []
    for crew in crews_shown(plan, with_work):
        off, short = off_days(plan, crew), short_days(plan, crew)
        cells = [
            replace(
                _crew_cell(crew, head, by_day[crew.pk, head.date], off, today=today),
                drive=drives.get((crew.pk, head.date), ""),
                short_words="" if head.date in off else short.get(head.date, ""),
            )
            for head in heads
        ]
        lines.append(CrewLine(crew=crew, cells=cells))
    return lines


def holiday_words(plan: Plan, day: dt.date) -> str:
    """Return which holiday a day is, or nothing."""
    found = plan.holidays.get(day)
    return found.words if found else ""


def crews_shown(plan: Plan, with_work: Container[int]) -> list[Crew]:
    """Return the crews in use, and those that have work on the days shown."""
    return [crew for crew in plan.crews if crew.is_active or crew.pk in with_work]


def off_days(plan: Plan, crew: Crew) -> dict[dt.date, str]:
    """Return a crew's days off, each with what is said of it."""
    facts = plan.facts.crews[str(crew.pk)]
    return {day: facts.off_words.get(day, "Off") for day in facts.days_off}


def short_days(plan: Plan, crew: Crew) -> dict[dt.date, str]:
    """Return in words who of a crew is away, by day."""
    people = len(mapping.members_of(crew))
    return {
        day: f"{people - len(gone)} of {people} there: {', '.join(gone)} off"
        for day, gone in mapping.away_on(crew, plan.crews).items()
    }


def _crew_cell(
    crew: Crew,
    head: DayHead,
    blocks: Sequence[CrewDay],
    off: Mapping[dt.date, str],
    *,
    today: dt.date,
) -> CrewCell:
    works = _works_on(crew, head.date, off)
    words = off.get(head.date, "" if works else "No working day")
    return CrewCell(
        head=head,
        hours_planned=sum((block.hours for block in blocks), Decimal(0)),
        hours_there=crew.hours_per_day if works else Decimal(0),
        off_words=words,
        blocks=[
            Block(
                row=block,
                earlier=_next_day(crew, block.date, -ONE_DAY, off, today=today),
                later=_next_day(crew, block.date, ONE_DAY, off, today=today),
            )
            if block.date >= today
            else Block(row=block, earlier=None, later=None)
            for block in blocks
        ],
    )


def _works_on(crew: Crew, day: dt.date, off: Mapping[dt.date, str]) -> bool:
    return day.weekday() in crew.weekday_numbers and day not in off


def _next_day(
    crew: Crew,
    day: dt.date,
    step: dt.timedelta,
    off: Mapping[dt.date, str],
    *,
    today: dt.date,
) -> dt.date | None:
    """Return the crew's next working day that is not over, before or after a day."""
    days = (day + number * step for number in range(1, FURTHEST + 1))
    return next((one for one in days if one >= today and _works_on(crew, one, off)), None)


def _job_lines(heads: Sequence[DayHead], blocks: Iterable[CrewDay], plan: Plan) -> list[JobLine]:
    monday, sunday = heads[0].date, heads[-1].date
    by_day: dict[tuple[int, dt.date], list[CrewDay]] = defaultdict(list)
    for block in blocks:
        by_day[block.job_id, block.date].append(block)
    found = spans_reaching(plan, monday, sunday, also={job for job, _ in by_day})
    return [
        JobLine(
            spans=spans,
            cells=[JobCell(head=head, blocks=by_day[spans.job.pk, head.date]) for head in heads],
            views=[view for span in spans.spans if (view := span_view(span, monday))],
        )
        for spans in found
    ]


def span_view(span: SpanWords, monday: dt.date) -> SpanView | None:
    """Return how a wait lies in a week, or None where it lies outside it.

    Without an end, which is where the table knows no wait, it lasts to the end of the week.
    """
    zone = timezone.get_current_timezone()
    begins_at = dt.datetime.combine(monday, dt.time.min, tzinfo=zone)
    ends_at = dt.datetime.combine(monday + A_WEEK, dt.time.min, tzinfo=zone)
    first, last = max(span.from_at, begins_at), min(span.ready_at or ends_at, ends_at)
    if first >= last:
        return None
    from_day, from_part = _day_and_part(first, monday)
    to_day, to_part = _day_and_part(last, monday)
    if to_part == 0:
        to_day, to_part = to_day - 1, 1.0
    days = to_day - from_day + 1
    width = to_day - from_day + to_part - from_part
    return SpanView(
        days_before=from_day,
        days=days,
        days_after=DAYS_IN_WEEK - from_day - days,
        left_pct=f"{from_part / days:.2%}",
        width_pct=f"{width / days:.2%}",
        words=span.words,
        sentence=span.sentence,
    )


def _day_and_part(moment: dt.datetime, monday: dt.date) -> tuple[int, float]:
    """Return which day of the week a moment lies in, and how much of that day is over."""
    local = timezone.localtime(moment)
    seconds = local.hour * 3600 + local.minute * 60 + local.second
    return (local.date() - monday).days, seconds / 86400
