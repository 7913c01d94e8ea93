"""A day lost to rain: what it would move, and moving it, all of it or nothing."""

import datetime as dt
import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from django.db import transaction
from django.utils import timezone

from firm.errors import Refusal
from firm.models import User
from firm.selectors.clearances import locate_rule
from firm.services import audit
from firm.services.saving import add_row
from scheduling import mapping
from scheduling.engine.new_breaches import new_violations, told_of
from scheduling.engine.placing import Wanted
from scheduling.engine.plan import CrewDay as Block
from scheduling.engine.plan import Facts, timed
from scheduling.engine.shifting import Fate, Line, Shifted, is_rained_out, saving_call, shift
from scheduling.engine.ticket_call import ticket_call
from scheduling.engine.wording import day_words
from scheduling.models import Crew, CrewDay, DayReport, FenceJob, PlanChange, RainOut, RainOutJob
from scheduling.selectors.planning import Plan, standing_plan
from scheduling.selectors.short_material import short_by_moving
from scheduling.services.air_of_blocks import let_air_follow
from scheduling.services.calendar_rows import lock_calendar
from scheduling.services.material_dates import dates_follow_calendar
from scheduling.services.placing import HORIZON, ONE_DAY, hours_wanted
from scheduling.services.plan_changes import note_days, note_waits, waits_of
from scheduling.services.shifted_rows import write_shifted
from scheduling.services.weather import write_down_rain

CHANGED = "The calendar has changed since you looked: look once more at what would move."


@dataclass(frozen=True, kw_only=True, slots=True)
class RainOutAsked:
    """Which day is lost, to which crew (all where None), and how the rest is to follow.

    Blocks a person placed on that day move only `with_fixed`; those of other days always stay.
    """

    date: dt.date
    crew: Crew | None
    work: str
    others: str
    with_fixed: bool
    rain_in: float | None


@dataclass(frozen=True, kw_only=True, slots=True)
class Staying:
    """A block of the day that is not moved, and why."""

    row: CrewDay
    why: str


@dataclass(frozen=True, kw_only=True, slots=True)
class JobShift:
    """What a rain-out does to one job: the days somebody comes, before and after."""

    job: FenceJob
    shifted: Shifted
    before: tuple[dt.date, ...]
    after: tuple[dt.date, ...]
    call: str


@dataclass(frozen=True, kw_only=True, slots=True)
class RainOutLook:
    """All that a rain-out would do; `mark` tells whether a later look would say the same.

    `short` names what material comes too late by the move.
    """

    asked: RainOutAsked
    jobs: tuple[JobShift, ...]
    staying: tuple[Staying, ...]
    short: tuple[str, ...]
    mark: str

    @property
    def moves_any(self) -> bool:
        """Say whether any job can be moved, or taken off its day."""
        return any(one.shifted.fate != Fate.STUCK for one in self.jobs)


@dataclass(frozen=True, kw_only=True, slots=True)
class _Lost:
    """The calendar as a lost day finds it, and what of it may move."""

    plan: Plan
    facts: Facts
    lost: Sequence[CrewDay]
    staying: tuple[Staying, ...]


def look_at_rain_out(*, asked: RainOutAsked, now: dt.datetime) -> RainOutLook:
    """Return what a rain-out would move where, and write nothing.

    Raises:
        Refusal: the day is over, or nothing of it is rained out.
    """
    today = timezone.localdate(now)
    return _worked_out(asked, _lost_day(asked, today), today)[0]


@transaction.atomic
def carry_out_rain_out(*, asked: RainOutAsked, mark: str, actor: User, now: dt.datetime) -> RainOut:
    """Move what a look showed, and keep which customers are to be told.

    Raises:
        Refusal: the calendar says something else by now, or the plan would break a rule.
    """
    lock_calendar()
    today = timezone.localdate(now)
    day = _lost_day(asked, today)
    look, shifted, plan = _worked_out(asked, day, today)
    if look.mark != mark:
        raise Refusal(CHANGED)
    if not look.moves_any:
        raise Refusal(" ".join(dict.fromkeys(one.shifted.why for one in look.jobs)))
    if asked.rain_in is not None:
        write_down_rain(rain={asked.date: asked.rain_in}, actor=actor, now=now)
    stood = told_of(day.plan.blocks, day.facts)
    stood_on = {row.pk: row.date for row in day.plan.rows}
    with dates_follow_calendar(actor=actor, now=now):
        write_shifted(shifted, plan, rows=day.plan.rows, actor=actor, now=now)
        after = standing_plan(today=today, also=[int(key) for key in day.facts.jobs])
        if new := new_violations(after.blocks, after.facts, stood):
            raise Refusal(" ".join(dict.fromkeys(one.sentence for one in new)))
    cause, why = PlanChange.Cause.RAIN_OUT, f"rain on {day_words(asked.date)}"
    note_days(day.plan.rows, after.rows, cause=cause, why=why, actor=actor, now=now)
    if let_air_follow(after.rows, stood_on, actor=actor, now=now):
        # Other air on the new day may let hang at another hour: that is told, not barred.
        anew = standing_plan(today=today, also=[int(key) for key in day.facts.jobs])
        note_waits(waits_of(after), waits_of(anew), cause=cause, actor=actor, now=now, why=why)
    return _kept(look, actor=actor, now=now)


