"""What every plan must cost at least, proven in whole numbers from values given to the pieces.

If no filling of a stock is worth more than the stock's cost, the values of all pieces together
are a bound on every plan's cost; values that are too high are scaled down first (linear duality;
the scaling is Farley's, from memory).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from estimating.engine.stock.cutting import CuttingJob
from estimating.engine.stock.fillings import Filling, Search, Steps

MOST_MIXES = 20_000
SCALE = 10**9


@dataclass(frozen=True, kw_only=True, slots=True)
class Bound:
    """A proven bound. `slack` tells which fillings a plan below some cost may use.

    A plan of cost z uses no filling whose pieces are worth less than its stock's cost, times
    `stretch`, less (z - `at_least`) times `stretch`.
    """

    values: tuple[int, ...]
    fillings: tuple[Filling, ...]
    stretch: Fraction
    at_least: Fraction

    def least_worth(self, cost: int, *, plan_cost: int) -> int:
        """Return what a filling must be worth in a plan that costs no more than `plan_cost`."""
        allowed = (cost - (plan_cost - self.at_least)) * self.stretch
        return -(-allowed.numerator // allowed.denominator)


def bound_from(job: CuttingJob, costs: Sequence[int], values: Sequence[int], steps: Steps) -> Bound:
    """Return the bound that some values prove."""
    fillings = tuple(Search(job, s, values, steps).best() for s in range(len(job.stocks)))
    # How far the values overshoot what a stock costs, at the worst stock.
    stretch = max(
        (Fraction(each.most, cost) for each, cost in zip(fillings, costs, strict=True)),
        default=Fraction(0),
    )
    total = sum(v * n for v, n in zip(values, job.counts, strict=True))
    return Bound(
        values=tuple(values),
        fillings=fillings,
        stretch=stretch,
        at_least=total / stretch if stretch else Fraction(0),
    )


def plain_values(job: CuttingJob, costs: Sequence[int]) -> list[list[int]]:
    """Return values that need no linear programme: by what a piece costs alone, and by length.

    Alone a piece costs a share of the stock that holds most of its like for the money.
    """
    alone = [
        min(
            Fraction(cost, job.room(s) // width)
            for s, cost in enumerate(costs)
            if job.room(s) >= width
        )
        for width in job.widths
    ]
    return [[int(each * SCALE) for each in alone], [width * SCALE for width in job.widths]]


def next_possible_cost(job: CuttingJob, costs: Sequence[int], at_least: Fraction) -> int:
    """Return the least cost at or over a bound that some number of whole bars adds up to."""
    whole = -(-at_least.numerator // at_least.denominator)
    if len(costs) == 1:
        return -(-whole // costs[0]) * costs[0]
    need = sum(width * n for width, n in zip(job.widths, job.counts, strict=True))
    rooms = [job.room(s) for s in range(len(costs))]
    best: int | None = None
    tried = 0

    def go(s: int, cost: int, room: int) -> None:
        nonlocal best, tried
        tried += 1
        if tried > MOST_MIXES or (best is not None and cost >= best):
            return
        if s == len(costs) - 1:
            more = max(0, -(-(whole - cost) // costs[s]), -(-(need - room) // rooms[s]))
            total = cost + more * costs[s]
            best = total if best is None else min(best, total)
            return
        most = max(0, -(-(whole - cost) // costs[s]), -(-(need - room) // rooms[s]))
        for n in range(most, -1, -1):
            go(s + 1, cost + n * costs[s], room + n * rooms[s])

    go(0, 0, 0)
    return whole if best is None or tried > MOST_MIXES else best
