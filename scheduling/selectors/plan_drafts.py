"""What a plan that was worked out in the background comes to, in words."""

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from firm.measure.written import how_many
from scheduling.engine.crew_days import PHASE_NAMES
from scheduling.engine.plan import Phase
from scheduling.engine.wording import list_words
from scheduling.models import Crew, CrewDay, FenceJob, PlanDraft

# By the names of `planner.figures.Figures`: what is told of a plan, and of one better by one.
AIM_WORDS = {
    "unplaced": "jobs without a place",
    "broken": "promises broken",
    "late_days": "days late, over all jobs",
    "minutes": "minutes on the road, rented days and moved visits counted in",
    "span_days": "days from the first that the plan places to the last, over all jobs",
    "end_days": "days until done, over all jobs",
}

# A block of a job: its day, crew, phase and hours.
Work = tuple[int, dt.date, str, str, float]

GETS_READY = "It gets ready. The first time on a machine that can take a minute."


@dataclass(frozen=True, kw_only=True, slots=True)
class AimRow:
    """An aim with what the plan comes to, and whether a better plan can exist."""

    words: str
    value: int
    proof: str


@dataclass(frozen=True, kw_only=True, slots=True)
class MovedJob:
    """A job whose work changes, day by day: as people know it now, and as the plan has it."""

    job: FenceJob
    before: list[str]
    after: list[str]


@dataclass(frozen=True, kw_only=True, slots=True)
class WaitingJob:
    """A job the plan has no place for, and why.

    `fixed` tells for whose sake its blocks stay where they stand; empty where they don't.
    """

    job: FenceJob
    reasons: list[str]
    fixed: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class DraftView:
    """Everything the page of a plan shows."""

    draft: PlanDraft
    aims: list[AimRow]
    moved: list[MovedJob]
    stays: str
    waiting: list[WaitingJob]


def open_draft() -> PlanDraft | None:
    """Return the plan that is being worked out or waits to be looked at, else the last of all."""
    drafts = PlanDraft.objects.select_related("asked_by", "ended_by", "job")
    open_states = [PlanDraft.State.WORKING, PlanDraft.State.READY]
    return drafts.filter(state__in=open_states).first() or drafts.first()


def draft_view(draft: PlanDraft, *, today: dt.date) -> DraftView:
    """Return what a plan comes to and whom it moves."""
    ahead = CrewDay.objects.filter(date__gt=today, job__state=FenceJob.State.TO_DO)
    rows = list(ahead.select_related("crew", "phase").order_by("date", "crew", "position"))
    now_rows = [row for row in rows if not row.is_pinned]
    jobs = FenceJob.objects.select_related("customer").in_bulk(
        {int(one["job"]) for one in draft.blocks}
        | {int(key) for key in draft.waits}
        | {row.job_id for row in now_rows}
    )
    crews = {str(crew.pk): crew.name for crew in Crew.objects.all()}
    before = _work_by_job(
        (row.job_id, row.date, row.crew.name, row.phase.kind, float(row.hours)) for row in now_rows
    )
    after = _work_by_job(
        (
            int(one["job"]),
            dt.date.fromisoformat(one["date"]),
            crews[one["crew"]],
            one["phase"],
            one["hours"],
        )
        for one in draft.blocks
    )
    moved = [
        MovedJob(job=jobs[key], before=before.get(key, ["no days yet"]), after=lines)
        for key, lines in after.items()
        if before.get(key) != lines
    ]
    moved += [
        MovedJob(job=jobs[key], before=lines, after=[_leaving(key, now_rows)])
        for key, lines in before.items()
        if key not in after
    ]
    held = {one["job"] for one in draft.blocks if one.get("stays")}
    return DraftView(
        draft=draft,
        aims=[aim_row(one) for one in draft.stages],
        moved=moved,
        stays=_stay_words(sum(before.get(key) == one for key, one in after.items()), moved),
        waiting=[
            WaitingJob(
                job=jobs[int(key)],
                reasons=reasons,
                fixed=_fixed_words(int(key), rows) if key in held else "",
            )
            for key, reasons in draft.waits.items()
        ],
    )


def _leaving(key: int, rows: Iterable[CrewDay]) -> str:
    """Return which phases of a job leave the calendar."""
    names = dict.fromkeys(_phase(row.phase.kind) for row in rows if row.job_id == key)
    return f"off the calendar: {list_words(list(names))}"


def _fixed_words(key: int, rows: Iterable[CrewDay]) -> str:
    """Return what is fixed of a job, each with its day; of another job where nothing is."""
    found = [
        f"{_phase(row.phase.kind)} on {row.date:%a %b} {row.date.day}"
        for row in rows
        if row.job_id == key and row.is_pinned
    ]
    return list_words(found) or "work of a job that waits for it"


def _phase(kind: str) -> str:
    return str(PHASE_NAMES[Phase(kind)])


def aim_row(stage: Mapping[str, object]) -> AimRow:
    """Return an aim as a row of the page."""
    value, bound = int(str(stage["value"])), int(str(stage["bound"]))
    proof = "proven: no plan has fewer" if value <= bound else f"no plan has fewer than {bound}"
    return AimRow(words=AIM_WORDS[str(stage["name"])], value=value, proof=proof)


def _work_by_job(rows: Iterable[Work]) -> dict[int, list[str]]:
    """Return each job's work in words, a line for a crew's day, the job that begins first first."""
    found: dict[int, dict[tuple[dt.date, str], dict[Phase, float]]] = {}
    for key, day, crew, kind, hours in rows:
        found.setdefault(key, {}).setdefault((day, crew), {})[Phase(kind)] = hours
    return {
        key: [_line(crew, day, phases) for (day, crew), phases in sorted(days.items())]
        for key, days in sorted(found.items(), key=lambda one: min(one[1]))
    }


def _line(crew: str, day: dt.date, phases: Mapping[Phase, float]) -> str:
    work = [f"{PHASE_NAMES[phase]} {phases[phase]:g} h" for phase in Phase if phase in phases]
    return f"{crew}, {day:%a %b} {day.day}: {list_words(work)}"


def _stay_words(count: int, moved: Sequence[MovedJob]) -> str:
    """Return how many jobs keep their days, after those that do not; nothing of none."""
    if not count:
        return ""
    who = f"{count} more" if moved else how_many(count, "job")
    return f"{who} keep{'s' if count == 1 else ''} the same days, with the same work."


def aim_words(draft: PlanDraft) -> str:
    """Return how far a plan is that is being worked out."""
    if not draft.aim:
        return GETS_READY
    what = AIM_WORDS[draft.aim]
    least = (
        f"at least {draft.aim_bound}" if draft.aim_bound < draft.aim_value else "no fewer can be"
    )
    return f"Now at {what}: {draft.aim_value} so far, {least}."


def waiting_words(count: int) -> str:
    """Return how many jobs wait, for the head of their list."""
    return f"{how_many(count, 'job')} without a place"
