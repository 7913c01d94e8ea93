"""Ways to fill one length of stock: the most valuable one, and all that are good enough."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from estimating.engine.stock.cutting import Bar, CuttingJob


class OutOfStepsError(Exception):
    """The search has taken all the steps it was allowed."""


@dataclass(kw_only=True, slots=True)
class Steps:
    """How many steps searches may still take: a clock that runs alike on every machine."""

    left: int
    whole: "Steps | None" = None

    def take(self) -> None:
        self.left -= 1
        if self.whole:
            self.whole.left -= 1
        if self.left < 0:
            raise OutOfStepsError

    def part(self, most: int) -> "Steps":
        """Return some of these steps: what is taken of them is taken here too."""
        return Steps(left=min(most, self.left), whole=self)


@dataclass(frozen=True, kw_only=True, slots=True)
class Filling:
    """The most valuable filling that was found; no filling is worth more than `most`."""

    bar: Bar
    value: int
    most: int


class Search:
    """Goes through the fillings of one stock by the value of their pieces, the densest first."""

    def __init__(self, job: CuttingJob, stock: int, values: Sequence[int], steps: Steps) -> None:
        self.job, self.stock, self.values, self.steps = job, stock, values, steps
        density = [Fraction(v, w) for v, w in zip(values, job.widths, strict=True)]
        self.order = sorted(range(len(values)), key=lambda i: (-density[i], i))
        self.widths = [job.widths[i] for i in self.order]
        self.worth = [values[i] for i in self.order]
        self.counts = [job.counts[i] for i in self.order]

    def best(self) -> Filling:
        """Return the most valuable filling, or the best until the steps ran out."""
        best, room = (0, [0] * len(self.order)), self.job.room(self.stock)
        most = self._at_most(0, room)
        taken = [0] * len(self.order)

        def go(at: int, room: int, value: int) -> None:
            nonlocal best
            self.steps.take()
            if value > best[0]:
                best = value, taken.copy()
            if at == len(self.order) or value + self._at_most(at, room) <= best[0]:
                return
            for n in range(self._fitting(at, room), -1, -1):
                taken[at] = n
                go(at + 1, room - n * self.widths[at], value + n * self.worth[at])
            taken[at] = 0

        try:
            go(0, room, 0)
            most = best[0]
        except OutOfStepsError:
            pass
        return Filling(bar=self._bar(best[1]), value=best[0], most=most)

    def worth_at_least(self, least: int, *, room: int, full_only: bool) -> Iterator[Bar]:
        """Yield every filling of a room that is worth so much, or only those with no room left.

        Raises:
            OutOfStepsError: there are more than the steps allow.
        """
        taken = [0] * len(self.order)
        smallest = min(self.widths, default=0)

        def go(at: int, room: int, value: int) -> Iterator[Bar]:
            self.steps.take()
            if value + self._at_most(at, room) < least:
                return
            if at == len(self.order):
                if any(taken) and not (full_only and self._takes_one_more(taken, room)):
                    yield self._bar(taken)
                return
            if room < smallest:
                at_end = len(self.order)
                yield from go(at_end, room, value)
                return
            for n in range(self._fitting(at, room), -1, -1):
                taken[at] = n
                yield from go(at + 1, room - n * self.widths[at], value + n * self.worth[at])
            taken[at] = 0

        yield from go(0, room, 0)

    def _fitting(self, at: int, room: int) -> int:
        return min(self.counts[at], room // self.widths[at])

    def _takes_one_more(self, taken: Sequence[int], room: int) -> bool:
        return any(
            width <= room and n < count
            for width, n, count in zip(self.widths, taken, self.counts, strict=True)
        )

    def _at_most(self, at: int, room: int) -> int:
        """Return a bound on the value of a room: pieces in order, the last one cut to fit."""
        value = 0
        widths, values, counts = self.widths, self.worth, self.counts
        for each in range(at, len(widths)):
            width, worth, count = widths[each], values[each], counts[each]
            n = room // width
            if n < count:
                return value + n * worth + (room - n * width) * worth // width
            value, room = value + count * worth, room - count * width
        return value

    def _bar(self, taken: Sequence[int]) -> Bar:
        counts = [0] * len(taken)
        for at, n in enumerate(taken):
            counts[self.order[at]] = n
        return Bar(stock=self.stock, counts=tuple(counts))
