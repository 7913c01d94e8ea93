"""What the office writes down about a job: material, inspection, days, what the crew is told."""

import datetime as dt
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, nullcontext
from dataclasses import dataclass
from typing import Any

from django.db import transaction
from django.utils import timezone

from firm.errors import Refusal
from firm.models import User
from firm.services.saving import add_row, change_row, locked
from scheduling.models import FenceJob, JobDates, JobPhase, PlanChange
from scheduling.services.broken_blocks import noting_blocks_and_waits

# Told the crew, and no part of what a plan is judged by.
ONLY_READ = frozenset({"crew_note", "string_side", "string_height_in", "string_offset_in"})
WAITS_FOR_ITSELF = "A job can't wait for itself."


@dataclass(frozen=True, kw_only=True, slots=True)
class Preparation:
    """What is written down together: material by phase, inspection, days, words for the crew."""

    materials: Mapping[JobPhase, Mapping[str, Any]]
    inspection: Mapping[str, Any]
    dates: Mapping[str, Any]
    crew_words: Mapping[str, Any]


@transaction.atomic
def prepare_job(
    *, job: FenceJob, preparation: Preparation, actor: User, now: dt.datetime
) -> FenceJob:
    """Write down everything a job is prepared with, or nothing of it, and what that moves.

    Raises:
        Refusal: the job is over, or a day is still to come; `field` names the form as well.
    """
    watched = noting_blocks_and_waits(cause=PlanChange.Cause.PREPARE, actor=actor, now=now)
    with watched if _may_move(job, preparation) else nullcontext():
        return _prepared(job=job, preparation=preparation, actor=actor, now=now)


def _may_move(job: FenceJob, preparation: Preparation) -> bool:
    """Say whether anything changes that the calendar is judged by: the plan is built for it twice.

    What only the crew reads, and what is saved as it was, moves nothing.
    """
    dates = JobDates.objects.filter(job=job).first() or JobDates(job=job)
    written = (
        *((phase, _of_material(**one)) for phase, one in preparation.materials.items()),
        (job, _of_inspection(**preparation.inspection)),
        (dates, preparation.dates),
        (job, preparation.crew_words),
    )
    return any(
        (getattr(row, name) or None) != (value or None)
        for row, values in written
        for name, value in values.items()
        if name not in ONLY_READ
    )


def _of_material(
    *, is_needed: bool, promised_on: dt.date | None, received_on: dt.date | None
) -> Mapping[str, Any]:
    return {
        "needs_material": is_needed,
        "material_promised_on": promised_on,
        "material_received_on": received_on,
    }


def _of_inspection(
    *, is_needed: bool, booked_on: dt.date | None, passed_on: dt.date | None
) -> Mapping[str, Any]:
    return {
        "inspection_before_pour": is_needed,
        "inspection_booked_on": booked_on,
        "inspection_passed_on": passed_on,
    }


def _prepared(
    *, job: FenceJob, preparation: Preparation, actor: User, now: dt.datetime
) -> FenceJob:
    for phase, material in preparation.materials.items():
        with _fields_of(f"phase-{phase.pk}"):
            set_material(phase=phase, **material, actor=actor, now=now)
    with _fields_of("inspection"):
        set_inspection(job=job, **preparation.inspection, actor=actor, now=now)
    with _fields_of("dates"):
        set_dates(job=job, values=preparation.dates, actor=actor, now=now)
    return set_crew_words(job=job, values=preparation.crew_words, actor=actor, now=now)


@contextmanager
def _fields_of(form: str) -> Iterator[None]:
    """Name the form beside the field of a refusal."""
    try:
        yield
    except Refusal as refusal:
        raise Refusal(refusal.message, field=f"{form}-{refusal.field}") from refusal


