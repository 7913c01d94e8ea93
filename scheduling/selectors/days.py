"""The days of crews: which jobs they are at, and from when to when."""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby

from django.db.models import Prefetch, QuerySet
from django.utils import timezone

from firm.models import Clearance, User
from scheduling.engine.real_time import hours_later
from scheduling.models import Crew, CrewDay, FenceJob
from scheduling.selectors.dig import DIG_DAY, DigAnswer, dig_answer
from scheduling.selectors.rain_bars import RainBar, rain_bar
from scheduling.selectors.reach import crew_days_within_reach, crews_within_reach
from scheduling.selectors.weather import rain_of_days

DAYS_SHOWN = 7
ONE_DAY = dt.timedelta(days=1)


@dataclass(frozen=True, kw_only=True, slots=True)
class TimedBlock:
    """A block of the calendar with the moments it begins and ends."""

    row: CrewDay
    starts_at: dt.datetime
    ends_at: dt.datetime

    @property
    def name(self) -> str:
        """The phase in words."""
        return str(self.row.phase.get_kind_display())


@dataclass(frozen=True, kw_only=True, slots=True)
class JobOnDay:
    """One job of a crew on one day, with its blocks in their order.

    `dig` says whether the ground may be opened, where the day's work does; `rain` what of it the
    rain of the day bars.
    """

    job: FenceJob
    crew: Crew
    date: dt.date
    blocks: Sequence[TimedBlock]
    dig: DigAnswer | None = None
    rain: RainBar | None = None

    @property
    def phase_names(self) -> Sequence[str]:
        """What is done there that day."""
        return [block.name for block in self.blocks]

    @property
    def done_names(self) -> Sequence[str]:
        """What of it was finished before this day."""
        return [block.name for block in self.blocks if block.row.is_done_already]

    @property
    def is_all_done(self) -> bool:
        """Say whether nothing of it is left to do."""
        return all(block.row.is_done_already for block in self.blocks)

    @property
    def machines(self) -> Sequence[str]:
        """The machines that come along."""
        return sorted({str(block.row.machine) for block in self.blocks if block.row.machine})


@dataclass(frozen=True, kw_only=True, slots=True)
class CrewOnDay:
    """A crew's day: its jobs in their order."""

    crew: Crew
    date: dt.date
    jobs: Sequence[JobOnDay]


def on_the_clock(rows: Iterable[CrewDay]) -> list[TimedBlock]:
    """Return blocks of one crew's day, given in their order, with their moments.

    A block without a start of its own follows the one before it, or begins with the crew's day.
    """
    found: list[TimedBlock] = []
    zone = timezone.get_current_timezone()
    for row in rows:
        start = row.start or (None if found else row.crew.day_start)
        starts_at = (
            dt.datetime.combine(row.date, start, tzinfo=zone) if start else found[-1].ends_at
        )
        ends_at = hours_later(starts_at, float(row.hours))
        found.append(TimedBlock(row=row, starts_at=starts_at, ends_at=ends_at))
    return found


def crew_day(person: User, *, crew: int, date: dt.date, now: dt.datetime) -> CrewOnDay | None:
    """Return a crew's day with every job of it, empty ones too; None out of a person's reach."""
    found = crews_within_reach(person).filter(pk=crew).first()
    if found is None:
        return None
    days = _days(_rows(person).filter(crew=crew, date=date), now=now)
    return days[0] if days else CrewOnDay(crew=found, date=date, jobs=())


def coming_days(
    person: User, *, now: dt.datetime, crew: int | None = None, first: dt.date | None = None
) -> list[CrewOnDay]:
    """Return a week's days of a person's crews, or of one of them, from a day or today on."""
    first = first or timezone.localdate(now)
    rows = _rows(person).filter(date__gte=first, date__lt=first + ONE_DAY * DAYS_SHOWN)
    return _days(rows.filter(crew=crew) if crew is not None else rows, now=now)


def _rows(person: User) -> QuerySet[CrewDay]:
    return (
        crew_days_within_reach(person)
        .select_related("phase", "crew", "machine", "job__customer", "job__site")
        .prefetch_related(
            Prefetch("job__site__clearances", Clearance.objects.order_by("pk")),
            "job__site__clearances__answers",
            "job__phases",
        )
        .order_by("date", "crew__name", "crew", "position", "pk")
    )


def _days(rows: Iterable[CrewDay], *, now: dt.datetime) -> list[CrewOnDay]:
    found = []
    all_rows = list(rows)
    dates = [row.date for row in all_rows]
    wet = rain_of_days(min(dates), max(dates)) if dates else {}
    for _, same in groupby(all_rows, key=lambda row: (row.date, row.crew_id)):
        blocks = on_the_clock(same)
        first = blocks[0].row
        rain_in = wet[first.date].rain_in if first.date in wet else 0.0
        jobs = tuple(_jobs(blocks, rain_in, now))
        found.append(CrewOnDay(crew=first.crew, date=first.date, jobs=jobs))
    return found


def _jobs(blocks: Sequence[TimedBlock], rain_in: float, now: dt.datetime) -> Iterable[JobOnDay]:
    by_job: dict[int, list[TimedBlock]] = {}
    for block in blocks:
        by_job.setdefault(block.row.job_id, []).append(block)
    for mine in by_job.values():
        row = mine[0].row
        opens = any(block.row.phase.kind in DIG_DAY for block in mine)
        dig = dig_answer(row.job, date=row.date, now=now) if opens else None
        rain = rain_bar(rain_in, (block.row for block in mine))
        yield JobOnDay(job=row.job, crew=row.crew, date=row.date, blocks=mine, dig=dig, rain=rain)