@transaction.atomic
def tick_told(*, row: RainOutJob, is_told: bool, actor: User, now: dt.datetime) -> None:
    """Write down that a job's customer was told, or that it was ticked by mistake."""
    told = RainOutJob.objects.filter(pk=row.pk, told_at__isnull=is_told)
    if told.update(told_by=actor if is_told else None, told_at=now if is_told else None):
        action = "told a customer of the rain" if is_told else "took the tick away"
        audit.record(actor=actor, action=action, target=row, at=now)


def _lost_day(asked: RainOutAsked, today: dt.date) -> _Lost:
    if asked.date < today:
        raise Refusal("That day is over: place its jobs anew instead.", field="date")
    if asked.work == RainOut.Work.BARRED and asked.rain_in is None:
        raise Refusal("Say how much rain, or choose all work of the day.", field="rain_in")
    open_jobs = FenceJob.objects.filter(state=FenceJob.State.TO_DO).values_list("pk", flat=True)
    plan = standing_plan(today=today, also=open_jobs)
    wet = {asked.date: asked.rain_in} if asked.rain_in is not None else {}
    facts = replace(plan.facts, wet_days={**plan.facts.wet_days, **wet})
    reported = set(DayReport.objects.filter(date=asked.date).values_list("job", "crew"))
    is_open = set(open_jobs)
    of_day = [
        row
        for row in plan.rows
        if row.date == asked.date
        and row.job_id in is_open
        and (asked.crew is None or row.crew_id == asked.crew.pk)
    ]
    stays = {row.pk: _stays(row, asked, facts, reported) for row in of_day}
    staying = tuple(Staying(row=row, why=stays[row.pk]) for row in of_day if stays[row.pk])
    lost = [row for row in of_day if not stays[row.pk]]
    if not lost:
        raise Refusal("Nothing of that day is to be moved." + _staying_words(staying))
    return _Lost(plan=plan, facts=facts, lost=lost, staying=staying)


def _stays(row: CrewDay, asked: RainOutAsked, facts: Facts, reported: set[tuple[int, int]]) -> str:
    """Return why a block of the day is not moved, or nothing."""
    if asked.work != RainOut.Work.ALL and not is_rained_out(mapping.block_of(row), facts):
        return "goes on in that much rain"
    if (row.job_id, row.crew_id) in reported:
        return "is reported already"
    if row.override_note:
        return "was placed against a rule by the owner"
    return "was placed by hand" if row.is_pinned and not asked.with_fixed else ""


def _staying_words(staying: Iterable[Staying]) -> str:
    said = (f"{one.row.phase}, {one.row.crew}: {one.why}." for one in staying)
    return "".join(f" {words}" for words in said)


def _worked_out(
    asked: RainOutAsked, day: _Lost, today: dt.date
) -> tuple[RainOutLook, tuple[Shifted, ...], tuple[Block, ...]]:
    movable = _movable(asked, day)
    jobs = {
        str(job.pk): job
        for job in FenceJob.objects.filter(pk__in={row.job_id for row in movable})
        .select_related("customer", "site__jurisdiction")
        .prefetch_related("phases", "reports")
    }
    lost_jobs = {row.job_id for row in day.lost}
    fixed_rows = [row for row in day.plan.rows if row not in movable]
    lines = [
        _line(asked, day, jobs[str(pk)], rows, fixed_rows, today, must_move=pk in lost_jobs)
        for pk, rows in _by_job(movable, lost_jobs).items()
    ]
    fixed = _as_they_begin(day.plan, {row.pk for row in movable})
    found, plan = shift(lines, fixed, day.facts)
    shifts = tuple(
        _job_shift(asked, day, jobs[line.wanted.job], line, one, plan)
        for line, one in zip(lines, found, strict=True)
        if one.fate != Fate.KEPT
    )
    said = [
        [one.job, one.fate.value, [_mark_of(block) for block in one.blocks], one.why]
        for one in found
    ]
    short = short_by_moving(day.plan.blocks, plan, today=today)
    mark = hashlib.sha256(json.dumps([repr(asked), said, short]).encode()).hexdigest()
    look = RainOutLook(asked=asked, jobs=shifts, staying=day.staying, short=short, mark=mark)
    return look, found, plan