@transaction.atomic
def set_material(
    *,
    phase: JobPhase,
    is_needed: bool,
    promised_on: dt.date | None,
    received_on: dt.date | None,
    actor: User,
    now: dt.datetime,
) -> JobPhase:
    """Write down whether a phase needs material, when it was promised and when it came.

    Raises:
        Refusal: the job is over, or the material came on a day still to come.
    """
    _refuse_closed(phase.job)
    if received_on and received_on > timezone.localdate(now):
        raise Refusal("That day is still to come: write it under promised.", field="received_on")
    changes = _of_material(is_needed=is_needed, promised_on=promised_on, received_on=received_on)
    return change_row(
        phase, changes=changes, actor=actor, action="changed a phase's material", at=now
    )


@transaction.atomic
def set_inspection(
    *,
    job: FenceJob,
    is_needed: bool,
    booked_on: dt.date | None,
    passed_on: dt.date | None,
    actor: User,
    now: dt.datetime,
) -> FenceJob:
    """Write down whether holes are inspected before the pour, when, and that it was passed.

    Raises:
        Refusal: the job is over, or the inspection was passed on a day still to come.
    """
    _refuse_closed(job)
    if passed_on and passed_on > timezone.localdate(now):
        raise Refusal("That day is still to come: write it under booked.", field="passed_on")
    changes = _of_inspection(is_needed=is_needed, booked_on=booked_on, passed_on=passed_on)
    return change_row(
        job, changes=changes, actor=actor, action="changed a job's inspection", at=now
    )


@transaction.atomic
def set_crew_words(
    *, job: FenceJob, values: Mapping[str, Any], actor: User, now: dt.datetime
) -> FenceJob:
    """Write down what the crew is told: a note, the mix, and the string posts are set to.

    Raises:
        Refusal: the job is over.
    """
    _refuse_closed(job)
    return change_row(
        job, changes=values, actor=actor, action="changed what the crew is told", at=now
    )


@transaction.atomic
def set_dates(
    *, job: FenceJob, values: Mapping[str, Any], actor: User, now: dt.datetime
) -> JobDates:
    """Write down the customer's days, and the job that comes before this one.

    Raises:
        Refusal: the job is over, it would wait for itself, or may begin only when it is due.
    """
    _refuse_closed(job)
    # Held until the end: two jobs made to wait for one another at once would pass both.
    list(FenceJob.objects.select_for_update().filter(state=FenceJob.State.TO_DO).values("pk"))
    not_before = values["not_before"]
    for name, said in (("promised_on", "promised for"), ("wanted_by", "wanted by")):
        due = values[name]
        if not_before and due and due < not_before:
            raise Refusal(f"That is after the day it is {said}.", field="not_before")
    _refuse_circle(job, values["after_job"])
    kept = JobDates.objects.filter(job=job).first()
    if kept is None and not any(values.values()):
        return JobDates(job=job)
    if kept is None:
        row = JobDates(job=job, **values)
        return add_row(row, actor=actor, action="wrote down a job's days", at=now)
    return change_row(kept, changes=values, actor=actor, action="changed a job's days", at=now)


def _refuse_circle(job: FenceJob, first: FenceJob | None) -> None:
    """Refuse a job that waits for itself, be it by way of others, whom the sentence names."""
    waits = dict(JobDates.objects.filter(after_job__isnull=False).values_list("job", "after_job"))
    waits.pop(job.pk, None)
    circle: list[int] = []
    at = first.pk if first else None
    while at is not None and at != job.pk:
        circle.append(at)
        at = waits.get(at)
    if at is None:
        return
    if not circle:
        raise Refusal(WAITS_FOR_ITSELF, field="after_job")
    names = {row.pk: str(row) for row in FenceJob.objects.filter(pk__in=circle)}
    others = ", which waits for ".join(names[pk] for pk in circle)
    raise Refusal(
        f"{job} would wait for itself: it waits for {others}, which waits for {job}.",
        field="after_job",
    )


def _refuse_closed(job: FenceJob) -> None:
    kept = locked(job)
    if kept.state != FenceJob.State.TO_DO:
        raise Refusal(f"{kept} is {kept.get_state_display().lower()}: nothing changes any more.")
