"""A cutting job in whole sixteenths of an inch: pieces, the stock they are cut from, a plan."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

from estimating.engine.errors import EngineError


@dataclass(frozen=True, kw_only=True, slots=True)
class Stock:
    """A length that can be bought. `cost` is a whole number in any unit that all stocks share."""

    key: str
    length: int
    cost: int


@dataclass(frozen=True, kw_only=True)
class CuttingJob:
    """What has to be cut. `pieces` are (length, how many), the longest first, no length twice.

    A cut takes `kerf`. An offcut of `keep_from` or more is kept, a shorter one is scrap.
    """

    pieces: tuple[tuple[int, int], ...]
    stocks: tuple[Stock, ...]
    kerf: int = 0
    keep_from: int = 0

    def __post_init__(self) -> None:
        if not self.stocks:
            raise EngineError("There is no stock to cut from.")
        longest = max(stock.length for stock in self.stocks)
        lengths = [length for length, _ in self.pieces]
        if any(length <= 0 or count <= 0 for length, count in self.pieces):
            raise EngineError("A piece to be cut has a length and a number above 0.")
        if lengths != sorted(set(lengths), reverse=True):
            raise EngineError("Pieces come the longest first, each length once.")
        if lengths and lengths[0] > longest:
            raise EngineError(f"A piece of {lengths[0]} sixteenths is longer than any stock.")

    @cached_property
    def widths(self) -> tuple[int, ...]:
        """What each piece takes with the cut beside it.

        n pieces need n - 1 cuts, or n where something is left: the lengths and n cuts fit a
        stock that is one cut longer exactly when the pieces fit the stock.
        """
        return tuple(length + self.kerf for length, _ in self.pieces)

    @cached_property
    def counts(self) -> tuple[int, ...]:
        return tuple(count for _, count in self.pieces)

    def room(self, stock: int) -> int:
        """Return what `widths` have room in."""
        return self.stocks[stock].length + self.kerf

    def offcut(self, bar: "Bar") -> int:
        """Return the length that is left of a bar once its last piece is cut off."""
        used = sum(width * n for width, n in zip(self.widths, bar.counts, strict=True))
        return max(0, self.stocks[bar.stock].length - used)


@dataclass(frozen=True, kw_only=True, slots=True, order=True)
class Bar:
    """How one length of stock is cut: its place among the stocks, and how many of each piece."""

    stock: int
    counts: tuple[int, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class CuttingPlan:
    """Every bar that is cut, the same ones side by side, and what is proven of the plan.

    `least_cost` is proven: no plan costs less. `is_proven` says that no plan costs less than this
    one, and none that costs the same takes fewer bars.
    """

    bars: tuple[Bar, ...]
    cost: int
    least_cost: int
    is_proven: bool


def job_of(
    pieces: Iterable[tuple[int, int]], stocks: Iterable[Stock], *, kerf: int, keep_from: int
) -> CuttingJob:
    """Return a job of pieces in any order, the same length as often as it comes."""
    counts: dict[int, int] = {}
    for length, count in pieces:
        counts[length] = counts.get(length, 0) + count
    return CuttingJob(
        pieces=tuple(sorted(counts.items(), reverse=True)),
        stocks=tuple(sorted(stocks, key=lambda each: (each.length, each.cost, each.key))),
        kerf=kerf,
        keep_from=keep_from,
    )


def cost_of(job: CuttingJob, bars: Iterable[Bar]) -> int:
    return sum(job.stocks[bar.stock].cost for bar in bars)


def cuts_all(job: CuttingJob, bars: Sequence[Bar]) -> bool:
    """Say whether bars give every piece exactly once and none is cut beyond its length."""
    given = [sum(bar.counts[i] for bar in bars) for i in range(len(job.counts))]
    return tuple(given) == job.counts and all(
        _load(job, bar) <= job.room(bar.stock) for bar in bars
    )


def _load(job: CuttingJob, bar: Bar) -> int:
    return sum(width * n for width, n in zip(job.widths, bar.counts, strict=True))
