"""Putting blocks on the calendar by hand, moving and dropping them, each change checked at once."""

import datetime as dt
from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from firm.errors import Refusal
from firm.models import User
from firm.services.saving import add_row, change_row, locked
from scheduling.engine.breaches import Violation
from scheduling.engine.new_breaches import new_violations, told_of
from scheduling.engine.plan import HOURS_A_DAY, timed
from scheduling.models import Crew, CrewDay, FenceJob, JobPhase, Machine
from scheduling.selectors.planning import Plan, standing_plan
from scheduling.services.air_of_blocks import air_on
from scheduling.services.calendar_rows import lock_calendar, remove_blocks
from scheduling.services.material_dates import dates_follow_calendar
from scheduling.services.overrides import NO_OVERRIDE, keep_override, refuse_breaches
from scheduling.services.placing import PlacedSummary, place_all, place_job

__all__ = [
    "PlacedSummary",
    "add_block",
    "drop_block",
    "machine_for",
    "move_block",
    "place_all",
    "place_job",
]

DAY_IS_OVER = (
    "The day of this block is over: what was done on it stays there. Put what is left on another "
    "day by hand."
)
TWICE_A_DAY = "This crew has this phase on that day already: change its hours there."


@transaction.atomic
def add_block(
    *,
    job: FenceJob,
    phase: JobPhase,
    crew: Crew,
    date: dt.date,
    hours: Decimal,
    start: dt.time | None,
    air_f: float | None,
    actor: User | None,
    now: dt.datetime,
    override_note: str | None = None,
) -> CrewDay:
    """Put a phase of a job on a crew's day, at the day's end unless `start` says when.

    With an `override_note` the owner places it against the rules that it breaks.

    Raises:
        Refusal: the job is over, or the plan would break a rule it does not break now.
    """
    lock_calendar()
    _refuse_closed(job, phase, crew)
    _refuse_values(date, hours, today=timezone.localdate(now))
    before = standing_plan(today=timezone.localdate(now), from_day=date, also=[job.pk])
    _refuse_twice(phase, crew, date)
    row = CrewDay(
        job=job,
        phase=phase,
        crew=crew,
        date=date,
        position=_last_position(crew, date) + 1,
        hours=hours,
        start=start,
        machine=machine_for(phase, job),
        air_f=air_f,
        is_pinned=True,
        placed_by=actor,
        placed_at=now,
    )
    with dates_follow_calendar(actor=actor, now=now):
        add_row(row, actor=actor, action="put a block on the calendar", at=now)
    after, breaches = _breaches_anew(before, row=row, days=[date], now=now)
    row = keep_override(row, breaches, note=override_note, actor=actor, now=now)
    return _with_the_drive_s_start(row, after, actor=actor, now=now)


@transaction.atomic
def move_block(
    *,
    block: CrewDay,
    crew: Crew,
    date: dt.date,
    hours: Decimal,
    start: dt.time | None,
    air_f: float | None,
    actor: User | None,
    now: dt.datetime,
    position: int | None = None,
    override_note: str | None = None,
) -> CrewDay:
    """Move a block by hand, which pins it: the placer lets it stand from then on.

    `position` counts from 0 among the blocks of the crew's day; without it the block keeps its
    place on the day it stands on, or goes to the end of another. What was overridden for it
    counts no longer; with an `override_note` the owner places it against the rules it breaks.
    An `air_f` as it stood is the old day's: the new day's own counts, where it is known.

    Raises:
        Refusal: the job or the block's day is over, or the plan would break a rule it does not
            break now.
    """
    lock_calendar()
    kept = locked(block)
    _refuse_closed(kept.job, kept.phase, crew)
    if kept.date < timezone.localdate(now):
        raise Refusal(DAY_IS_OVER, field="date")
    days = [kept.date, date]
    if date != kept.date or hours != kept.hours:
        _refuse_values(date, hours, today=timezone.localdate(now))
    before = standing_plan(today=timezone.localdate(now), from_day=min(days), also=[kept.job_id])
    moves = (kept.crew_id, kept.date) != (crew.pk, date)
    if moves:
        _refuse_twice(kept.phase, crew, date)
    changes: dict[str, Any] = {
        "crew": crew,
        "date": date,
        "hours": hours,
        "start": start,
        "air_f": air_on(kept, date, air_f),
        "is_pinned": True,
        "placed_by": actor,
        "placed_at": now,
        **NO_OVERRIDE,
    }
    if moves and position is None:
        changes["position"] = _last_position(crew, date) + 1
    with dates_follow_calendar(actor=actor, now=now):
        moved = change_row(kept, changes=changes, actor=actor, action="moved a block", at=now)
    if position is not None:
        _put_at(moved, position, actor=actor, now=now)
        moved.refresh_from_db()
    after, breaches = _breaches_anew(before, row=moved, days=days, now=now)
    moved = keep_override(moved, breaches, note=override_note, actor=actor, now=now)
    return _with_the_drive_s_start(moved, after, actor=actor, now=now)


