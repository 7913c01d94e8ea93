"""The cheapest way to cut a job: of the cheapest the one with the fewest bars, then the one whose
longest kept offcut is longest.

First fit gives a plan, a bound proves it or leaves a gap. Where there is a gap a linear programme
over fillings (column generation) raises the bound, an integer programme lowers the plan, and at
last every filling that a better plan could use is listed: what the integer programme then finds
is the optimum. Where there are too many to list, the bound is told instead.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from math import gcd

from estimating.engine.stock import solver
from estimating.engine.stock.bounds import (
    SCALE,
    Bound,
    bound_from,
    next_possible_cost,
    plain_values,
)
from estimating.engine.stock.cutting import Bar, CuttingJob, CuttingPlan, cost_of, cuts_all
from estimating.engine.stock.fillings import OutOfStepsError, Search, Steps
from estimating.engine.stock.first_fit import cheapest_stock, first_fit

# How hard it is tried, in steps that are alike on every machine.
SEARCH_STEPS = 60_000
QUICK_STEPS = 300
LISTING_STEPS = 20_000
MOST_FILLINGS = 400
MOST_NODES = 100
# Of fillings times pieces of other lengths: a larger programme gets fewer nodes, the largest none.
NODE_SHARE = 200_000
LARGEST_PROGRAMME = 9_000


@dataclass(kw_only=True, slots=True)
class Progress:
    """The best bars so far and the best bound, with the costs they are counted in."""

    costs: tuple[int, ...]
    bars: list[Bar]
    bound: Bound
    least: int
    job: CuttingJob

    @property
    def cost(self) -> int:
        return sum(self.costs[bar.stock] for bar in self.bars)

    @property
    def is_proven(self) -> bool:
        return self.cost <= self.least

    def take(self, bars: Sequence[Bar]) -> None:
        """Keep bars that hold every piece, with the surplus taken out, if they are better."""
        trimmed = _without_surplus(self.job, bars)
        if cuts_all(self.job, trimmed):
            kept = [*self.bars]
            self.bars = trimmed
            if sum(self.costs[bar.stock] for bar in kept) < self.cost:
                self.bars = kept

    def raise_bound(self, bound: Bound) -> None:
        if bound.at_least > self.bound.at_least:
            self.bound = bound
            possible = next_possible_cost(self.job, self.costs, bound.at_least)
            self.least = max(self.least, possible)


@lru_cache(maxsize=512)
def plan_cuts(job: CuttingJob) -> CuttingPlan:
    """Return the best plan for a job; it is never worse than first fit decreasing.

    A job that was planned lately is not planned again: a page works an estimate out several times.
    """
    bars = first_fit(job)
    costs = _weights(job, bars)
    progress = _begin(job, costs, bars)
    if not progress.is_proven:
        _improve(progress)
    if progress.is_proven:
        _lengthen_offcut(progress)
    return CuttingPlan(
        bars=tuple(sorted(progress.bars, key=lambda bar: (bar.stock, bar.counts), reverse=True)),
        cost=cost_of(job, progress.bars),
        least_cost=_least_cost(job, progress),
        is_proven=progress.is_proven,
    )


def _weights(job: CuttingJob, bars: Sequence[Bar]) -> tuple[int, ...]:
    """Return what each stock counts: its cost first and then, of equal costs, one bar less."""
    costs = [stock.cost for stock in job.stocks]
    shared = gcd(*costs) or 1
    if len(costs) == 1:
        return (1,)
    least = max(1, min(costs) // shared)
    most_bars = sum(cost // shared for cost in (costs[bar.stock] for bar in bars)) // least + 1
    return tuple(cost // shared * (most_bars + 1) + 1 for cost in costs)


def _least_cost(job: CuttingJob, progress: Progress) -> int:
    """Return the proven least cost in the job's own unit."""
    cost = cost_of(job, progress.bars)
    if progress.is_proven:
        return cost
    costs = [stock.cost for stock in job.stocks]
    if len(costs) == 1:
        return progress.least * costs[0]
    shared = gcd(*costs) or 1
    per_cost = (progress.costs[0] - 1) // max(1, costs[0] // shared) if costs[0] else 1
    most_bars = per_cost - 1
    return min(cost, -(-(progress.least - most_bars) // per_cost) * shared)


def _begin(job: CuttingJob, costs: tuple[int, ...], bars: list[Bar]) -> Progress:
    """Return first fit's plan beside the best of the bounds that take no linear programme."""
    first, *others = plain_values(job, costs)
    bound = bound_from(job, costs, first, Steps(left=SEARCH_STEPS // 10))
    least = next_possible_cost(job, costs, bound.at_least)
    progress = Progress(job=job, costs=costs, bars=bars, bound=bound, least=least)
    for values in others:
        if not progress.is_proven:
            progress.raise_bound(bound_from(job, costs, values, Steps(left=SEARCH_STEPS // 10)))
    return progress


def _improve(progress: Progress) -> None:
    """Close the gap between plan and bound as far as the steps allow."""
    fillings = _generate(progress)
    if not progress.is_proven:
        _solve(progress, fillings)
    if not progress.is_proven:
        try:
            every = _fillings_below(progress, progress.cost - 1)
        except OutOfStepsError:
            return
        if not every or _solve(progress, every):
            progress.least = progress.cost


def _solve(progress: Progress, fillings: Sequence[Bar]) -> bool:
    """Buy whole bars of some fillings; return whether the answer over these is final."""
    size = len(fillings) * len(progress.job.counts)
    if size > LARGEST_PROGRAMME:
        return False
    costs = [progress.costs[bar.stock] for bar in fillings]
    bars, is_final = solver.whole_bars(
        fillings,
        costs,
        progress.job.counts,
        least=progress.least,
        under=progress.cost,
        most_nodes=min(MOST_NODES, max(1, NODE_SHARE // size)),
    )
    progress.take(bars)
    return is_final


def _generate(progress: Progress) -> list[Bar]:
    """Solve the linear programme by column generation; return the fillings it met."""
    job, costs = progress.job, progress.costs
    largest = max(costs)
    prices = solver.BarPrices(job.counts)
    known: set[Bar] = set()
    fillings: list[Bar] = []

    def add(bar: Bar) -> bool:
        if bar in known:
            return False
        known.add(bar)
        fillings.append(bar)
        prices.add(bar, costs[bar.stock] / largest)
        return True

    for bar in [*_single_kinds(job), *progress.bars]:
        add(bar)
    steps = Steps(left=SEARCH_STEPS)
    while steps.left > 0 and not progress.is_proven:
        values = [round(value * SCALE) for value in prices.piece_values()]
        # A quick look finds a worthy filling most times; only where it finds none is it worth
        # looking everywhere.
        for allowed in (QUICK_STEPS, steps.left):
            bound = bound_from(job, costs, values, steps.part(allowed))
            progress.raise_bound(bound)
            worthy = [
                each.bar
                for each in bound.fillings
                if each.value * largest > costs[each.bar.stock] * SCALE + largest
            ]
            if sum(add(bar) for bar in worthy):
                break
        else:
            break
    return fillings


def _single_kinds(job: CuttingJob) -> list[Bar]:
    """Return for each piece a bar of the cheapest stock with as many of it as fit."""
    bars = []
    for i, (width, count) in enumerate(zip(job.widths, job.counts, strict=True)):
        stock = cheapest_stock(job, width)
        counts = [0] * len(job.widths)
        counts[i] = min(count, job.room(stock) // width)
        bars.append(Bar(stock=stock, counts=tuple(counts)))
    return bars


def _fillings_below(progress: Progress, plan_cost: int) -> list[Bar]:
    """Return every full filling that a plan costing no more than `plan_cost` may use.

    Raises:
        OutOfStepsError: there are too many.
    """
    job, steps = progress.job, Steps(left=LISTING_STEPS)
    fillings: list[Bar] = []
    for s, cost in enumerate(progress.costs):
        least = progress.bound.least_worth(cost, plan_cost=plan_cost)
        search = Search(job, s, progress.bound.values, steps)
        for bar in search.worth_at_least(least, room=job.room(s), full_only=True):
            fillings.append(bar)
            if len(fillings) > MOST_FILLINGS:
                raise OutOfStepsError
    return fillings


def _lengthen_offcut(progress: Progress) -> None:
    """Among plans as good, take one whose longest kept offcut is longest, where that is quick."""
    job = progress.job
    longest = max((job.offcut(bar) for bar in progress.bars), default=0)
    at_least = max(longest + 1, job.keep_from)
    try:
        last = _with_offcut(progress, at_least)
        if not last:
            return
        fillings = _fillings_below(progress, progress.cost)
    except OutOfStepsError:
        return
    bars = solver.with_longest_offcut(
        fillings,
        [progress.costs[bar.stock] for bar in fillings],
        last,
        [progress.costs[bar.stock] for bar in last],
        [job.offcut(bar) for bar in last],
        job.counts,
        cost=progress.cost,
        most_nodes=MOST_NODES,
    )
    if bars is not None:
        progress.take(bars)


def _with_offcut(progress: Progress, at_least: int) -> list[Bar]:
    """Return the fillings that leave so long an offcut and may stand in a plan as good."""
    job, steps = progress.job, Steps(left=LISTING_STEPS)
    bars: list[Bar] = []
    for s, cost in enumerate(progress.costs):
        room = job.stocks[s].length - at_least
        if room < min(job.widths, default=room + 1):
            continue
        least = progress.bound.least_worth(cost, plan_cost=progress.cost)
        search = Search(job, s, progress.bound.values, steps)
        for bar in search.worth_at_least(least, room=room, full_only=False):
            bars.append(bar)
            if len(bars) > MOST_FILLINGS:
                raise OutOfStepsError
    return bars


def _without_surplus(job: CuttingJob, bars: Sequence[Bar]) -> list[Bar]:
    """Return bars without the pieces beyond what is asked for, taken where most is left over."""
    kinds = Counter(bars)
    for i, count in enumerate(job.counts):
        surplus = sum(bar.counts[i] * n for bar, n in kinds.items()) - count
        while surplus > 0:
            having = [bar for bar in kinds if bar.counts[i]]
            most = max(having, key=lambda bar: (job.offcut(bar), bar))
            taken = min(surplus, most.counts[i])
            counts = tuple(n - taken if k == i else n for k, n in enumerate(most.counts))
            kinds[most] -= 1
            kinds += Counter([replace(most, counts=counts)])  # adding drops the kinds at 0
            surplus -= taken
    return [bar for bar in kinds.elements() if any(bar.counts)]
