"""Questions about jobs: which there are, whether their crew may dig, and what stands in the way."""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Prefetch, QuerySet
from django.utils import timezone

from estimating.selectors.accepted import accepted_plan
from firm.measure.said import Said
from firm.models import Clearance, User
from scheduling import mapping
from scheduling.engine.hanging import frost_once
from scheduling.engine.readiness import conditions, dig_block
from scheduling.engine.standing import Condition, Kind
from scheduling.engine.wording import dated_words, day_words
from scheduling.models import CrewDay, FenceJob, JobPhase
from scheduling.selectors.planning import JobWaits, PhaseHours, job_waits
from scheduling.selectors.pours import PourRow, Pours, pours_of, strength_lines
from scheduling.selectors.reach import jobs_within_reach
from scheduling.selectors.strength_drawing import StrengthDrawing, strength_drawing
from scheduling.selectors.week_words import ticket_calls

DIGGING = frozenset({JobPhase.Kind.REMOVAL, JobPhase.Kind.DIG})
IN_GROUND = DIGGING | {JobPhase.Kind.SET}
NAMES = {
    Kind.SIGNED: Said("Signature"),
    Kind.CANCELLATION: Said("Time to cancel"),
    Kind.DEPOSIT: Said("Deposit"),
    Kind.PINS: Said("Property line"),
    Kind.EASEMENT: Said("Right of way and easements"),
    Kind.PERMIT: Said("Permit"),
    Kind.ASSOCIATION: Said("Association"),
    Kind.MATERIAL: Said("Material for the posts"),
    Kind.LOCATE: Said("Locate ticket"),
    Kind.INSPECTION: Said("Inspection before concrete"),
}


@dataclass(frozen=True, kw_only=True, slots=True)
class JobRow:
    """A job in the list, the one thing that bars its dig, if any, and its next crew day."""

    job: FenceJob
    block: Condition | None
    next_day: CrewDay | None = None

    @property
    def waits_for(self) -> str:
        """Name what bars the dig, if anything."""
        return NAMES[self.block.kind] if self.block else ""

    @property
    def posts_stand(self) -> bool:
        """Say whether there were holes to dig, and all work in the ground is finished."""
        return posts_stand(self.job.phases.all())

    @property
    def is_built(self) -> bool:
        """Say whether every phase is finished."""
        phases = list(self.job.phases.all())
        return bool(phases) and all(phase.finished_on for phase in phases)


@dataclass(frozen=True, kw_only=True, slots=True)
class PhaseRow:
    """A phase with its hours on the calendar, and how its material stands."""

    hours: PhaseHours
    material: str
    is_here: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class ShownCondition:
    """One condition under its name, and the page where it is mended, if there is one."""

    condition: Condition
    name: str
    mend_page: str = ""
    mend_pk: int | None = None
    mend_words: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class ShownStrength:
    """How one pour gains strength; the title tells it from others, where there are any."""

    title: str
    drawing: StrengthDrawing


@dataclass(frozen=True, kw_only=True, slots=True)
class ToldOnce:
    """What a job's page says of its waits: each frost in full where it stands first."""

    broken: Sequence[str]
    hang: str
    pours: Sequence[tuple[PourRow, str]]


@dataclass(frozen=True, kw_only=True, slots=True)
class JobView:
    """Everything the page of one job shows; `twins` are open jobs of the same number.

    `pour_block` is the inspection, where it bars the pour and not the dig.
    """

    job: FenceJob
    block: ShownCondition | None
    pour_block: ShownCondition | None
    conditions: list[ShownCondition]
    waits: JobWaits
    to_place: list[str]
    phases: list[PhaseRow]
    labor_hours: Decimal
    labour_cost: Decimal
    digs: bool
    posts_stand: bool
    plan: str
    strengths: list[ShownStrength]
    pours: Sequence[PourRow]
    calls: list[str]
    told: ToldOnce
    twins: list[FenceJob]


def posts_stand(phases: Iterable[JobPhase]) -> bool:
    """Say whether there was ground to break, and every phase that breaks it is finished."""
    in_ground = [phase for phase in phases if phase.kind in IN_GROUND]
    return bool(in_ground) and all(phase.finished_on for phase in in_ground)


def jobs_in_state(state: str, *, within: QuerySet[FenceJob] | None = None) -> QuerySet[FenceJob]:
    """Return the jobs in a state with all that says whether they may be dug."""
    jobs = _with_clearances().filter(state=state)
    return jobs if within is None else jobs.filter(pk__in=within.values("pk"))


def job_rows(jobs: Iterable[FenceJob], *, now: dt.datetime) -> list[JobRow]:
    """Return jobs with what bars each one's dig at this moment, and where each goes on."""
    here, rows = timezone.localtime(now), list(jobs)
    next_days: dict[int, CrewDay] = {}
    ahead = CrewDay.objects.filter(job__in=rows, date__gte=here.date())
    for row in ahead.select_related("phase", "crew").order_by("-date", "-position", "-pk"):
        next_days[row.job_id] = row
    return [
        JobRow(
            job=job,
            block=dig_block(mapping.standing_of(job), on=here),
            next_day=next_days.get(job.pk),
        )
        for job in rows
    ]


def job_with_clearances(pk: int, person: User) -> FenceJob | None:
    """Return one job within a person's reach, with its customer, site and clearances."""
    within = jobs_within_reach(person).values("pk")
    return _with_clearances().filter(pk=pk, pk__in=within).prefetch_related("reports").first()


