"""Between rows of the database and the engine's objects."""

import datetime as dt
import math
from collections.abc import Container, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from types import MappingProxyType

from django.utils import timezone

from estimating.selectors.sold_fences import SoldFence
from firm.measure.written import METRIC
from firm.models import Clearance, FirmProfile
from scheduling.engine.air import Air
from scheduling.engine.cure import CureTable, Work
from scheduling.engine.driving import Place, Road
from scheduling.engine.plan import (
    NO_WEATHER,
    USUAL_ROAD,
    Crew,
    CrewDay,
    Facts,
    JobFacts,
    Known,
    Machine,
    Phase,
)
from scheduling.engine.readiness import last_to_come
from scheduling.engine.real_time import QUARTERS_PER_HOUR
from scheduling.engine.standing import (
    PAPER_KINDS,
    Answer,
    Kind,
    Material,
    Paper,
    Standing,
    State,
    Ticket,
    UtilityAnswer,
)
from scheduling.models import Crew as CrewRow
from scheduling.models import CrewDay as CrewDayRow
from scheduling.models import CrewMember, FenceJob, JobDates, JobPhase
from scheduling.models import Machine as MachineRow
from scheduling.pouring import concrete_of
from scheduling.starter import load_rain_limits_in

NO_DATES: Mapping[int, JobDates] = MappingProxyType({})
NO_HOLIDAYS: Mapping[dt.date, str] = MappingProxyType({})
NO_RAIN: Mapping[dt.date, float] = MappingProxyType({})
RAIN_LIMIT_IN = load_rain_limits_in()
ONE_DAY = dt.timedelta(days=1)


@dataclass(frozen=True, kw_only=True, slots=True)
class Asks:
    """What phases ask of a crew: skills by phase and family ("" for all), and people by phase."""

    skills: tuple[tuple[Phase, str, str], ...] = ()
    people: Mapping[Phase, int] = field(default_factory=dict)

    def skills_for(self, families: Container[str]) -> dict[Phase, frozenset[str]]:
        """Return the skills that each phase of a fence of some families asks for."""
        found: dict[Phase, frozenset[str]] = {}
        for phase, family, skill in self.skills:
            if not family or family in families:
                found[phase] = found.get(phase, frozenset()) | {skill}
        return found


NO_ASKS = Asks()


def facts_for(
    jobs: Iterable[FenceJob],
    crews: Iterable[CrewRow],
    machines: Iterable[MachineRow],
    *,
    table: CureTable,
    sold: Mapping[int, SoldFence],
    days: Iterable[CrewDayRow],
    today: dt.date,
    weather: Air = NO_WEATHER,
    firm: FirmProfile | None = None,
    dates: Mapping[int, JobDates] = NO_DATES,
    wet_days: Mapping[dt.date, float] = NO_RAIN,
    no_work: Mapping[dt.date, str] = NO_HOLIDAYS,
    asks: Asks = NO_ASKS,
) -> Facts:
    """Return what a plan is judged by; keys are the rows' own, as text.

    Jobs come with their site's clearances, phases and reports; `days` holds every block on which
    their posts are set, with its phase, and may hold more. On the days of `no_work` no crew works.
    Without a firm the `table` says how it measures.
    """
    crew_size = firm.crew_size if firm else 1
    is_metric = firm.units == METRIC if firm else table.is_metric
    crew_rows, machine_rows = list(crews), list(machines)
    set_days: dict[int, list[CrewDayRow]] = {}
    for row in days:
        if row.phase.kind == JobPhase.Kind.SET:
            set_days.setdefault(row.job_id, []).append(row)
    dig_machines = {row.dig_method: str(row.pk) for row in machine_rows if row.dig_method}
    return Facts(
        jobs={
            str(job.pk): _job_facts(
                job,
                set_days.get(job.pk, ()),
                table=table,
                weather=weather,
                sold=sold.get(job.proposal_id),
                dig_machines=dig_machines,
                dates=dates.get(job.pk),
                asks=asks,
            )
            for job in jobs
        },
        crews={
            str(crew.pk): crew_of(
                crew,
                crew_size=crew_size,
                no_work=no_work,
                with_skills=bool(asks.skills),
                crews=crew_rows,
            )
            for crew in crew_rows
        },
        table=replace(table, is_metric=is_metric),
        zone=timezone.get_current_timezone(),
        machines={str(row.pk): _machine(row) for row in machine_rows},
        today=today,
        weather=weather,
        wet_days=wet_days,
        rain_limit_in=RAIN_LIMIT_IN,
        yard=_place(firm.yard) if firm else None,
        is_metric=is_metric,
        road=Road(factor=firm.road_factor, speed_mph=firm.road_speed_mph) if firm else USUAL_ROAD,
    )


