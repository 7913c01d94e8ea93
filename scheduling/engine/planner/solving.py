"""The best plan in a given time: at once by urgency, bettered step by step, then aim by aim proven.

Each aim is kept while the solver looks after the next. What it would have is laid out exactly
and counted anew; the best of all plans laid is the answer, so more time never makes it worse.
"""

import itertools
import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from scheduling.engine.planner.aims import AIMS, counts_all_drives
from scheduling.engine.planner.cpsat import Found, Search, minimise
from scheduling.engine.planner.figures import Figures, figures_of
from scheduling.engine.planner.floors import floors
from scheduling.engine.planner.forward import brought_forward
from scheduling.engine.planner.improving import Improving
from scheduling.engine.planner.laying import lay_wishes
from scheduling.engine.planner.model import Model
from scheduling.engine.planner.problem import Draft, Problem

# How much of the time may go into bettering the first plan; it ends without a better one for a step
# for each so many jobs.
STEPS_SHARE = 0.97
JOBS_PER_STEP = 3
# How many times as many steps the search takes to cool down, if it has the time.
COOLING = 12
# The aims that are weighed before any driving.
TIMELY = ("unplaced", "broken", "late_days")
# How much of the time still left each aim may take; what it leaves is the next one's.
SHARES = {
    "unplaced": 0.5,
    "broken": 0.7,
    "late_days": 0.7,
    "minutes": 0.6,
    "span_days": 0.6,
    "end_days": 1.0,
}


@dataclass(frozen=True, kw_only=True, slots=True)
class Stage:
    """An aim, what the plan comes to, and what no plan as good in the aims before can be under."""

    name: str
    value: int
    bound: int

    @property
    def is_proven(self) -> bool:
        """Say whether no plan is better in this aim."""
        return self.value <= self.bound


@dataclass(frozen=True, kw_only=True, slots=True)
class Progress:
    """How a solve stands: the aim it is at, the best value and bound of it, the plan so far.

    `began` is when its time began by its clock; None while it gets ready, which is no part of it.
    """

    aim: str
    value: int
    bound: int
    figures: Figures
    began: float | None


@dataclass(frozen=True, kw_only=True, slots=True)
class Limits:
    """How long a solve may take, from which seed, and who is told; an answer of True ends it.

    With `until` it ends after that aim.
    """

    seconds: float
    seed: int = 0
    until: str = ""
    told: Callable[[Progress], bool] | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class Solved:
    """The best plan laid, what it comes to, and aim by aim how good it is proven to be."""

    draft: Draft
    figures: Figures
    stages: tuple[Stage, ...]
    was_stopped: bool = False


def solve(problem: Problem, limits: Limits, *, clock: Callable[[], float]) -> Solved:
    """Return the best plan that is found within the limits; `clock` counts seconds."""
    return _Solve(problem, limits, clock).run()


