"""Working out a plan of all open jobs in the background, and taking it onto the calendar."""

import datetime as dt
import time
from collections.abc import Iterable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor, wait
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db import IntegrityError, transaction
from django.utils import timezone

from firm.errors import Refusal
from firm.models import User
from firm.services import audit, jobs
from firm.services.jobs import JobRun
from scheduling.engine.errors import EngineError
from scheduling.engine.new_breaches import new_violations, told_of
from scheduling.engine.planner.building import Asked
from scheduling.engine.planner.planning import Planned, make_plan
from scheduling.engine.planner.solving import Limits, Progress
from scheduling.models import Crew, JobPhase, PlanChange, PlanDraft
from scheduling.selectors.planning import standing_plan
from scheduling.services.calendar_rows import lock_calendar, remove_blocks
from scheduling.services.material_dates import dates_follow_calendar
from scheduling.services.placing import write_block
from scheduling.services.plan_changes import note_days
from scheduling.services.plan_questions import Question, open_jobs, question_of

PLAN_JOB = "calendar.plan"
SECONDS = (10, 30, 120)
ACTION = "took a plan onto the calendar"
# A page that is looked at asks once a second; writing more often would only cost.
TOLD_EVERY_S = 0.5
CHANGED = (
    "The calendar has changed since this plan was worked out, or something else it was worked out "
    "from, such as what a crew reported: have it worked out anew."
)


@transaction.atomic
def ask_for_plan(*, actor: User, seconds: int, now: dt.datetime) -> PlanDraft:
    """Have a plan of all open jobs worked out in the background; the calendar stays as it is.

    A plan that waits to be looked at is dropped for it.

    Raises:
        Refusal: one is being worked out already, or the time is none of those offered.
    """
    if seconds not in SECONDS:
        raise Refusal("Choose one of the times offered.", field="seconds")
    for lost in PlanDraft.objects.filter(state=PlanDraft.State.WORKING).select_related("job"):
        if lost.is_lost:
            why = "Its worker was lost."
            PlanDraft.objects.filter(pk=lost.pk).update(
                state=PlanDraft.State.FAILED, why=why, ended_at=now
            )
    waiting = PlanDraft.objects.filter(state=PlanDraft.State.READY)
    waiting.update(state=PlanDraft.State.DROPPED, ended_by=actor, ended_at=now)
    try:
        with transaction.atomic():
            draft = PlanDraft.objects.create(asked_by=actor, asked_at=now, seconds=seconds)
    except IntegrityError as error:
        raise Refusal("A plan is being worked out already: wait for it or end it.") from error
    draft.job = jobs.enqueue(kind=PLAN_JOB, arguments={"draft": draft.pk}, now=now)
    PlanDraft.objects.filter(pk=draft.pk).update(job=draft.job)
    audit.record(actor=actor, action="asked for a plan of all jobs", target=draft, at=now)
    return draft


@transaction.atomic
def stop_planning(*, draft: PlanDraft, actor: User, now: dt.datetime) -> None:
    """Let a plan that is being worked out come to its end with the best so far."""
    working = PlanDraft.objects.filter(pk=draft.pk, state=PlanDraft.State.WORKING)
    if working.update(stop_asked=True):
        audit.record(actor=actor, action="ended the search for a plan", target=draft, at=now)


def carry_out_planning(run: JobRun) -> dict[str, Any]:
    """Work a plan out and keep it with its row; one that is ended already is left alone."""
    draft = PlanDraft.objects.get(pk=run.arguments["draft"])
    mine = PlanDraft.objects.filter(pk=draft.pk, state=PlanDraft.State.WORKING)
    if not mine.exists():
        return {"plan": draft.state}
    today = timezone.localdate(run.now)
    question = question_of(today)
    try:
        planned = _make_plan_watched(question.asked, draft, run)
    except EngineError as error:
        mine.update(state=PlanDraft.State.FAILED, why=str(error), ended_at=run.later())
        return {"plan": PlanDraft.State.FAILED}
    mine.update(
        state=PlanDraft.State.READY,
        blocks=_written_down(planned),
        stages=[
            {"name": one.name, "value": one.value, "bound": one.bound} for one in planned.stages
        ],
        waits={key: list(words) for key, words in planned.waits.items()},
        calendar=question.mark,
    )
    return {"plan": PlanDraft.State.READY, "blocks": len(planned.blocks)}


@transaction.atomic
def take_plan(*, draft: PlanDraft, actor: User, now: dt.datetime) -> int:
    """Write a plan onto the calendar; return how many blocks it has.

    What is pinned, today or before stays. Jobs without a place in the plan keep no days ahead but
    for those whose blocks the plan holds.

    Raises:
        Refusal: it is not ready, anything it was worked out from changed, or it would break a rule.
    """
    lock_calendar()
    kept = PlanDraft.objects.select_for_update().get(pk=draft.pk)
    if kept.state != PlanDraft.State.READY:
        raise Refusal("This plan is no longer open.")
    today = timezone.localdate(now)
    question = question_of(today)
    if question.mark != kept.calendar:
        raise Refusal(CHANGED)
    before = question.plan
    with dates_follow_calendar(actor=actor, now=now):
        _write(kept.blocks, question, actor=actor, now=now)
    # Who builds first takes first: what the plan gives one phase, another may lack by now.
    after = standing_plan(today=today, also=open_jobs())
    stood = told_of(before.blocks, before.facts)
    if new := new_violations(after.blocks, after.facts, stood):
        raise Refusal(" ".join(dict.fromkeys(one.sentence for one in new)))
    cause, why = PlanChange.Cause.PLAN, "a plan was taken"
    note_days(before.rows, after.rows, cause=cause, why=why, actor=actor, now=now)
    _end(kept, PlanDraft.State.TAKEN, actor=actor, now=now, action=ACTION)
    return len(kept.blocks)


