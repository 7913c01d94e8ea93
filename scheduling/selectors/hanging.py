"""Before when nothing hangs on one job's posts: what its day sheet says, in few queries.

The same rule as the calendar's, asked of one job alone. Of other jobs only their hours count,
where a crew comes from them to set posts here.
"""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, replace

from django.db.models import Q
from django.utils import timezone

from estimating.selectors.sold_fences import SoldFence, sold_fences
from firm.measure.written import METRIC
from firm.selectors.profile import firm_units
from scheduling import mapping
from scheduling.engine.air import Air
from scheduling.engine.cure import NAMES, Work
from scheduling.engine.plan import NO_WEATHER, Crew, Facts, JobFacts, Phase
from scheduling.engine.standing import Standing
from scheduling.models import CrewDay, FenceJob, JobPhase
from scheduling.selectors.planning import (
    CureSpan,
    Plan,
    brief_of,
    cure_spans,
    cure_table,
    hang_words,
)
from scheduling.selectors.pours import ONE_POUR, Pours, pours_of
from scheduling.selectors.weather import air_since

ONE_DAY = dt.timedelta(days=1)
GATES = frozenset({NAMES[Work.GATES]})
INFILL = frozenset({NAMES[Work.PANELS], NAMES[Work.FABRIC]})


@dataclass(frozen=True, kw_only=True, slots=True)
class HangWaits:
    """A job's waits; `has_concrete` says whether anything must harden at all.

    `pours` are its pours one by one, where there is more than one to tell apart.
    """

    sentence: str
    spans: Sequence[CureSpan]
    has_concrete: bool
    pours: Pours = ONE_POUR

    @property
    def brief(self) -> str:
        """The same in as few words as a printed sheet has room for."""
        return brief_of(self.spans) or self.sentence

    @property
    def is_told_by_pours(self) -> bool:
        """Say whether the sentences of the pours one by one tell all that the whole one does."""
        return bool(self.pours.rows) and all(span.is_poured for span in self.spans)

    def forbids(self, kind: str, at: dt.datetime) -> bool:
        """Say whether green concrete forbids work of this phase at a moment.

        Without a known pour nothing hangs.
        """
        if not self.has_concrete:
            return False
        works = GATES if kind == JobPhase.Kind.GATES else INFILL
        ready = [span.ready_at for span in self.spans if span.work in works]
        return not ready or any(one is None or at < one for one in ready)


@dataclass(frozen=True, kw_only=True, slots=True)
class PourFacts:
    """All that one job's waits follow, read once; a row changed in memory is judged anew."""

    job: FenceJob
    sold: SoldFence
    days: Sequence[CrewDay]
    of_set_days: Sequence[CrewDay]
    air: Air

    def spans(self) -> Sequence[CureSpan]:
        """Return the waits as the rows stand."""
        plan = _plan(self.job, self.sold, self.days, self.of_set_days, self.air)
        return cure_spans(plan, self.job.pk)


def pour_facts(job_pk: int) -> PourFacts:
    """Return all that a job's waits follow; its papers play no part in them and are left out."""
    job = FenceJob.objects.prefetch_related("phases", "reports").get(pk=job_pk)
    job.site = None
    rows = CrewDay.objects.filter(job=job_pk).select_related("phase", "crew")
    days = list(rows.order_by("date", "crew", "position", "pk"))
    return PourFacts(
        job=job,
        sold=sold_fences([job.proposal_id]).get(job.proposal_id, SoldFence()),
        days=days,
        of_set_days=_days_of_setting(days, ()),
        air=_weather(job, days),
    )


def hang_waits(
    job: FenceJob, sold: SoldFence, *, days: Sequence[CrewDay], of_one_day: Sequence[CrewDay]
) -> HangWaits:
    """Return what a job waits for before anything hangs.

    The job comes with its site's clearances, phases and reports; `days` are all its own, with
    their phases and crews. `of_one_day` is all that one crew does on one day, in its order.
    """
    is_to_pour = any(
        phase.kind == JobPhase.Kind.SET and not phase.finished_on for phase in job.phases.all()
    )
    rows = _days_of_setting(days, of_one_day) if is_to_pour else []
    air = _weather(job, days) if sold.has_concrete else NO_WEATHER
    plan = _plan(job, sold, days, rows, air)
    mine, spans = plan.facts.jobs[str(job.pk)], cure_spans(plan, job.pk)
    return HangWaits(
        sentence=hang_words(mine, spans),
        spans=spans,
        has_concrete=mine.concrete is not None,
        pours=pours_of(job, plan.facts, spans),
    )


def _plan(
    job: FenceJob,
    sold: SoldFence,
    days: Sequence[CrewDay],
    of_set_days: Sequence[CrewDay],
    air: Air,
) -> Plan:
    facts = mapping.facts_for(
        [job],
        (),
        (),
        table=replace(cure_table(), is_metric=firm_units() == METRIC),
        sold={job.proposal_id: sold},
        days=days,
        today=timezone.localdate(job.made_at),
        weather=air,
    )
    rows = of_set_days if facts.jobs[str(job.pk)].is_to_pour else []
    return Plan(
        facts=_with_other_jobs(facts, rows, job.pk),
        rows=tuple(rows),
        blocks=tuple(replace(mapping.block_of(row), machine="") for row in rows),
        crews=(),
        machines=(),
        crew_size=1,
    )


def _weather(job: FenceJob, days: Sequence[CrewDay]) -> Air:
    """Return the air from the first pour on; of a job that has none yet, no day's."""
    moments = [row.date for row in days if row.phase.kind == JobPhase.Kind.SET]
    moments += [timezone.localdate(row.poured_at) for row in job.reports.all() if row.poured_at]
    return air_since(min(moments) - ONE_DAY) if moments else NO_WEATHER


def _days_of_setting(mine: Sequence[CrewDay], of_one_day: Sequence[CrewDay]) -> list[CrewDay]:
    """Return all that crews do on the days they set posts here, in their order."""
    days = {(row.crew_id, row.date) for row in mine if row.phase.kind == JobPhase.Kind.SET}
    known = [row for row in of_one_day if (row.crew_id, row.date) in days]
    unknown = days - {(row.crew_id, row.date) for row in known}
    if not unknown:
        return known
    asked = Q()
    for crew, date in unknown:
        asked |= Q(crew=crew, date=date)
    rows = CrewDay.objects.filter(asked).select_related("phase", "crew")
    found = [*known, *rows.order_by("date", "crew_id", "position", "pk")]
    return sorted(found, key=lambda row: (row.date, row.crew_id))  # stable: a day keeps its order


def _with_other_jobs(facts: Facts, rows: Sequence[CrewDay], mine: int) -> Facts:
    """Return the facts with the rows' crews, and with their other jobs' phases, no more."""
    phases: dict[int, list[Phase]] = {}
    for row in rows:
        if row.job_id != mine and Phase(row.phase.kind) not in phases.setdefault(row.job_id, []):
            phases[row.job_id].append(Phase(row.phase.kind))
    others = {
        str(pk): JobFacts(name="", phases=tuple(kinds), standing=Standing())
        for pk, kinds in phases.items()
    }
    crews = {
        str(row.crew_id): Crew(
            name=row.crew.name, hours=float(row.crew.hours_per_day), start=row.crew.day_start
        )
        for row in rows
    }
    return replace(facts, jobs={**others, **facts.jobs}, crews=crews)
