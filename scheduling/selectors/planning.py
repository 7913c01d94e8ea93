"""Questions about the plan: what it is judged by, what a job waits for, and when it may hang."""

import datetime as dt
from collections.abc import Container, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache

from django.db.models import Prefetch, Q, QuerySet
from django.utils import timezone

from estimating.selectors.sold_fences import sold_fences
from firm.measure.said import Said
from firm.models import Clearance
from firm.selectors.profile import firm_profile
from scheduling import mapping
from scheduling.engine.breaches import Violation
from scheduling.engine.crew_days import find_violations, pour_of
from scheduling.engine.cure import NAMES, Work
from scheduling.engine.hanging import Pour, Wait, hang_not_before
from scheduling.engine.plan import CrewDay as Block
from scheduling.engine.plan import Facts, JobFacts, Phase, timed
from scheduling.engine.strength_line import StrengthLine, strength_line
from scheduling.engine.wait_words import told_together
from scheduling.models import Crew, CrewDay, FenceJob, JobDates, JobPhase, Machine
from scheduling.selectors.holidays import FirmHoliday, holidays_in, no_work_words
from scheduling.selectors.job_dates import dates_of_open_jobs, promise_words, with_jobs_before
from scheduling.selectors.skills import asks_of_phases
from scheduling.selectors.weather import air_since, rain_since
from scheduling.starter import load_cure_table

cure_table = cache(load_cure_table)
# A night's air begins with the day before it.
ONE_DAY = dt.timedelta(days=1)


# Less than this is the rounding of hours to minutes.
SHORTEST_LACK_H = 0.05


@dataclass(frozen=True, kw_only=True, slots=True)
class Plan:
    """The calendar from a day on, whole for every job on it, and what it is judged by.

    `rows` and `blocks` stand in the same order; a block's key is its row's.
    """

    facts: Facts
    rows: tuple[CrewDay, ...]
    blocks: tuple[Block, ...]
    crews: tuple[Crew, ...]
    machines: tuple[Machine, ...]
    crew_size: int
    holidays: Mapping[dt.date, FirmHoliday] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True, slots=True)
class CureSpan:
    """How long posts wait before something hangs; `ready_at` is None where no wait is known."""

    job_id: int
    work: str
    starts_at: dt.datetime
    is_poured: bool
    wait: Wait

    @property
    def ready_at(self) -> dt.datetime | None:
        """When they may carry it."""
        return self.wait.ready_at

    @property
    def sentence(self) -> str:
        """The wait in words."""
        return sentence_of([self])

    @property
    def brief(self) -> str:
        """The wait in as few words as a printed sheet has room for."""
        return brief_of([self])


def sentence_of(spans: Iterable[CureSpan]) -> str:
    """Return the waits of one pour together, so that its hour is told once."""
    spans = list(spans)
    return told_together((one.wait.say() for one in spans), is_planned=_are_planned(spans))


def brief_of(spans: Iterable[CureSpan]) -> str:
    """Return the same in as few words as a printed sheet has room for."""
    spans = list(spans)
    return told_together((one.wait.say_briefly() for one in spans), is_planned=_are_planned(spans))


def _are_planned(spans: Iterable[CureSpan]) -> bool:
    return not all(one.is_poured for one in spans)


@dataclass(frozen=True, kw_only=True, slots=True)
class PhaseHours:
    """A phase in hours of a crew's day: what it needs, what is placed, what is behind us."""

    phase: JobPhase
    needed_h: float
    placed_h: float
    past_h: float

    @property
    def is_to_place(self) -> bool:
        """Say whether the phase is open and has no hours ahead."""
        return self.phase.finished_on is None and not self.placed_h

    @property
    def short_h(self) -> float:
        """Hours that an open phase with days ahead lacks, as where somebody is away by now."""
        if self.phase.finished_on is not None or not self.placed_h:
            return 0.0
        short = self.needed_h - self.placed_h - self.past_h
        return short if short > SHORTEST_LACK_H else 0.0


@dataclass(frozen=True, kw_only=True, slots=True)
class JobWaits:
    """What a job waits for: hardening concrete, phases without a place, and what is wrong now.

    `rows` are all its days on the calendar; `hang` says in a sentence before when nothing hangs,
    `promise` whether the plan keeps what the customer was promised.
    """

    rows: tuple[CrewDay, ...]
    hang: str
    spans: tuple[CureSpan, ...]
    violations: tuple[Violation, ...]
    phases: tuple[PhaseHours, ...]
    strength: StrengthLine | None
    pour: Pour | None
    promise: str
    plan: Plan


