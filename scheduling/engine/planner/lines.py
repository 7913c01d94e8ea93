"""A crew's working time laid end to end, so that work runs over nights and weekends unbroken."""

import itertools
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from scheduling.engine.errors import EngineError


@dataclass(frozen=True, kw_only=True, slots=True)
class Stretch:
    """Free working time of one day: when it begins in real time, how long it is, which day it is.

    Time counts in whole units since the plan's first midnight; `day` in days since then. `length`
    counts work of the whole crew; where some are away it takes longer: `lasts` units, 0 for no
    longer. The jobs of `stops_before` and `stops_after` stand fixed on that day, in their order.
    `room_min` is what the day has for work and for the way between its sites, None where there is
    no end to it.
    """

    begins: int
    length: int
    day: int
    lasts: int = 0
    stops_before: tuple[str, ...] = ()
    stops_after: tuple[str, ...] = ()
    room_min: float | None = None

    @property
    def ends(self) -> int:
        """The unit after its last one."""
        return self.begins + self.span

    @property
    def span(self) -> int:
        """How long it is in real time."""
        return self.lasts or self.length

    def real_from(self, offset: int) -> int:
        """Return how many units of real time some of its work takes from its beginning on."""
        return -(-offset * self.span // self.length)

    @property
    def before(self) -> str:
        """The job a crew comes from where the stretch begins; "" for the yard."""
        return self.stops_before[-1] if self.stops_before else ""

    @property
    def after(self) -> str:
        """The job a crew goes on to where the stretch ends; "" for the yard."""
        return self.stops_after[0] if self.stops_after else ""


@dataclass(frozen=True, slots=True)
class Piece:
    """The part of some work that lies in one stretch of a line, from one unit of it on."""

    index: int
    stretch: Stretch
    offset: int
    length: int

    @property
    def begins(self) -> int:
        """When it begins in real time."""
        return self.stretch.begins + self.stretch.real_from(self.offset)

    @property
    def ends(self) -> int:
        """When it ends in real time."""
        return self.stretch.begins + self.stretch.real_from(self.offset + self.length)

    @property
    def span(self) -> int:
        """How long it is in real time."""
        return self.ends - self.begins


class Line:
    """A crew's stretches laid end to end; a place on it counts working units from 0.

    Raises:
        EngineError: a stretch is empty or shorter than its work, or begins before the one before
            it ends.
    """

    def __init__(self, stretches: Iterable[Stretch]) -> None:
        self.stretches: tuple[Stretch, ...] = tuple(stretches)
        for one in self.stretches:
            if one.length <= 0:
                raise EngineError("A stretch of working time has no length.")
            if one.span < one.length:
                raise EngineError("A stretch holds more work than it is long.")
        for one, other in itertools.pairwise(self.stretches):
            if other.begins < one.ends:
                raise EngineError("Stretches of working time overlap.")
        lengths = (one.length for one in self.stretches)
        self.at: tuple[int, ...] = tuple(itertools.accumulate(lengths, initial=0))
        self.has_stops = any(one.stops_before or one.stops_after for one in self.stretches)
        self.is_limited = any(one.room_min is not None for one in self.stretches)
        self._ends = tuple(one.ends for one in self.stretches)

    @property
    def length(self) -> int:
        """How many units of working time there are."""
        return self.at[-1]

    @property
    def is_plain(self) -> bool:
        """Say whether every day is one stretch of one unit, none left out."""
        return all(one.length == one.span == 1 for one in self.stretches) and all(
            other.day == one.day + 1 for one, other in itertools.pairwise(self.stretches)
        )

    def index_of_start(self, place: int) -> int:
        """Return which stretch work that begins at a place begins in."""
        return bisect_right(self.at, place) - 1

    def index_of_end(self, place: int) -> int:
        """Return which stretch work that is over at a place ends in; `place` is over 0."""
        return bisect_left(self.at, place) - 1

    def begins(self, place: int) -> int:
        """Return in real time when work at a place begins."""
        index = self.index_of_start(place)
        return self._real(index, place)

    def ends(self, place: int) -> int:
        """Return in real time when work up to a place is over."""
        index = self.index_of_end(place)
        return self._real(index, place)

    def _real(self, index: int, place: int) -> int:
        stretch = self.stretches[index]
        return stretch.begins + stretch.real_from(place - self.at[index])

    def first_from(self, moment: int) -> int:
        """Return the first place that begins at a moment of real time or after; else the end."""
        index = bisect_right(self._ends, moment)
        if index == len(self.stretches):
            return self.length
        one, late = self.stretches[index], moment - self.stretches[index].begins
        return self.at[index] + ((late - 1) * one.length // one.span + 1 if late > 0 else 0)

    def last_until(self, moment: int) -> int:
        """Return the last place that is over by a moment of real time."""
        index = bisect_right(self._ends, moment)
        if index == len(self.stretches):
            return self.length
        one, early = self.stretches[index], moment - self.stretches[index].begins
        return self.at[index] + max(0, early) * one.length // one.span

    def pieces(self, place: int, length: int) -> tuple[Piece, ...]:
        """Return what some work from a place on is made of, stretch by stretch."""
        found = []
        index = self.index_of_start(place)
        while length > 0:
            stretch = self.stretches[index]
            offset = max(0, place - self.at[index])
            taken = min(length, stretch.length - offset)
            found.append(Piece(index, stretch, offset, taken))
            length -= taken
            index += 1
        return tuple(found)

    def runs(self, allowed: Sequence[bool]) -> tuple[tuple[int, int], ...]:
        """Return the places from and to which neighbouring stretches are all allowed."""
        found: list[tuple[int, int]] = []
        for index, is_allowed in enumerate(allowed):
            if not is_allowed:
                continue
            if found and found[-1][1] == self.at[index]:
                found[-1] = found[-1][0], self.at[index + 1]
            else:
                found.append((self.at[index], self.at[index + 1]))
        return tuple(found)
