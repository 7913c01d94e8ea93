"""Placing whole jobs on the calendar: what is placed by hand stays, the rest is placed anew."""

import datetime as dt
import logging
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.utils import timezone

from firm.errors import Refusal
from firm.models import User
from firm.services.saving import add_row, change_row
from scheduling import mapping
from scheduling.engine.errors import EngineError
from scheduling.engine.placing import Placing, Wanted, place
from scheduling.engine.plan import CrewDay as Block
from scheduling.engine.plan import Phase
from scheduling.models import Crew, CrewDay, FenceJob, JobPhase
from scheduling.selectors.planning import Plan, standing_plan
from scheduling.services.calendar_rows import lock_calendar, remove_blocks
from scheduling.services.material_dates import dates_follow_calendar

HORIZON = dt.timedelta(days=60)
ONE_DAY = dt.timedelta(days=1)
# What a phase nobody called finished is given when the hours sold for it are used up.
HOURS_TO_FINISH = 1.0
# Less is not worth another visit when a person placed the rest by hand.
NOT_WORTH_A_VISIT_H = 0.25
ACTION = "placed a job on the calendar"
log = logging.getLogger(__name__)


@dataclass(frozen=True, kw_only=True, slots=True)
class PlacedSummary:
    """What placing everything came to: the jobs with their days, and why others have none."""

    placed: tuple[FenceJob, ...]
    waiting: tuple[tuple[FenceJob, str], ...]


@transaction.atomic
def place_job(*, job: FenceJob, actor: User | None, now: dt.datetime) -> list[CrewDay]:
    """Place a job's open phases from tomorrow on, each as early as it may be.

    Blocks that a person placed or moved stay, and so do those of today and before.

    Raises:
        Refusal: the job is over, or a phase finds no day within 60 days; says what it waits for.
    """
    lock_calendar()
    with dates_follow_calendar(actor=actor, now=now):
        return _place_job(job=job, actor=actor, now=now)


def _place_job(*, job: FenceJob, actor: User | None, now: dt.datetime) -> list[CrewDay]:
    standing_job = FenceJob.objects.get(pk=job.pk)
    if standing_job.state != FenceJob.State.TO_DO:
        raise Refusal(f"{job} is {standing_job.get_state_display().lower()}: nothing to place.")
    today = timezone.localdate(now)
    plan = standing_plan(today=today, also=[job.pk])
    movable = [
        row for row in plan.rows if row.job_id == job.pk and row.date > today and not row.is_pinned
    ]
    kept = [row for row in plan.rows if row not in movable]
    placing = _placing(plan, job, kept, today)
    if placing.waits_for:
        raise Refusal(placing.waits_for)
    return _save(placing.blocks, movable, kept, job=job, actor=actor, now=now)


@transaction.atomic
def place_all(*, actor: User | None, now: dt.datetime) -> PlacedSummary:
    """Place every job to do, the first signed first; a job that can't be placed stays as it is."""
    lock_calendar()
    placed: list[FenceJob] = []
    waiting: list[tuple[FenceJob, str]] = []
    jobs = FenceJob.objects.filter(state=FenceJob.State.TO_DO).order_by("signed_at", "pk")
    with dates_follow_calendar(actor=actor, now=now):
        for job in jobs:
            try:
                with transaction.atomic():
                    _place_job(job=job, actor=actor, now=now)
            except Refusal as refusal:
                waiting.append((job, refusal.message))
            else:
                placed.append(job)
    return PlacedSummary(placed=tuple(placed), waiting=tuple(waiting))


def _placing(plan: Plan, job: FenceJob, kept: Sequence[CrewDay], today: dt.date) -> Placing:
    wanted = Wanted(
        job=str(job.pk),
        hours=hours_wanted(plan, job, kept, today),
        first_day=today + ONE_DAY,
        last_day=today + HORIZON,
    )
    try:
        return place(wanted, [mapping.block_of(row) for row in kept], plan.facts)
    except EngineError as error:
        log.exception("%s could not be placed", job)
        raise Refusal(f"{job} can't be placed. {error}") from error