def job_view(job: FenceJob, *, now: dt.datetime) -> JobView:
    """Return what a job's page shows."""
    standing, here = mapping.standing_of(job), timezone.localtime(now)
    block = dig_block(standing, on=here)
    rows = list(job.site.clearances.all()) if job.site else []
    phases = list(job.phases.all())
    waits = job_waits(job, now)
    pours = pours_of(job, waits.plan.facts, waits.spans)
    shown = [
        _shown(each, job, rows)
        for each in conditions(standing, on=here)
        if each.kind != Kind.INSPECTION or job.inspection_before_pour
    ]
    seen = [each for each in shown if each.condition.kind == Kind.INSPECTION]
    return JobView(
        job=job,
        block=_shown(block, job, rows) if block else None,
        pour_block=next((each for each in seen if not each.condition.is_met), None),
        conditions=shown,
        waits=waits,
        to_place=[each.phase.get_kind_display() for each in waits.phases if each.is_to_place],
        phases=[_phase_row(each) for each in waits.phases],
        labor_hours=sum((phase.labor_hours for phase in phases), Decimal(0)),
        labour_cost=sum((phase.labour_cost for phase in phases), Decimal(0)),
        posts_stand=posts_stand(phases),
        digs=any(phase.kind in DIGGING for phase in phases),
        plan=accepted_plan(job.proposal_id),
        strengths=_strengths(job, waits, pours),
        pours=pours.rows,
        told=_told_once(waits, pours.rows, posts_stand=posts_stand(phases)),
        calls=ticket_calls(waits.plan, {job.pk: job}),
        twins=list(
            FenceJob.objects.filter(number=job.number, state=FenceJob.State.TO_DO)
            .exclude(pk=job.pk)
            .order_by("pk")
        ),
    )


def _strengths(job: FenceJob, waits: JobWaits, pours: Pours) -> list[ShownStrength]:
    """Return the curve of each pour, and of the one to come; a job's only one needs no title."""
    if not pours.rows:
        lines = [("", waits.strength)]
    else:
        found = zip(pours.rows, strength_lines(job, waits.plan.facts), strict=True)
        lines = [(_title(row), line) for row, line in found]
        if waits.plan.facts.jobs[str(job.pk)].is_to_pour:
            lines.append(("The last posts, as planned", waits.strength))
    return [
        ShownStrength(title=title, drawing=strength_drawing(line))
        for title, line in lines
        if line is not None
    ]


def _title(row: PourRow) -> str:
    posts = f", post{'s' if row.count > 1 else ''} {row.posts}" if row.count else ""
    return f"Poured {dated_words(row.poured_at)}{posts}"


def _told_once(waits: JobWaits, pours: Sequence[PourRow], *, posts_stand: bool) -> ToldOnce:
    """Return the sentences in the page's order: where posts stand, the wait is its answer."""
    broken = [one.sentence for one in waits.violations]
    ahead = [waits.hang, *broken] if posts_stand else [*broken, waits.hang]
    told = frost_once([*ahead, *(pour.sentence for pour in pours)])
    said, of_pours = told[: len(ahead)], told[len(ahead) :]
    return ToldOnce(
        broken=said[1:] if posts_stand else said[:-1],
        hang=said[0] if posts_stand else said[-1],
        pours=list(zip(pours, of_pours, strict=True)),
    )


def _phase_row(hours: PhaseHours) -> PhaseRow:
    phase = hours.phase
    if not phase.needs_material:
        return PhaseRow(hours=hours, material="", is_here=True)
    if phase.material_received_on:
        words = Said("here since {day}", day=day_words(phase.material_received_on))
    elif phase.material_promised_on:
        words = Said("promised for {day}", day=day_words(phase.material_promised_on))
    else:
        words = Said("no date promised")
    return PhaseRow(hours=hours, material=words, is_here=bool(phase.material_received_on))


def _with_clearances() -> QuerySet[FenceJob]:
    clearances = Clearance.objects.order_by("pk").prefetch_related("answers")
    return FenceJob.objects.select_related("customer", "site__jurisdiction").prefetch_related(
        Prefetch("site__clearances", queryset=clearances), "phases"
    )


def _shown(condition: Condition, job: FenceJob, rows: Sequence[Clearance]) -> ShownCondition:
    page, pk, words = _mended_at(condition.kind, job, rows)
    return ShownCondition(
        condition=condition,
        name=NAMES[condition.kind],
        mend_page=page,
        mend_pk=pk,
        mend_words=words,
    )


def _mended_at(kind: Kind, job: FenceJob, rows: Sequence[Clearance]) -> tuple[str, int | None, str]:
    """Return the page that mends a condition, its row, and what its link says."""
    if kind in {Kind.SIGNED, Kind.CANCELLATION}:
        return "proposal", job.proposal_id, "Proposal"
    if kind in {Kind.MATERIAL, Kind.INSPECTION}:
        return "job_prepare", job.pk, "Prepare"
    if job.site is None:
        return "", None, ""
    mine = [row.pk for row in rows if row.kind == kind]
    if not mine:
        return "clearance_add", job.site.pk, "Write it down"
    # Of several the site's page shows which one it is.
    return ("clearance_edit", mine[0], "Open") if len(mine) == 1 else ("site", job.site.pk, "Open")