def jobs_for_planning() -> QuerySet[FenceJob]:
    """Return jobs with all that a plan is judged by."""
    clearances = Clearance.objects.order_by("pk").prefetch_related("answers")
    return FenceJob.objects.select_related("customer", "site__jurisdiction").prefetch_related(
        Prefetch("site__clearances", queryset=clearances),
        "phases",
        "reports",
    )


def standing_plan(
    *,
    today: dt.date,
    from_day: dt.date | None = None,
    also: Iterable[int] = (),
    without: Container[CrewDay] = (),
) -> Plan:
    """Return the calendar from a day on, with every block of each job that has one there.

    `also` names jobs that are told of whether they stand on it or not. Blocks `without` which it is
    told count for nothing, neither for what was written down of their day's air.
    """
    dates = dates_of_open_jobs()
    from_today = CrewDay.objects.filter(date__gte=from_day or today)
    jobs_on_it = with_jobs_before({*from_today.values_list("job", flat=True), *also}, dates)
    first = (
        CrewDay.objects.filter(job__in=jobs_on_it).order_by("date").values_list("date", flat=True)
    ).first()
    rows = _rows(Q(date__gte=first)) if first else ()
    rows = tuple(row for row in rows if row not in without)
    return _plan(rows, also=jobs_on_it, today=today, dates=dates, shown=from_day)


def cure_spans(plan: Plan, job_id: int) -> tuple[CureSpan, ...]:
    """Return how long a job's posts wait for each work still to be hung."""
    job, pour = plan.facts.jobs[str(job_id)], _pour(plan, job_id)
    if pour is None:
        return ()
    return tuple(_span(job_id, job, work, pour, plan.facts) for work in works_to_hang(job))


def violations_from(plan: Plan, today: dt.date) -> tuple[Violation, ...]:
    """Return what is wrong with the plan now, but not with the days that lie behind.

    Nor with days of work that is finished: they are told of as such, and there is nothing to move.
    """

    def is_to_come(block: Block) -> bool:
        return block.date >= today and block.phase not in plan.facts.jobs[block.job].done

    found = find_violations(plan.blocks, plan.facts)
    return tuple(one for one in found if any(map(is_to_come, one.blocks)))


def job_waits(job: FenceJob, now: dt.datetime) -> JobWaits:
    """Return what a job waits for, as the calendar stands."""
    today = timezone.localdate(now)
    plan = standing_plan(today=today, also=[job.pk])
    mine = str(job.pk)
    spans = cure_spans(plan, job.pk)
    return JobWaits(
        rows=tuple(row for row in plan.rows if row.job_id == job.pk),
        hang=hang_words(plan.facts.jobs[mine], spans),
        spans=spans,
        violations=tuple(
            one
            for one in violations_from(plan, today)
            if any(each.job == mine for each in one.blocks)
        ),
        phases=phase_hours(plan, job, today=today),
        strength=_strength(plan, job.pk),
        pour=_pour(plan, job.pk),
        plan=plan,
        promise=promise_words(mine, timed(plan.blocks, plan.facts), plan.facts),
    )


def hang_sentence(job: FenceJob) -> str:
    """Return in one sentence before when nothing hangs on this job's posts."""
    days = CrewDay.objects.filter(job=job, phase__kind=JobPhase.Kind.SET).values("date")
    # Which day it is plays no part in how long concrete waits.
    plan = _plan(_rows(Q(date__in=days)), also={job.pk}, today=timezone.localdate(job.made_at))
    return hang_words(plan.facts.jobs[str(job.pk)], cure_spans(plan, job.pk))


def hang_words(facts: JobFacts, spans: Sequence[CureSpan]) -> str:
    """Return in one sentence what a job's waits come to."""
    if facts.concrete is None:
        return Said("No concrete is counted here: nothing waits for it.")
    if not spans and not facts.is_to_pour and works_to_hang(facts):
        return Said("Hang nothing: the hour of the pour is not recorded.")
    if not spans and works_to_hang(facts):
        return Said(
            "Hang nothing before the posts are set and hard: setting is not on the calendar."
        )
    return sentence_of(spans) or Said("Nothing is left to hang.")


def works_to_hang(job: JobFacts) -> tuple[Work, ...]:
    """Return what is still to hang on a job's posts."""
    works = {Phase.HANG: job.hang_work, Phase.GATES: Work.GATES}
    return tuple(
        work for phase, work in works.items() if phase in job.phases and phase not in job.done
    )