class _Solve:
    def __init__(self, problem: Problem, limits: Limits, clock: Callable[[], float]) -> None:
        self.problem, self.limits, self.clock = problem, limits, clock
        self.began = clock()
        self.ends_at = self.began + limits.seconds
        self.improving = Improving(problem, limits.seed)
        self.floors = floors(problem)
        self.bounds: dict[str, int] = {}
        self.kept: dict[str, int] = {}
        self.is_exact = True
        self.was_stopped = False
        self.is_ready = True

    def run(self) -> Solved:
        """Better the first plan, then solve aim by aim."""
        self._tell("unplaced", 0)
        self._better()
        model = Model(self.problem) if self.problem.orders else None
        for name, aim in AIMS.items():
            if model is None or self.was_stopped or self.clock() >= self.ends_at:
                break
            expression = aim(model)
            if isinstance(expression, int):
                self.bounds[name] = expression
            elif self._standing(name) <= self._floor(name):
                self.kept[name] = self._standing(name)
                model.cp.add(expression <= self.kept[name])
            else:
                self.kept[name] = self._minimise(model, name, expression)
                model.cp.add(expression <= self.kept[name])
            if name == self.limits.until:
                break
        best = brought_forward(self.problem, self.improving.draft)
        figures = figures_of(self.problem, best)
        return Solved(
            draft=best,
            figures=figures,
            stages=tuple(self._stages(figures)),
            was_stopped=self.was_stopped,
        )

    def _stages(self, figures: Figures) -> Iterator[Stage]:
        """Yield each aim with its bound, the solver's only where the plan is what it asked for.

        It was found for plans that keep to its values of the aims before.
        """
        is_kept = True
        for name in AIMS:
            value: int = getattr(figures, name)
            bound = self.bounds.get(name) if is_kept else None
            floor = self._floor(name)
            yield Stage(name=name, value=value, bound=floor if bound is None else max(bound, floor))
            is_kept = is_kept and value <= self.kept.get(name, value)

    def _better(self) -> None:
        """Look about for a better plan, as long as that finds any."""
        if not self.problem.orders:
            return
        idle, most = 0, math.ceil(len(self.problem.orders) / JOBS_PER_STEP)
        for _ in self.improving.first_plans():
            if self._tell(self._aim(), 0):
                return
        if self._begin_search():
            return
        share = STEPS_SHARE * self.limits.seconds
        for count in itertools.count():
            is_calm = not any(self._standing(name) for name in TIMELY)
            cooled = max((self.clock() - self.began) / share, count / (COOLING * most))
            if self._tell(self._aim(), 0) or (idle >= most and cooled >= 1.0):
                break
            if self.clock() >= self.began + share or (is_calm and self.limits.until in TIMELY):
                break
            idle = 0 if self.improving.step(cooled=min(1.0, cooled)) else idle + 1

    def _begin_search(self) -> bool:
        """Get the search ready: where it has to be compiled, that is no part of the time.

        Say, as whoever is told does, whether to end instead.
        """
        self.is_ready = False
        if self._tell(self._aim(), 0):
            return True
        before = self.clock()
        self.improving.begin()
        spent = self.clock() - before
        self.began += spent
        self.ends_at += spent
        self.is_ready = True
        return False

    def _aim(self) -> str:
        """Return the weightiest aim that the plan so far leaves something of."""
        return next((name for name in AIMS if self._standing(name)), "end_days")

    def _sure(self, bound: int) -> int:
        return bound if self.is_exact else 0

    def _floor(self, name: str) -> int:
        floor: int = getattr(self.floors, name)
        return min(0, floor) if self._standing("unplaced") else floor

    def _standing(self, name: str) -> int:
        value: int = getattr(self.improving.figures, name)
        return value

    def _minimise(self, model: Model, name: str, aim: object) -> int:
        """Solve for one aim and return the value the next must keep."""
        # Behind an aim that counts too much, plans as good as this one would be left out.
        self.is_exact = self.is_exact and (name != "minutes" or counts_all_drives(model))
        model.hint(self.improving.draft)
        left = max(0.1, self.ends_at - self.clock())
        search = Search(
            seconds=left * (1.0 if name == self.limits.until else SHARES[name]),
            seed=self.limits.seed,
            watch=lambda value, bound: self._tell(name, self._sure(bound), value),
        )
        found = minimise(model.cp, aim, search)
        if self.is_exact:
            self.bounds[name] = found.bound
        if found.value is None:
            return self._standing(name)
        self._take(model, found)
        # Where laying costs something the solver does not know of, the plan laid is what holds;
        # but what is proven may still be laid as well, when it looks after the next aim.
        return max(found.value, self._standing(name)) if found.value > found.bound else found.value

    def _take(self, model: Model, found: Found) -> None:
        self.improving.take(lay_wishes(self.problem, model.wishes(found.read)))

    def _tell(self, name: str, bound: int, value: int | None = None) -> bool:
        if self.clock() >= self.ends_at:
            return True
        if self.limits.told is not None:
            best = self._standing(name) if value is None else value
            figures = self.improving.figures
            least = max(bound, self._floor(name))
            began = self.began if self.is_ready else None
            progress = Progress(aim=name, value=best, bound=least, figures=figures, began=began)
            self.was_stopped = self.limits.told(progress) or self.was_stopped
        return self.was_stopped
