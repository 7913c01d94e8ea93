"""What the planner solves: visits of crews to sites in whole units of time, nothing of fences.

A job is a chain of visits. A visit is worked by one crew without another job in between; nights
and days off are no interruption. Everything here is whole numbers, so a bound is a proof.
"""

import itertools
import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from scheduling.engine.errors import EngineError
from scheduling.engine.planner.hardening import Hardening
from scheduling.engine.planner.lines import Line

# A drive of exactly one unit must not become two by a last digit.
SLACK = 1e-6
# The first and last place of a run, both included.
Range = tuple[int, int]


@dataclass(frozen=True, kw_only=True, slots=True)
class Use:
    """A machine in use, from a unit of the visit on for some units."""

    machine: str
    offset: int
    length: int


@dataclass(frozen=True, kw_only=True, slots=True)
class Choice:
    """One crew that may make a visit: how long it takes it, and where on its line it may begin.

    `ready` tells for a later visit of the job, by its number, from when it may begin when this one
    is over at some moment: what must harden waits so.
    """

    crew: str
    length: int
    starts: tuple[Range, ...]
    ready: Mapping[int, Hardening] = field(default_factory=dict)
    uses: tuple[Use, ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True)
class Visit:
    """What one crew does at a job on neighbouring working days.

    `shown` is the crew and the day on which people were told it begins.
    """

    choices: tuple[Choice, ...]
    shown: tuple[str, int] | None = None

    def choice(self, crew: str) -> Choice:
        """Return a crew's choice."""
        return next(one for one in self.choices if one.crew == crew)

    def choice_of(self, crew: str) -> Choice | None:
        """Return a crew's choice, None where it may not make the visit."""
        return next((one for one in self.choices if one.crew == crew), None)


@dataclass(frozen=True, kw_only=True, slots=True)
class Order:
    """A job: its visits in their order, its days, and what it waits for.

    `promised_day` and `due_day` are days since the plan's first; work that is over on the day
    itself is in time. `after` names jobs that are finished before this one begins.
    """

    key: str
    visits: tuple[Visit, ...]
    has_one_crew: bool = True
    promised_day: int | None = None
    due_day: int | None = None
    after: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True)
class Fleet:
    """A machine: how many are the firm's, and what one more costs a day, in minutes of driving.

    `taken` holds by day the crews that have one already. `rent` is None where none can be had.
    """

    owned: int
    rent: int | None = None
    taken: Mapping[int, frozenset[str]] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True, slots=True)
class Problem:
    """Crews' lines, jobs, machines and drives.

    `drive_min` holds the minutes from one site to another, "" being the yard; what is unknown is
    left out. A unit has `unit_min` minutes. `move_min` is what moving a visit that people were
    told of counts, in minutes of driving.
    """

    lines: Mapping[str, Line]
    orders: tuple[Order, ...]
    fleets: Mapping[str, Fleet] = field(default_factory=dict)
    drive_min: Mapping[tuple[str, str], float] = field(default_factory=dict)
    unit_min: int = 15
    move_min: int = 0

    def __post_init__(self) -> None:
        keys = [one.key for one in self.orders]
        if len(set(keys)) != len(keys):
            raise EngineError("A job stands in the plan twice.")
        circle = self._circle()
        if circle:
            raise EngineError(f"These jobs wait for one another: {', '.join(circle)}.")

    def _circle(self) -> list[str]:
        waiting = {one.key: set(one.after) for one in self.orders}
        while free := [key for key, after in waiting.items() if not after & waiting.keys()]:
            for key in free:
                del waiting[key]
        return sorted(waiting)

    @property
    def has_like_lines(self) -> bool:
        """Say whether all crews work at the same times, so that places may be compared."""
        stretches = [
            tuple((one.begins, one.length, one.span) for one in line.stretches)
            for line in self.lines.values()
        ]
        return all(one == stretches[0] for one in stretches)

    def drive(self, one: str, other: str) -> int:
        """Return the whole minutes from one site, or the yard, to another."""
        return 0 if one == other else round(self.drive_min.get((one, other), 0.0))

    def gap(self, one: str, other: str) -> int:
        """Return the units to keep between two jobs on one day."""
        minutes = 0.0 if one == other else self.drive_min.get((one, other), 0.0)
        return math.ceil(minutes / self.unit_min - SLACK)

    def extra_min(self, stops: Iterable[str]) -> float:
        """Return the minutes of a day's way beyond the one to its first site and back.

        That one is in the hours the first job was sold with.
        """
        known = [key for key, _ in itertools.groupby(stops) if ("", key) in self.drive_min]
        if not known:
            return 0.0
        legs = zip(["", *known], [*known, ""], strict=True)
        way = sum(self.drive_min[leg] for leg in legs)
        return max(0.0, way - 2 * self.drive_min["", known[0]])


@dataclass(frozen=True, kw_only=True, slots=True)
class Laid:
    """A visit with its crew and the place on its line where it begins."""

    crew: str
    place: int
    length: int

    @property
    def over(self) -> int:
        """The place where it is over."""
        return self.place + self.length


Draft = Mapping[str, tuple[Laid, ...]]


def split(ranges: Iterable[Range], first: int) -> Iterator[Range]:
    """Yield what of some ranges lies at a place or after it."""
    for low, high in ranges:
        if high >= first:
            yield max(low, first), high


def common_unit(numbers: Iterable[int]) -> int:
    """Return the largest unit of which all the numbers are whole multiples; 1 for none."""
    return math.gcd(*numbers) or 1