@transaction.atomic
def drop_block(*, block: CrewDay, actor: User | None, now: dt.datetime) -> None:
    """Take a block off the calendar.

    Raises:
        Refusal: the plan would break a rule it does not break now: later phases come first.
    """
    lock_calendar()
    kept = locked(block)
    before = standing_plan(today=timezone.localdate(now), from_day=kept.date, also=[kept.job_id])
    with dates_follow_calendar(actor=actor, now=now):
        remove_blocks([kept], actor=actor, now=now)
    refuse_breaches(_breaches_anew(before, row=kept, days=[kept.date], now=now)[1])


def machine_for(phase: JobPhase, job: FenceJob) -> Machine | None:
    """Return the machine that digs on this job's site, for the digging itself."""
    if phase.kind != JobPhase.Kind.DIG or job.site is None:
        return None
    return Machine.objects.filter(dig_method=job.site.dig_method).first()


def _last_position(crew: Crew, date: dt.date) -> int:
    rows = CrewDay.objects.filter(crew=crew, date=date)
    found: int | None = rows.aggregate(last=Max("position"))["last"]
    return -1 if found is None else found


def _put_at(block: CrewDay, position: int, *, actor: User | None, now: dt.datetime) -> None:
    """Number the blocks of a crew's day anew with this one at its place."""
    rows = CrewDay.objects.filter(crew=block.crew_id, date=block.date).exclude(pk=block.pk)
    order = list(rows.order_by("position", "pk"))
    order.insert(max(position, 0), block)
    for number, row in enumerate(order):
        if row.position != number:
            change_row(
                row, changes={"position": number}, actor=actor, action="moved a block", at=now
            )


def _refuse_closed(job: FenceJob, phase: JobPhase, crew: Crew) -> None:
    if job.state != FenceJob.State.TO_DO:
        raise Refusal(f"{job} is {job.get_state_display().lower()}: nothing is placed for it.")
    if phase.job_id != job.pk:
        raise Refusal("This phase belongs to another job.", field="phase")
    if not crew.is_active:
        raise Refusal(f"{crew} goes out no more.", field="crew")


def _refuse_values(date: dt.date, hours: Decimal, *, today: dt.date) -> None:
    if date < today:
        raise Refusal("That day is over: plan from today on.", field="date")
    if not 0 < hours <= HOURS_A_DAY:
        raise Refusal(f"A day has up to {HOURS_A_DAY} hours.", field="hours")


def _refuse_twice(phase: JobPhase, crew: Crew, date: dt.date) -> None:
    if CrewDay.objects.filter(phase=phase, crew=crew, date=date).exists():
        raise Refusal(TWICE_A_DAY, field="date")


def _breaches_anew(
    before: Plan, *, row: CrewDay, days: Sequence[dt.date], now: dt.datetime
) -> tuple[Plan, list[Violation]]:
    """Return the plan as it is now with a row's change, and what it breaks beyond before it."""
    after = standing_plan(today=timezone.localdate(now), from_day=min(days), also=[row.job_id])
    stood = told_of(before.blocks, before.facts, placed_anew=str(row.pk))
    return after, list(new_violations(after.blocks, after.facts, stood))


def _with_the_drive_s_start(
    row: CrewDay, plan: Plan, *, actor: User | None, now: dt.datetime
) -> CrewDay:
    """Write down when a block begins that a drive comes before: sheets don't know the way."""
    day = [one for one in plan.blocks if (one.crew, one.date) == (str(row.crew_id), row.date)]
    found = timed(day, plan.facts)
    place = next(at for at, one in enumerate(found) if one.block.key == str(row.pk))
    if row.start is not None or not place:
        return row
    starts_at = found[place].starts_at
    if starts_at == found[place - 1].ends_at:
        return row
    return change_row(
        row,
        changes={"start": starts_at.time()},
        actor=actor,
        action="left the drive before a block free",
        at=now,
    )