def standing_of(job: FenceJob) -> Standing:
    """Return where a job stands: its signature, its site's clearances, material for its posts."""
    rows = list(job.site.clearances.all()) if job.site else []
    return Standing(
        signed_at=timezone.localtime(job.signed_at),
        cancellation_ends_at=timezone.localtime(job.cancellation_ends_at),
        papers=tuple(_paper(row) for row in rows if row.kind in PAPER_KINDS),
        material=last_to_come(
            _material(phase)
            for phase in job.phases.all()
            if phase.needs_material and phase.kind in {JobPhase.Kind.DIG, JobPhase.Kind.SET}
        ),
        tickets=tuple(_ticket(row) for row in rows if row.kind == Clearance.Kind.LOCATE),
        inspection_before_pour=job.inspection_before_pour,
        inspection_booked_on=job.inspection_booked_on,
        inspection_passed_on=job.inspection_passed_on,
    )


def crew_of(
    crew: CrewRow,
    *,
    crew_size: int,
    no_work: Mapping[dt.date, str] = NO_HOLIDAYS,
    with_skills: bool = False,
    crews: Iterable[CrewRow] = (),
) -> Crew:
    """Return a crew with every single day it is off, and who is away on which.

    `crews` are all there are, for people who work in several.

    A crew that names nobody is the firm's usual number of people, of whom nobody is ever away:
    that all of none are off makes no day off. Nor has it skills: those are people's.
    """
    able = skills_of(crew) if with_skills else {}
    away = away_on(crew, crews)
    names = members_of(crew)
    off = {
        day: f"Nobody is there: {', '.join(gone)}"
        for day, gone in away.items()
        if len(gone) == len(names)
    }
    for row in crew.days_off.all():
        words = f"Off: {row.reason}" if row.reason else ""
        off |= dict.fromkeys(_each_day(row.first_day, row.last_day), words)
    off |= no_work
    return Crew(
        name=crew.name,
        hours=float(crew.hours_per_day),
        start=crew.day_start,
        weekdays=crew.weekday_numbers if crew.is_active else frozenset(),
        days_off=frozenset(off),
        off_words={day: words for day, words in off.items() if words},
        people=people_of(crew, crew_size=crew_size),
        away={day: len(gone) for day, gone in away.items()},
        skills=frozenset[str]().union(*able.values()),
        skills_away={day: _only_of(gone, able) for day, gone in away.items()},
    )


def skills_of(crew: CrewRow) -> dict[str, frozenset[str]]:
    """Return what each of a crew's people can do, by name."""
    return {each.name: frozenset(map(str, each.skills.all())) for each in members_of(crew)}


def _only_of(gone: Sequence[str], able: Mapping[str, frozenset[str]]) -> frozenset[str]:
    """Return the skills that nobody has but those who are away."""
    none = frozenset[str]()
    there = none.union(*(mine for name, mine in able.items() if name not in gone))
    return none.union(*able.values()) - there


def members_of(crew: CrewRow) -> list[CrewMember]:
    """Return the people who work in a crew now."""
    return [member for member in crew.members.all() if member.is_active]


def away_on(crew: CrewRow, crews: Iterable[CrewRow] = ()) -> dict[dt.date, list[str]]:
    """Return the names of those who are away, by day; of those who left nobody is.

    Who works in others of the `crews` as well is away wherever it was written down.
    """
    others = [one for each in crews if each != crew for one in each.members.all()]
    found: dict[dt.date, list[str]] = {}
    for member in members_of(crew):
        same = [one for one in others if one.is_same_person(member)]
        spans = [row for one in (member, *same) for row in one.time_off.all()]
        days = {day for row in spans for day in _each_day(row.first_day, row.last_day)}
        for day in days:
            found.setdefault(day, []).append(member.name)
    return found