@transaction.atomic
def drop_plan(*, draft: PlanDraft, actor: User, now: dt.datetime) -> None:
    """Put a plan aside; the calendar stays as it is."""
    kept = PlanDraft.objects.select_for_update().get(pk=draft.pk)
    if kept.state != PlanDraft.State.READY:
        raise Refusal("This plan is no longer open.")
    _end(kept, PlanDraft.State.DROPPED, actor=actor, now=now, action="dropped a plan")


def _end(draft: PlanDraft, state: str, *, actor: User, now: dt.datetime, action: str) -> None:
    PlanDraft.objects.filter(pk=draft.pk).update(state=state, ended_by=actor, ended_at=now)
    audit.record(actor=actor, action=action, target=draft, at=now)


def _written_down(planned: Planned) -> list[dict[str, Any]]:
    held = set(planned.held)
    return [
        {
            "job": one.job,
            "phase": one.phase.value,
            "crew": one.crew,
            "date": one.date.isoformat(),
            "hours": one.hours,
            "start": one.start and one.start.isoformat(),
            "machine": one.machine,
            "stays": one in held,
        }
        for one in (*planned.held, *planned.blocks)
    ]


@dataclass(kw_only=True, slots=True)
class _Watch:
    """How far a solve is, as its threads tell it; they may not touch the database."""

    progress: Progress | None = None
    is_to_stop: bool = False

    def told(self, progress: Progress) -> bool:
        """Keep what is told; say whether to stop."""
        self.progress = progress
        return self.is_to_stop


def _make_plan_watched(asked: Asked, draft: PlanDraft, run: JobRun) -> Planned:
    """Make a plan on a thread of its own; here its progress is written down until it is done."""
    watch = _Watch()
    limits = Limits(seconds=float(draft.seconds), told=watch.told)
    with ThreadPoolExecutor(max_workers=1) as pool:
        plan = pool.submit(make_plan, asked, limits, clock=time.monotonic)
        try:
            while not wait([plan], timeout=TOLD_EVERY_S).done:
                _write_progress(watch, draft, run)
        finally:
            watch.is_to_stop = True
        return plan.result()


def _write_progress(watch: _Watch, draft: PlanDraft, run: JobRun) -> None:
    mine = PlanDraft.objects.filter(pk=draft.pk)
    at, used = watch.progress, 0.0
    if at is not None and at.began is not None:
        mine.update(aim=at.aim, aim_value=at.value, aim_bound=at.bound)
        used = (time.monotonic() - at.began) / max(draft.seconds, 1)
    watch.is_to_stop = mine.filter(stop_asked=True).exists()
    run.report(min(99, int(used * 100)))


def _write(
    blocks: Sequence[Mapping[str, Any]],
    question: Question,
    *,
    actor: User,
    now: dt.datetime,
) -> None:
    """Write blocks over the rows that may move; a row that stays as it was is not touched.

    So are the rows of blocks that the plan holds, which stand like what is fixed.
    """
    held = {one["job"] for one in blocks if one.get("stays")}
    blocks = [one for one in blocks if one["job"] not in held]
    movable = [row for row in question.movable if str(row.job_id) not in held]
    phases = {(str(one.job_id), one.kind): one for one in _phases(blocks)}
    crews = {str(crew.pk): crew for crew in Crew.objects.all()}
    stood = {(row.phase_id, str(row.crew_id), row.date.isoformat()): row for row in movable}
    names = {(phases[one["job"], one["phase"]].pk, one["crew"], one["date"]): one for one in blocks}
    remove_blocks((row for at, row in stood.items() if at not in names), actor=actor, now=now)
    last: dict[tuple[str, str], int] = {}
    for row in question.plan.rows:
        if row not in movable:
            at = str(row.crew_id), row.date.isoformat()
            last[at] = max(last.get(at, -1), row.position)
    for name, one in names.items():
        at = one["crew"], one["date"]
        last[at] = last.get(at, -1) + 1
        values = {
            "position": last[at],
            "hours": Decimal(str(one["hours"])),
            "start": one["start"] and dt.time.fromisoformat(one["start"]),
            "machine_id": int(one["machine"]) if one["machine"] else None,
        }
        write_block(
            stood.get(name),
            phases[one["job"], one["phase"]],
            crews[one["crew"]],
            dt.date.fromisoformat(one["date"]),
            values,
            actor=actor,
            now=now,
        )


def _phases(blocks: Sequence[Mapping[str, Any]]) -> Iterable[JobPhase]:
    return JobPhase.objects.filter(job__in={int(one["job"]) for one in blocks})
