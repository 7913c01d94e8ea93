"""Looking for a better plan by small changes of the crews' queues, some thousands a second.

It begins with a plan made by urgency and goes on from worse ones while it is hot, less and less so.
It finds good plans soon and knows nothing of bounds: the solver proves how good they are.
"""

import math
import os
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING

from scheduling.engine.planner.dispatch import Dispatch, Manner
from scheduling.engine.planner.figures import Figures, figures_of
from scheduling.engine.planner.laying import Laying, lay_with_any
from scheduling.engine.planner.problem import Draft, Problem

if TYPE_CHECKING:
    from scheduling.engine.planner.search import Search

# Patience in units and nearness that the first plans are made with, the likeliest first.
FIRST = ((4, 5.0), (8, 5.0), (2, 5.0), (8, 0.0), (4, 0.0), (4, 10.0))
# So many changes are tried by one step, for each job. The searches wait for one another at its end:
# with a third of it they lost one part in fifteen of the time by that.
CHANGES = 3000
# By how much a plan may be worse, on the mean, to go on from: at first and at last, in late days.
# Where all is in time there is driving to save, of which a day is 2000 minutes.
HEATS, CALM_HEATS = (1.0, 0.15), (0.05, 0.003)
# So many searches go on beside one another, each on a thread: at least, and at most where there are
# cores for them and one more for all else.
FEWEST, MOST = 2, 4


class Improving:
    """The best plan so far; `step` tries to better it.

    `cost` is what the best of the plans that are changed comes to, in late days, once there is one.
    """

    def __init__(self, problem: Problem, seed: int) -> None:
        self.problem = problem
        self.dispatch = Dispatch(problem)
        self.draft: Draft = self.dispatch.plan(Manner())
        self.figures: Figures = figures_of(problem, self.draft)
        self.cost = math.inf
        self._seed = seed
        self._searches: list[Search] = []
        self._count = searches_on(_cores())
        # Its threads end with it; to begin some for each step costs about a millisecond each.
        self._pool = ThreadPoolExecutor(self._count)

    def first_plans(self) -> Iterator[Figures]:
        """Try the usual ways to choose work; yield what is best after each."""
        for patience, nearness in FIRST:
            self.take(self.dispatch.plan(Manner(patience=patience, nearness=nearness)))
            yield self.figures

    def step(self, *, cooled: float = 1.0) -> bool:
        """Try some changes of the plan; say whether that led to a better one than the best.

        `cooled` runs from 0 to 1: early on it also goes on from a plan that is worse.
        """
        if not self._searches:
            self.begin()
        figures = self.figures
        is_calm = not (figures.unplaced or figures.broken or figures.late_days)
        hot, cold = CALM_HEATS if is_calm else HEATS
        heat = hot * (cold / hot) ** cooled if cooled < 1.0 else 0.0
        count = CHANGES * len(self.problem.orders)
        changed = list(self._pool.map(lambda one: one.changed(count, heat), self._searches))
        self.cost = min(one.cost for one in self._searches)
        is_better = False
        for one, has_found in zip(self._searches, changed, strict=True):
            is_better |= has_found and self.take(self._whole(one.best))
        return is_better

    def take(self, draft: Draft) -> bool:
        """Take a plan, if it is better than the best; say whether it is."""
        figures = figures_of(self.problem, draft)
        is_better = figures < self.figures
        if is_better:
            self.draft, self.figures = draft, figures
        return is_better

    def begin(self) -> None:
        """Get the search ready, from the best plan so far."""
        # It loads the compiler, which takes half a second that every start would wait for.
        from scheduling.engine.planner.search import Search
        from scheduling.engine.planner.work_tables import Tables

        tables = Tables(self.problem)
        for number in range(self._count):
            self._searches.append(Search(tables, self.draft, self._seed * MOST + number))
            self._searches[-1].changed(1, 0.0)

    def _whole(self, draft: Draft) -> Draft:
        """Return a plan with the jobs it lacks wherever they find a place in it."""
        if len(draft) == len(self.problem.orders):
            return draft
        laying = Laying(self.problem)
        for key, mine in draft.items():
            laying.stand(key, mine)
        for order in self.problem.orders:
            if order.key not in draft:
                lay_with_any(laying, order)
        return laying.draft


def searches_on(cores: int | None) -> int:
    """Return how many searches go on beside one another on so many cores, if that is known."""
    return max(FEWEST, min(MOST, (cores or 0) - 1))


def _cores() -> int | None:
    """Return how many cores may be used, not all there are in some containers; None if unknown."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count()
