"""Small cutting jobs solved by trying everything, and first fit written down as it is told."""

from collections.abc import Iterator
from functools import cache

from estimating.engine.stock.cutting import CuttingJob, Stock

Rest = tuple[int, ...]


def best_by_trying(job: CuttingJob) -> tuple[int, int, int]:
    """Return the least cost, of it the fewest bars, and of these the longest kept offcut.

    Every way to fill the next bar is tried; one bar must take the first piece that is left, so it
    may as well be the next one.
    """

    @cache
    def best(rest: Rest) -> tuple[int, int, int]:
        if not any(rest):
            return 0, 0, 0
        first = next(i for i, n in enumerate(rest) if n)
        options = [
            _with_bar(job, stock, filling, best(_less(rest, filling)))
            for stock in job.stocks
            for filling in _fillings(job, stock.length, rest)
            if filling[first]
        ]
        return min(options)

    cost, bars, offcut = best(job.counts)
    return cost, bars, -offcut


def _with_bar(
    job: CuttingJob, stock: Stock, filling: Rest, others: tuple[int, int, int]
) -> tuple[int, int, int]:
    """Add a bar; what is left of it is what one more cut leaves, or nothing."""
    cost, bars, offcut = others
    left = max(0, stock.length - _used(job, filling) - job.kerf)
    kept = left if left >= job.keep_from else 0
    return cost + stock.cost, bars + 1, min(offcut, -kept)


def _less(rest: Rest, filling: Rest) -> Rest:
    return tuple(n - k for n, k in zip(rest, filling, strict=True))


def _fillings(job: CuttingJob, length: int, rest: Rest, taken: Rest = ()) -> Iterator[Rest]:
    if len(taken) == len(rest):
        yield taken
        return
    for n in range(rest[len(taken)] + 1):
        if _used(job, (*taken, n)) <= length:
            yield from _fillings(job, length, rest, (*taken, n))


def _used(job: CuttingJob, filling: Rest) -> int:
    """Return the pieces' lengths and the cuts between them: one less than there are pieces."""
    pieces = [length for (length, _), n in zip(job.pieces, filling, strict=False) for _ in range(n)]
    return sum(pieces) + job.kerf * max(0, len(pieces) - 1)


def first_fit_as_told(job: CuttingJob) -> tuple[int, int]:
    """Return cost and bars of the best first fit decreasing, piece by piece."""
    return min(_fit(job, preferred) for preferred in range(len(job.stocks)))


def _fit(job: CuttingJob, preferred: int) -> tuple[int, int]:
    bars: list[tuple[int, list[int]]] = []
    for length, count in job.pieces:
        for _ in range(count):
            for stock_length, pieces in bars:
                if sum(pieces) + length + job.kerf * len(pieces) <= stock_length:
                    pieces.append(length)
                    break
            else:
                stock = next(s for s in job.stocks[preferred:] if s.length >= length)
                bars.append((stock.length, [length]))
    cost = sum(
        min(
            stock.cost
            for stock in job.stocks
            if stock.length >= sum(pieces) + job.kerf * (len(pieces) - 1)
        )
        for _, pieces in bars
    )
    return cost, len(bars)
