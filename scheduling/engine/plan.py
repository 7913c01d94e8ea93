"""A plan of crew days and the facts it is judged by."""

import datetime as dt
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum

from scheduling.engine.air import Air
from scheduling.engine.cure import CureTable, Work
from scheduling.engine.errors import EngineError
from scheduling.engine.real_time import hours_later
from scheduling.engine.standing import Material, Standing

HOURS_A_DAY = 24
SEVEN = dt.time(7)
NO_WEATHER = Air()
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
class CrewDay:
    """One crew at one phase of one job for some hours of one day.

    Without a `start` it follows the crew's block before it in the plan on that day, or begins
    when the crew does. `key` is the caller's own name for it.
    """

    job: str
    phase: Phase
    crew: str
    date: dt.date
    hours: float
    start: dt.time | None = None
    machine: str = ""
    key: str = ""

    def __post_init__(self) -> None:
        if not 0 < self.hours <= HOURS_A_DAY:
            raise EngineError(
                f"A crew day has more than 0 and up to {HOURS_A_DAY} h, not {self.hours:g}.",
                field="hours",
            )


@dataclass(frozen=True, kw_only=True, slots=True)
class Crew:
    """A crew: when its day begins, how long it is, and on which days there is none."""

    name: str
    hours: float
    start: dt.time = SEVEN
    weekdays: frozenset[int] = MONDAY_TO_FRIDAY
    days_off: frozenset[dt.date] = frozenset()

    def __post_init__(self) -> None:
        if not 0 < self.hours <= HOURS_A_DAY:
            raise EngineError(
                f"{self.name}: a day has up to {HOURS_A_DAY} h, not {self.hours:g}.", field="hours"
            )

    def works_on(self, day: dt.date) -> bool:
        """Say whether the crew works that day."""
        return day.weekday() in self.weekdays and day not in self.days_off


@dataclass(frozen=True, kw_only=True, slots=True)
class Machine:
    """A machine, and how many the firm has of it."""

    name: str
    owned: int = 1


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
    what must be in the yard, by the phase that builds with it; `dig_machine` is what digs here.
    """

    name: str
    phases: tuple[Phase, ...]
    standing: Standing
    done: frozenset[Phase] = frozenset()
    concrete: Concrete | None = None
    hang_work: Work = Work.PANELS
    digs: frozenset[Phase] = DIGGING
    materials: Mapping[Phase, Material] = field(default_factory=dict)
    dig_machine: str = ""

    def __post_init__(self) -> None:
        if len(set(self.phases)) != len(self.phases):
            raise EngineError(f"{self.name}: a phase stands there twice.", field="phases")

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
    days' and months' temperatures.
    """

    jobs: Mapping[str, JobFacts]
    crews: Mapping[str, Crew]
    table: CureTable
    zone: dt.tzinfo
    machines: Mapping[str, Machine]
    today: dt.date
    weather: Air = NO_WEATHER


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
    ends: dict[tuple[str, dt.date], dt.datetime] = {}
    found = []
    for block in placements:
        _check_known(block, facts)
        before = ends.get((block.crew, block.date))
        if block.start is None and before is not None:
            starts_at = before
        else:
            start = block.start or facts.crews[block.crew].start
            starts_at = dt.datetime.combine(block.date, start, tzinfo=facts.zone)
        ends_at = hours_later(starts_at, block.hours)
        ends[block.crew, block.date] = ends_at
        found.append(Timed(block=block, starts_at=starts_at, ends_at=ends_at))
    return tuple(found)


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
