"""What a day's report does to the waits of its job's concrete, written down for the office."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass

from firm.models import User
from scheduling.models import DayReport, FenceJob, PlanChange
from scheduling.selectors.hanging import PourFacts, pour_facts
from scheduling.selectors.planning import CureSpan
from scheduling.services.plan_changes import note_waits


@dataclass(frozen=True, kw_only=True, slots=True)
class Stood:
    """What of a report the waits follow, as it stood."""

    poured_at: dt.datetime | None
    mix: str
    air_f: float | None


def stands_in(report: DayReport) -> Stood:
    """Return what of a report the waits follow."""
    return Stood(poured_at=report.poured_at, mix=report.mix, air_f=report.air_f)


def note_report_waits(
    report: DayReport,
    stood: Stood,
    phases: Mapping[int, dt.date | None],
    *,
    actor: User | None,
    now: dt.datetime,
) -> None:
    """Write down where a report lets something hang at another hour than before.

    `stood` is the report before, `phases` when those that it changed were finished before. What
    moves nothing of these costs no query; else the rows are read once, and set back in memory.
    """
    if stands_in(report) == stood and not phases:
        return
    facts = pour_facts(report.job_id)
    after = _by_work(facts)
    _set_back(facts.job, report, stood, phases)
    before = _by_work(facts)
    is_pour = report.poured_at != stood.poured_at
    cause = PlanChange.Cause.POUR if is_pour else PlanChange.Cause.REPORT
    mine = report.job_id
    note_waits({mine: before}, {mine: after}, cause=cause, actor=actor, now=now)


def _by_work(facts: PourFacts) -> dict[str, CureSpan]:
    return {span.work: span for span in facts.spans()}


def _set_back(
    job: FenceJob, report: DayReport, stood: Stood, phases: Mapping[int, dt.date | None]
) -> None:
    for row in job.reports.all():
        if row.pk == report.pk:
            row.poured_at, row.mix, row.air_f = stood.poured_at, stood.mix, stood.air_f
    for phase in job.phases.all():
        if phase.pk in phases:
            phase.finished_on = phases[phase.pk]
