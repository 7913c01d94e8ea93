"""Looking for a better plan by small changes of the crews' queues, some thousands a second.

It begins with a plan made by urgency and goes on from worse ones while it is hot, less and less so.
It finds good plans soon and knows nothing of bounds: the solver proves how good they are.
"""

import math
import random
from collections.abc import Iterator

from scheduling.engine.planner.dispatch import Dispatch, Manner
from scheduling.engine.planner.figures import Figures, figures_of
from scheduling.engine.planner.laying import Laying, lay_with_any
from scheduling.engine.planner.moving import Moving
from scheduling.engine.planner.problem import Draft, Problem
from scheduling.engine.planner.queues import Queues
from scheduling.engine.planner.tables import Tables

# Patience in units and nearness that the first plans are made with, the likeliest first.
FIRST = ((4, 5.0), (8, 5.0), (2, 5.0), (8, 0.0), (4, 0.0), (4, 10.0))
# So many changes are tried by one step.
CHANGES = 50
# By how much a plan may be worse, on the mean, to go on from: at first and at last, in late days.
HOT, COLD = 3.0, 0.02
# How often a change is about a job in trouble; how much likelier one without a place, with a broken
# promise, or late, is picked then.
TROUBLE_SHARE = 0.4
WEIGHTS = (3, 2, 1)


class Improving:
    """The best plan so far; `step` tries to better it.

    `cost` is what the plan comes to that is changed, in late days, once there is one.
    """

    def __init__(self, problem: Problem, seed: int) -> None:
        self.problem = problem
        self.dispatch = Dispatch(problem)
        self.draft: Draft = self.dispatch.plan(Manner())
        self.figures: Figures = figures_of(problem, self.draft)
        self.cost = self._least = math.inf
        self._draw = random.Random(seed)  # noqa: S311
        self._moving: Moving | None = None

    def first_plans(self) -> Iterator[Figures]:
        """Try the usual ways to choose work; yield what is best after each."""
        for patience, nearness in FIRST:
            self.take(self.dispatch.plan(Manner(patience=patience, nearness=nearness)))
            yield self.figures

    def step(self, *, cooled: float = 1.0) -> bool:
        """Try some changes of the plan; say whether that led to a better one than the best.

        `cooled` runs from 0 to 1: early on it also goes on from a plan that is worse.
        """
        moving = self._moving = self._moving or self._begun()
        heat = HOT * (COLD / HOT) ** cooled if cooled < 1.0 else 0.0
        if not moving.tables.orders:
            return False
        queues, jobs = moving.queues, range(len(moving.tables.orders))
        trouble = [
            job
            for weight, mine in zip(WEIGHTS, queues.in_trouble(), strict=True)
            for job in mine * weight
        ]
        is_better = False
        for _ in range(CHANGES):
            is_about = trouble and self._draw.random() < TROUBLE_SHARE
            move = moving.drawn(self._draw.choice(trouble if is_about else jobs))
            most = self.cost + heat * self._draw.expovariate(1.0)
            trial = queues.tried(move, most) if move else None
            if trial is None:
                continue
            queues.take(trial)
            self.cost = queues.cost
            if self.cost < self._least:
                self._least, is_better = self.cost, True
                queues.keep()
        return is_better and self.take(self._whole(queues.kept))

    def take(self, draft: Draft) -> bool:
        """Take a plan, if it is better than the best; say whether it is."""
        figures = figures_of(self.problem, draft)
        is_better = figures < self.figures
        if is_better:
            self.draft, self.figures = draft, figures
        return is_better

    def _begun(self) -> Moving:
        queues = Queues(Tables(self.problem), self.draft)
        self.cost = self._least = queues.cost
        return Moving(queues, self._draw)

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
