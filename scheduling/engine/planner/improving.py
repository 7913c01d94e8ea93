"""Looking for a better plan by bending the order in which work is taken, a little at a time.

It finds good plans soon and knows nothing of bounds: the solver proves how good they are.
"""

import math
import random
from collections.abc import Iterator
from dataclasses import replace

from scheduling.engine.planner.dispatch import Bent, Dispatch
from scheduling.engine.planner.figures import Figures, figures_of, is_broken, late_days
from scheduling.engine.planner.laying import Wish
from scheduling.engine.planner.problem import Draft, Problem

# Patience in units and nearness that the first plans are made with, the likeliest first.
FIRST = ((4, 5.0), (8, 5.0), (2, 5.0), (8, 0.0), (4, 0.0), (4, 10.0))
# How many days a job's turn is put off or brought forward by one change.
SHIFT_DAYS = (0.1, 2.0)
# How often it is about a job in trouble, how often the way work is chosen changes as well.
TROUBLE_SHARE, MANNER_SHARE = 0.6, 0.05
# How much likelier a job without a place, one with a broken promise, a late one is picked.
WEIGHTS = (3, 2, 1)
# What a job without a place and a broken promise count while looking about, in late days, and how
# many minutes of driving count as one. They steer the search; what is best is told by `Figures`.
UNPLACED, BROKEN, MINUTES = 100, 20, 2000
# After so many steps that led no lower the search goes on from some neighbour, be it worse.
PATIENCE_STEPS = 120
# By how much a plan may be worse, on the mean, to go on from, for each of WEIGHTS there is: the
# more trouble, the wider the search. It cools down to nothing.
HEAT = 0.1
MORE = (0, 0, 1, 2)
HOURS_A_DAY = 24


class Improving:
    """The best plan so far and the choice of work that is bent further; `step` tries another.

    `height` tells how far the plan that is bent is from a good one.
    """

    def __init__(self, problem: Problem, seed: int) -> None:
        self.problem = problem
        self.dispatch = Dispatch(problem)
        self.orders = {one.key: one for one in problem.orders}
        self.day = HOURS_A_DAY * 60 // problem.unit_min
        self.bent = Bent()
        self.draft: Draft = self.dispatch.plan(self.bent)
        self.figures: Figures = figures_of(problem, self.draft)
        self._draw = random.Random(seed)  # noqa: S311
        self._trouble = self._in_trouble(self.draft)
        self.height = _height(self.figures)
        self._stood_still = 0
        self._crew_of = {key: mine[0].crew for key, mine in self.draft.items()}

    def first_plans(self) -> Iterator[Figures]:
        """Try the usual ways to choose work; yield what is best after each."""
        for patience, nearness in FIRST:
            self._try(Bent(patience=patience, nearness=nearness), self.height)
            yield self.figures

    def step(self, *, cooled: float = 1.0) -> bool:
        """Try a plan that differs a little from the last; say whether it is better than the best.

        `cooled` runs from 0 to 1: early on the search also goes on from a plan that is worse.
        """
        allowed = self.height
        if self._stood_still >= PATIENCE_STEPS:
            # From here there is no way down: any neighbour will do to go on from.
            allowed, self._stood_still = math.inf, 0
        elif cooled < 1.0:
            allowed += self._draw.expovariate(1.0) * HEAT * len(self._trouble) * (1.0 - cooled)
        return self._try(self._bend(), allowed)

    def take_wishes(self, wishes: tuple[Wish, ...]) -> bool:
        """Try the crews and the order of a solver's plan; say whether that is better."""
        firsts = {wish.job: wish for wish in wishes if wish.number == 0}
        later = {
            key: self.problem.lines[wish.crew].begins(wish.place)
            - self.dispatch.urgency(key, 0, Bent())
            for key, wish in firsts.items()
        }
        crew = {key: wish.crew for key, wish in firsts.items() if self.orders[key].has_one_crew}
        bent = replace(self.bent, later=later, crew=crew, nearness=0.0)
        return self._try(bent, self.height)

    def take(self, draft: Draft) -> bool:
        """Take a plan that was laid elsewhere, if it is better."""
        return self._keep(draft, figures_of(self.problem, draft))

    def _try(self, bent: Bent, allowed: float) -> bool:
        draft = self.dispatch.plan(bent)
        figures = figures_of(self.problem, draft)
        height = _height(figures)
        # Where one aim alone decides, the search stands still long before the plan is good.
        self._stood_still += 1
        if height <= allowed:
            if height < self.height:
                self._stood_still = 0
            self.bent, self.height = bent, height
            self._trouble = self._in_trouble(draft)
            self._crew_of = {key: mine[0].crew for key, mine in draft.items()}
        return self._keep(draft, figures)

    def _keep(self, draft: Draft, figures: Figures) -> bool:
        is_better = figures < self.figures
        if is_better:
            self.draft, self.figures = draft, figures
        return is_better

    def _in_trouble(self, draft: Draft) -> list[str]:
        found: list[str] = []
        for key, order in self.orders.items():
            mine = draft.get(key)
            if mine is None:
                found += [key] * WEIGHTS[0]
            elif is_broken(self.problem, order, mine):
                found += [key] * WEIGHTS[1]
            elif late_days(self.problem, order, mine):
                found += [key] * WEIGHTS[2]
        return found

    def _bend(self) -> Bent:
        """Return another way to choose work."""
        draw = self._draw
        later, crew = dict(self.bent.later), dict(self.bent.crew)
        is_trouble = self._trouble and draw.random() < TROUBLE_SHARE
        about = draw.choice(self._trouble if is_trouble else list(self.orders))
        self._change(later, crew, about)
        for _ in range(draw.choice(MORE)):
            self._change(later, crew, draw.choice(list(self.orders)))
        bent = replace(self.bent, later=later, crew=crew)
        if draw.random() < MANNER_SHARE:
            patience, nearness = draw.choice(FIRST)
            bent = replace(bent, patience=patience, nearness=nearness)
        return bent

    def _beside(self, key: str) -> list[str]:
        """Return jobs without trouble that the same crew has, as far as is known."""
        crew = self._crew_of.get(key)
        calm = [one for one in self.orders if one not in self._trouble]
        return [one for one in calm if crew in (None, self._crew_of.get(one))] or calm

    def _change(self, later: dict[str, float], crew: dict[str, str], key: str) -> None:
        """Bring a job's turn forward, put another's off, or give a job to a crew, in place."""
        draw = self._draw
        shift = draw.uniform(*SHIFT_DAYS) * self.day
        match draw.choice(("forward", "off", "crew", "any crew")):
            case "forward":
                later[key] = later.get(key, 0.0) - shift
            case "off":
                calm = self._beside(key)
                other = draw.choice(calm or [key])
                later[other] = later.get(other, 0.0) + shift
            case "crew":
                crews = {choice.crew for choice in self.orders[key].visits[0].choices}
                crew[key] = draw.choice(sorted(crews))
            case _:
                crew.pop(key, None)


def _height(figures: Figures) -> float:
    """Return how far a plan is from a good one, all aims in one."""
    trouble = UNPLACED * figures.unplaced + BROKEN * figures.broken + figures.late_days
    return trouble + figures.minutes / MINUTES
