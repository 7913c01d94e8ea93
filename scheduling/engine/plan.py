"""A plan of crew days and the facts it is judged by."""

import datetime as dt
import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from enum import StrEnum

from scheduling.engine.air import Air, Extreme
from scheduling.engine.cure import CureTable, Work
from scheduling.engine.driving import Place, Road, drive_quarters_h
from scheduling.engine.errors import EngineError
from scheduling.engine.hanging import Pour, threats_to
from scheduling.engine.real_time import hours_later
from scheduling.engine.standing import Material, Standing

HOURS_A_DAY = 24
SEVEN = dt.time(7)
MID_AFTERNOON = dt.time(15)
NO_WEATHER = Air()
USUAL_ROAD = Road()
MONDAY_TO_FRIDAY = frozenset(range(5))


class Phase(StrEnum):
    """A phase of a job, as the estimate names it."""

    REMOVAL = "removal"
    LAYOUT = "layout"
    DIG = "dig"
    SET = "set"
    HANG = "hang"
    GATES = "gates"
    CLEAN_UP = "clean_up"
    EXTRA = "extra"


# Pulling old footings opens the ground as a new hole does, so it waits for the ticket as well.
DIGGING = frozenset({Phase.REMOVAL, Phase.DIG})


@dataclass(frozen=True, kw_only=True, slots=True)
class Known:
    """A rule that a person let a plan break, as it read.

    The block of this `key` breaks it; where it begins too early, by `short_h`.
    """

    rule: str
    sentence: str
    key: str = ""
    short_h: float | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class CrewDay:
    """One crew at one phase of one job for some hours of one day.

    Without a `start` it follows the crew's block before it in the plan on that day, once the crew
    has driven there, or begins when the crew does. `key` is the caller's own name for it; `known`
    is what it breaks that a person who may do so has overridden.
    """

    job: str
    phase: Phase
    crew: str
    date: dt.date
    hours: float
    start: dt.time | None = None
    machine: str = ""
    key: str = ""
    known: tuple[Known, ...] = ()

    def __post_init__(self) -> None:
        if not 0 < self.hours <= HOURS_A_DAY:
            raise EngineError(
                f"A crew day has more than 0 and up to {HOURS_A_DAY} h, not {self.hours:g}.",
                field="hours",
            )