def phase_hours(plan: Plan, job: FenceJob, *, today: dt.date) -> tuple[PhaseHours, ...]:
    """Return a job's phases in hours of the crew that is on it, else of the firm's usual crew.

    Behind us are the hours of days that were reported; a day nobody reported was not worked.
    """
    rows = [row for row in plan.rows if row.job_id == job.pk]
    crews = {crew.pk: crew for crew in plan.crews}
    people = (
        mapping.people_of(crews[rows[-1].crew_id], crew_size=plan.crew_size)
        if rows
        else plan.crew_size
    )
    reported = {(report.crew_id, report.date) for report in job.reports.all()}
    return tuple(
        PhaseHours(
            phase=phase,
            needed_h=mapping.crew_hours(phase.labor_hours, people),
            placed_h=_hours(
                plan, (row for row in rows if row.phase_id == phase.pk and row.date >= today)
            ),
            past_h=_hours(
                plan,
                (
                    row
                    for row in rows
                    if row.phase_id == phase.pk
                    and row.date < today
                    and (row.crew_id, row.date) in reported
                ),
            ),
        )
        for phase in job.phases.all()
    )


def _pour(plan: Plan, job_id: int) -> Pour | None:
    mine = [
        one
        for one in timed(plan.blocks, plan.facts)
        if one.block.job == str(job_id) and one.block.phase == Phase.SET
    ]
    return pour_of(plan.facts.jobs[str(job_id)], mine, plan.facts)


def _strength(plan: Plan, job_id: int) -> StrengthLine | None:
    pour = _pour(plan, job_id)
    works = works_to_hang(plan.facts.jobs[str(job_id)])
    return strength_line(pour, works, plan.facts.table) if pour else None


def _hours(plan: Plan, rows: Iterable[CrewDay]) -> float:
    """Return hours of whole crews: those of a day on which some are away are fewer."""
    crews = plan.facts.crews
    return sum(float(row.hours) * crews[str(row.crew_id)].share_on(row.date) for row in rows)


def _span(job_id: int, job: JobFacts, work: Work, pour: Pour, facts: Facts) -> CureSpan:
    return CureSpan(
        job_id=job_id,
        work=NAMES[work],
        starts_at=pour.poured_at,
        is_poured=not job.is_to_pour,
        wait=hang_not_before(pour, work, facts.table),
    )


def _first_pour(jobs: Iterable[FenceJob], rows: Iterable[CrewDay], today: dt.date) -> dt.date:
    poured = (each.date for job in jobs for each in job.reports.all() if each.poured_at)
    return min([*poured, *(row.date for row in rows), today])


def _rows(chosen: Q) -> tuple[CrewDay, ...]:
    return tuple(
        CrewDay.objects.filter(chosen)
        .select_related("phase", "crew", "machine")
        .order_by("date", "crew", "position", "pk")
    )


def _plan(
    rows: Sequence[CrewDay],
    *,
    also: Iterable[int],
    today: dt.date,
    dates: Mapping[int, JobDates] = mapping.NO_DATES,
    shown: dt.date | None = None,
) -> Plan:
    named = with_jobs_before({row.job_id for row in rows} | set(also), dates)
    jobs = list(jobs_for_planning().filter(pk__in=named))
    asks = asks_of_phases()
    skills = ["members__skills"] if asks.skills else []
    crews = tuple(Crew.objects.prefetch_related("members__time_off", "days_off", *skills))
    machines = tuple(Machine.objects.all())
    firm = firm_profile()
    holidays = holidays_in(firm, _years(rows, today, shown))
    facts = mapping.facts_for(
        jobs,
        crews,
        machines,
        table=cure_table(),
        sold=sold_fences(job.proposal_id for job in jobs),
        days=rows,
        today=today,
        firm=firm,
        dates=dates,
        wet_days=rain_since(today),
        no_work=no_work_words(holidays),
        asks=asks,
        weather=air_since(_first_pour(jobs, rows, today) - ONE_DAY),
    )
    return Plan(
        facts=facts,
        rows=tuple(rows),
        blocks=tuple(mapping.block_of(row) for row in rows),
        crews=crews,
        machines=machines,
        crew_size=firm.crew_size,
        holidays=holidays,
    )


def _years(rows: Sequence[CrewDay], today: dt.date, shown: dt.date | None) -> range:
    """Return the years that days of a plan may lie in, up to a year ahead of all it holds."""
    days = [today, *(row.date for row in rows), *([shown] if shown else [])]
    return range(min(days).year, max(days).year + 2)