def hours_wanted(
    plan: Plan, job: FenceJob, kept: Sequence[CrewDay], today: dt.date
) -> dict[str, dict[Phase, float]]:
    """Return by crew the hours each open phase still needs beside what is kept of its days."""
    crews = plan.facts.crews
    reported = {(report.crew_id, report.date) for report in job.reports.all()}
    counted = [
        row
        for row in kept
        if row.job_id == job.pk and (row.date >= today or (row.crew_id, row.date) in reported)
    ]
    wanted: dict[str, dict[Phase, float]] = {
        str(crew.pk): {} for crew in plan.crews if crew.is_active
    }
    for phase in job.phases.all():
        if phase.finished_on is not None:
            continue
        mine = [row for row in counted if row.phase_id == phase.pk]
        there = ((row, crews[str(row.crew_id)].present_on(row.date)) for row in mine)
        covered = sum((row.hours * people for row, people in there), Decimal(0))
        left = max(phase.labor_hours - covered, Decimal(0))
        on_it = [crews[str(row.crew_id)].people for row in mine if row.date >= today]
        # One answer for all crews: a rest is worth a visit by each of them, or by none.
        is_covered = bool(on_it) and _is_not_worth_a_visit(left, on_it[-1])
        for crew in plan.crews:
            if crew.is_active:
                hours = mapping.crew_hours(left, crews[str(crew.pk)].people)
                needed = 0.0 if is_covered else hours or HOURS_TO_FINISH
                wanted[str(crew.pk)][Phase(phase.kind)] = needed
    return wanted


def _is_not_worth_a_visit(left: Decimal, people: int) -> bool:
    """Say whether what is left is so little for those who are on it anyway."""
    return mapping.crew_hours(left, people) <= NOT_WORTH_A_VISIT_H


def _save(
    blocks: Sequence[Block],
    movable: Sequence[CrewDay],
    kept: Sequence[CrewDay],
    *,
    job: FenceJob,
    actor: User | None,
    now: dt.datetime,
) -> list[CrewDay]:
    """Write the blocks over the rows they replace; a row that stays as it was is not touched."""
    phases = {phase.kind: phase for phase in job.phases.all()}
    crews = {str(crew.pk): crew for crew in Crew.objects.all()}
    stood = {(row.phase.kind, str(row.crew_id), row.date): row for row in movable}
    names = {(one.phase.value, one.crew, one.date) for one in blocks}
    remove_blocks((row for at, row in stood.items() if at not in names), actor=actor, now=now)
    last: dict[tuple[int, dt.date], int] = {}
    for row in kept:
        at = row.crew_id, row.date
        last[at] = max(last.get(at, -1), row.position)
    saved = []
    for one in blocks:
        phase, crew = phases[one.phase.value], crews[one.crew]
        last[crew.pk, one.date] = last.get((crew.pk, one.date), -1) + 1
        values: dict[str, Any] = {
            "position": last[crew.pk, one.date],
            "hours": Decimal(str(one.hours)),
            "start": one.start,
            "machine_id": int(one.machine) if one.machine else None,
        }
        row_there = stood.get((one.phase.value, one.crew, one.date))
        saved.append(write_block(row_there, phase, crew, one.date, values, actor=actor, now=now))
    return saved


def write_block(
    row: CrewDay | None,
    phase: JobPhase,
    crew: Crew,
    date: dt.date,
    values: dict[str, Any],
    *,
    actor: User | None,
    now: dt.datetime,
) -> CrewDay:
    if row is not None:
        return change_row(row, changes=values, actor=actor, action=ACTION, at=now)
    added = CrewDay(
        job_id=phase.job_id,
        phase=phase,
        crew=crew,
        date=date,
        placed_by=actor,
        placed_at=now,
        **values,
    )
    return add_row(added, actor=actor, action=ACTION, at=now)