@dataclass(frozen=True, kw_only=True, slots=True)
class Crew:
    """A crew: when its day begins, how long it is, on which days there is none, what it can do.

    Its hours of work are reckoned with `people`; `away` tells how many of them are missing on a
    day and `skills_away` what only those can do, `off_words` why it is off on one.
    """

    name: str
    hours: float
    start: dt.time = SEVEN
    weekdays: frozenset[int] = MONDAY_TO_FRIDAY
    days_off: frozenset[dt.date] = frozenset()
    off_words: Mapping[dt.date, str] = field(default_factory=dict)
    people: int = 1
    away: Mapping[dt.date, int] = field(default_factory=dict)
    skills: frozenset[str] = frozenset()
    skills_away: Mapping[dt.date, frozenset[str]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if not 0 < self.hours <= HOURS_A_DAY:
            raise EngineError(
                f"{self.name}: a day has up to {HOURS_A_DAY} h, not {self.hours:g}.", field="hours"
            )
        if self.people < 1:
            raise EngineError(f"{self.name}: a crew has at least 1 person.", field="people")

    def works_on(self, day: dt.date) -> bool:
        """Say whether the crew works that day, be it with some of its people."""
        return (
            day.weekday() in self.weekdays and day not in self.days_off and self.present_on(day) > 0
        )

    def present_on(self, day: dt.date) -> int:
        """Return how many of its people are there on a day."""
        return max(self.people - self.away.get(day, 0), 0)

    def share_on(self, day: dt.date) -> float:
        """Return what an hour of those who are there on a day is of an hour of them all."""
        return self.present_on(day) / self.people


@dataclass(frozen=True, kw_only=True, slots=True)
class Machine:
    """A machine, how many the firm has of it, and whether more can be rented by the day."""

    name: str
    owned: int = 1
    is_rentable: bool = False
    day_rate: Decimal = Decimal(0)


@dataclass(frozen=True, kw_only=True, slots=True)
class Concrete:
    """What the posts stand in: the mix, the air it meets, and the real pour once there was one.

    `air_f` is what somebody wrote down, None where nobody did and the weather tells.
    """

    mix: str
    air_f: float | None
    poured_at: dt.datetime | None = None
    is_covered: bool = False

    def __post_init__(self) -> None:
        if self.air_f is not None and not math.isfinite(self.air_f):
            raise EngineError("Give the air temperature as a figure.", field="air_f")
        if self.poured_at is not None and self.poured_at.tzinfo is None:
            raise EngineError("Give the pour with its time zone.", field="poured_at")


@dataclass(frozen=True, kw_only=True, slots=True)
class JobFacts:
    """A job: its phases in order, those done, where its papers stand, what must harden.

    `concrete` is None where nothing must: driven posts, tamped earth, a repair. `materials` holds
    what must be in the yard, by the phase that builds with it; `machines` what a phase works with;
    `skills` what it asks of a crew, `people` how many must be there. The customer was promised the
    end for `promised_on`, wants it by `wanted_by`, and wants nobody there before `not_before` or on
    `closed_days`. The job begins when `after_job` is finished.
    """

    name: str
    phases: tuple[Phase, ...]
    standing: Standing
    done: frozenset[Phase] = frozenset()
    concrete: Concrete | None = None
    hang_work: Work = Work.PANELS
    digs: frozenset[Phase] = DIGGING
    materials: Mapping[Phase, Material] = field(default_factory=dict)
    machines: Mapping[Phase, str] = field(default_factory=dict)
    skills: Mapping[Phase, frozenset[str]] = field(default_factory=dict)
    people: Mapping[Phase, int] = field(default_factory=dict)
    place: Place | None = None
    promised_on: dt.date | None = None
    wanted_by: dt.date | None = None
    not_before: dt.date | None = None
    closed_days: frozenset[dt.date] = frozenset()
    after_job: str = ""

    def __post_init__(self) -> None:
        if len(set(self.phases)) != len(self.phases):
            raise EngineError(f"{self.name}: a phase stands there twice.", field="phases")

    @property
    def due_on(self) -> dt.date | None:
        """The day lateness is counted from: the deadline, else the promise."""
        return self.wanted_by or self.promised_on

    @property
    def is_over(self) -> bool:
        """Say whether every phase is done."""
        return self.done.issuperset(self.phases)

    @property
    def is_to_pour(self) -> bool:
        """Say whether posts are still to be set."""
        return Phase.SET in self.phases and Phase.SET not in self.done

    def materials_for(self, phase: Phase) -> tuple[Material, ...]:
        """Return what must be there for a phase; who digs sets on the same visit."""
        wanted = (Phase.DIG, Phase.SET) if phase == Phase.DIG else (phase,)
        return tuple(self.materials[each] for each in wanted if each in self.materials)


@dataclass(frozen=True, kw_only=True, slots=True)
class Facts:
    """Everything a plan is judged by, in the firm's time zone.

    `today` tells a promise that can still be kept from one that was broken; `weather` holds the
    days' and months' temperatures, `wet_days` the rain that fell or is forecast. A phase without
    a limit goes on in rain. Sentences tell rain as the firm measures it, `is_metric` or not.
    """

    jobs: Mapping[str, JobFacts]
    crews: Mapping[str, Crew]
    table: CureTable
    zone: dt.tzinfo
    machines: Mapping[str, Machine]
    today: dt.date
    weather: Air = NO_WEATHER
    wet_days: Mapping[dt.date, float] = field(default_factory=dict)
    rain_limit_in: Mapping[Phase, float] = field(default_factory=dict)
    yard: Place | None = None
    road: Road = USUAL_ROAD
    is_metric: bool = False
    _airs: dict[float | None, Air] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )
    _frosts: dict[tuple[str, float | None, dt.date], Extreme | None] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )

    def __post_init__(self) -> None:
        for key in self.jobs:
            _check_waits(key, self.jobs)

    def air_of(self, concrete: Concrete) -> Air:
        """Return the air some concrete meets; the same one for all that meets the same."""
        if concrete.air_f not in self._airs:
            self._airs[concrete.air_f] = replace(self.weather, said_f=concrete.air_f)
        return self._airs[concrete.air_f]

    def pour(self, concrete: Concrete, moment: dt.datetime) -> Pour:
        """Return some concrete as it would be poured at a moment."""
        return Pour(
            poured_at=moment.astimezone(self.zone),
            mix=concrete.mix,
            air=self.air_of(concrete),
            is_covered=concrete.is_covered,
        )

    def frost_on(self, concrete: Concrete, day: dt.date) -> Extreme | None:
        """Return the frost that meets some concrete while it is young, were it poured on a day.

        Judged for a pour in mid-afternoon: an earlier one is stronger when the frost comes. Of all
        jobs that pour the same into the same air only the first one's is looked for.
        """
        alike = (concrete.mix, concrete.air_f, day)
        if alike not in self._frosts:
            afternoon = dt.datetime.combine(day, MID_AFTERNOON, tzinfo=self.zone)
            threats = threats_to(self.pour(concrete, afternoon), self.table)
            self._frosts[alike] = threats.frost
        return self._frosts[alike]