def _mark_of(block: Block) -> list[str]:
    return [block.phase, block.crew, str(block.date), str(block.hours), str(block.start)]


def _movable(asked: RainOutAsked, day: _Lost) -> list[CrewDay]:
    """Return what may move: what is lost, what follows of its jobs, and whoever stands behind."""
    lost = {row.pk for row in day.lost}
    jobs = {row.job_id for row in day.lost}
    if asked.others == RainOut.Others.LINE:
        crews = {row.crew_id for row in day.lost}
        behind = FenceJob.objects.filter(state=FenceJob.State.TO_DO, crew_days__crew__in=crews)
        jobs |= set(behind.values_list("pk", flat=True))
    return [
        row
        for row in day.plan.rows
        if row.pk in lost or (row.job_id in jobs and row.date > asked.date and not row.is_pinned)
    ]


def _by_job(movable: Iterable[CrewDay], lost_jobs: set[int]) -> Mapping[int, list[CrewDay]]:
    """Return the rows by job: those that lose the day first, then as they stand."""
    found: dict[int, list[CrewDay]] = {}
    for row in sorted(movable, key=lambda row: row.job_id not in lost_jobs):
        found.setdefault(row.job_id, []).append(row)
    return found


def _as_they_begin(plan: Plan, movable: set[int]) -> list[Block]:
    """Return the blocks that stay; one that follows another which may go keeps its hour."""
    found: list[Block] = []
    may_slide: set[tuple[str, dt.date]] = set()
    for one in timed(plan.blocks, plan.facts):
        at = one.block.crew, one.block.date
        if int(one.block.key) in movable:
            may_slide.add(at)
        elif one.block.start is None and at in may_slide:
            found.append(replace(one.block, start=one.starts_at.time()))
        else:
            found.append(one.block)
    return found


def _line(
    asked: RainOutAsked,
    day: _Lost,
    job: FenceJob,
    rows: Sequence[CrewDay],
    fixed: Sequence[CrewDay],
    today: dt.date,
    *,
    must_move: bool,
) -> Line:
    """Return a job as it is placed anew: not before the day after, nor before it stood."""
    wanted = Wanted(
        job=str(job.pk),
        hours=hours_wanted(day.plan, job, fixed, today),
        first_day=max(asked.date + ONE_DAY, min(row.date for row in rows)),
        last_day=asked.date + HORIZON,
    )
    stands = tuple(mapping.block_of(row) for row in rows)
    return Line(wanted=wanted, stands=stands, must_move=must_move)


def _job_shift(
    asked: RainOutAsked,
    day: _Lost,
    job: FenceJob,
    line: Line,
    one: Shifted,
    plan: Sequence[Block],
) -> JobShift:
    mine = [each for each in plan if each.job == one.job and each.date >= asked.date]
    before = {row.date for row in day.plan.rows if row.job_id == job.pk and row.date >= asked.date}
    return JobShift(
        job=job,
        shifted=one,
        before=tuple(sorted(before)),
        after=tuple(sorted({each.date for each in mine})),
        call=_call_words(job, line, one, plan, day.facts),
    )


def _call_words(
    job: FenceJob, line: Line, one: Shifted, plan: Sequence[Block], facts: Facts
) -> str:
    """Return by when a call for a new ticket saves a job's dig, where the rain makes it end."""
    if job.site is None or job.site.jurisdiction is None:
        return ""
    rule = locate_rule(job.site.jurisdiction)
    if one.fate == Fate.MOVED:
        return ticket_call(one.job, plan, facts, rule)
    others = [each for each in plan if each not in one.blocks]
    return saving_call(line, others, facts, rule)


def _kept(look: RainOutLook, *, actor: User, now: dt.datetime) -> RainOut:
    asked = look.asked
    row = RainOut(
        date=asked.date,
        crew=asked.crew,
        work=asked.work,
        others=asked.others,
        with_fixed=asked.with_fixed,
        rain_in=asked.rain_in,
        short=list(look.short),
        made_by=actor,
        made_at=now,
    )
    add_row(row, actor=actor, action="called a day rained out", at=now)
    RainOutJob.objects.bulk_create(
        RainOutJob(
            rain_out=row,
            job=one.job,
            fate=one.shifted.fate.value,
            days_before=[day.isoformat() for day in one.before],
            days_after=[day.isoformat() for day in one.after],
            why=one.shifted.why,
            call=one.call,
        )
        for one in look.jobs
    )
    return row