def _each_day(first: dt.date, last: dt.date) -> list[dt.date]:
    return [first + ONE_DAY * count for count in range((last - first).days + 1)]


def block_of(row: CrewDayRow) -> CrewDay:
    """Return a block of the calendar as the engine knows it."""
    return CrewDay(
        job=str(row.job_id),
        phase=Phase(row.phase.kind),
        crew=str(row.crew_id),
        date=row.date,
        hours=float(row.hours),
        start=row.start,
        machine=str(row.machine_id or ""),
        key=str(row.pk or ""),
        known=tuple(Known(**each) for each in row.override_breaches),
    )


def people_of(crew: CrewRow, *, crew_size: int) -> int:
    """Return how many go out with a crew: its active members, or the firm's usual number."""
    return max(len(members_of(crew)) or crew_size, 1)


def crew_hours(labor_hours: Decimal, people: int) -> float:
    """Return how long that many people take together, up to the quarter hour."""
    # The margin keeps 6 h of 3 people from becoming 2.25 h by a last digit.
    quarters = float(labor_hours) / people * QUARTERS_PER_HOUR
    return math.ceil(quarters - 1e-6) / QUARTERS_PER_HOUR


def _job_facts(
    job: FenceJob,
    set_days: Sequence[CrewDayRow],
    *,
    table: CureTable,
    weather: Air,
    sold: SoldFence | None,
    dig_machines: Mapping[str, str],
    dates: JobDates | None,
    asks: Asks,
) -> JobFacts:
    phases = list(job.phases.all())
    fence = sold or SoldFence()
    has_posts = any(phase.kind == JobPhase.Kind.SET for phase in phases)
    dig_machine = dig_machines.get(job.site.dig_method, "") if job.site else ""
    return JobFacts(
        name=str(job),
        phases=tuple(Phase(phase.kind) for phase in phases),
        standing=standing_of(job),
        done=frozenset(Phase(phase.kind) for phase in phases if phase.finished_on),
        concrete=concrete_of(job, set_days, table, weather)
        if has_posts and fence.has_concrete
        else None,
        hang_work=Work.FABRIC if fence.has_fabric else Work.PANELS,
        materials={Phase(phase.kind): _material(phase) for phase in phases if phase.needs_material},
        machines={Phase.DIG: dig_machine} if dig_machine else {},
        skills=asks.skills_for(fence.families),
        people=asks.people,
        place=_place(job.site.place) if job.site else None,
        promised_on=dates.promised_on if dates else None,
        wanted_by=dates.wanted_by if dates else None,
        not_before=dates.not_before if dates else None,
        closed_days=frozenset(map(dt.date.fromisoformat, dates.closed_days if dates else ())),
        after_job=_after_job(dates),
    )


def _after_job(dates: JobDates | None) -> str:
    """Return the job that is waited for while it is to be done: one called off bars nothing."""
    first = dates.after_job if dates else None
    return str(first.pk) if first is not None and first.state == FenceJob.State.TO_DO else ""


def _machine(row: MachineRow) -> Machine:
    return Machine(
        name=row.name, owned=row.owned, is_rentable=row.is_rentable, day_rate=row.day_rate
    )


def _place(place: tuple[float | None, float | None]) -> Place | None:
    lat_deg, lon_deg = place
    if lat_deg is None or lon_deg is None:
        return None
    return Place(lat_deg=lat_deg, lon_deg=lon_deg)


def _material(phase: JobPhase) -> Material:
    return Material(received_on=phase.material_received_on, promised_on=phase.material_promised_on)


def _paper(row: Clearance) -> Paper:
    return Paper(
        kind=Kind(row.kind),
        state=State(row.state),
        number=row.number,
        clear_on=row.clear_on,
        expires_on=row.expires_on,
    )


def _ticket(row: Clearance) -> Ticket:
    return Ticket(
        state=State(row.state),
        number=row.number,
        clear_on=row.clear_on,
        expires_on=row.expires_on,
        renew_by=row.renew_by,
        answers=tuple(
            UtilityAnswer(utility=each.utility, answer=Answer(each.answer))
            for each in row.answers.all()
        ),
    )