def _check_waits(key: str, jobs: Mapping[str, JobFacts]) -> None:
    """Refuse a job that waits for itself, be it by way of others, or for one nobody knows."""
    seen = {key}
    while key := jobs[key].after_job:
        if key in seen:
            raise EngineError(f"{jobs[key].name} waits for itself.", field="after_job")
        if key not in jobs:
            raise EngineError(f"A job waits for {key!r}, which is unknown.", field="after_job")
        seen.add(key)


@dataclass(frozen=True, kw_only=True, slots=True)
class Timed:
    """A crew day with the moments it begins and ends."""

    block: CrewDay
    starts_at: dt.datetime
    ends_at: dt.datetime


def timed(placements: Iterable[CrewDay], facts: Facts) -> tuple[Timed, ...]:
    """Return the blocks in the order given, each with its beginning and its end.

    Raises:
        EngineError: a block names a job, a phase, a crew or a machine that `facts` lack.
    """
    days: dict[tuple[str, dt.date], list[Timed]] = defaultdict(list)
    found = []
    for block in placements:
        _check_known(block, facts)
        day = days[block.crew, block.date]
        if block.start is None and day:
            starts_at = _arrival(block, day, facts)
        else:
            start = block.start or facts.crews[block.crew].start
            starts_at = dt.datetime.combine(block.date, start, tzinfo=facts.zone)
        ends_at = hours_later(starts_at, block.hours)
        found.append(Timed(block=block, starts_at=starts_at, ends_at=ends_at))
        day.append(found[-1])
    return tuple(found)


def _arrival(block: CrewDay, day: Sequence[Timed], facts: Facts) -> dt.datetime:
    """Return when a crew is there that comes from the last of its blocks so far.

    Where that one's place is unknown the drive counts from the one before.
    """
    free_at = day[-1].ends_at
    there = facts.jobs[block.job].place
    arrivals = [free_at]
    for one in day:
        away_h = drive_quarters_h(facts.jobs[one.block.job].place, there, facts.road)
        if away_h and one.ends_at <= free_at:
            arrivals.append(hours_later(one.ends_at, away_h))
    return max(arrivals)


def _check_known(block: CrewDay, facts: Facts) -> None:
    asked: Sequence[tuple[str, str, Iterable[str]]] = (
        ("job", block.job, facts.jobs),
        ("crew", block.crew, facts.crews),
        ("machine", block.machine, ("", *facts.machines)),
    )
    for what, key, known in asked:
        if key not in known:
            raise EngineError(f"The plan names the {what} {key!r}, which is unknown.", field=what)
    job = facts.jobs[block.job]
    if block.phase not in job.phases:
        raise EngineError(f"{job.name} has no such phase: {block.phase}.", field="phase")
