"""The best plan in a given time: at once by urgency, then aim by aim with the solver.

Each aim is kept while the next is looked after. What the solver would have is laid out exactly
and counted anew; the best of all plans laid is the answer, so more time never makes it worse.
"""

from collections.abc import Callable
from dataclasses import dataclass

from scheduling.engine.planner.aims import AIMS
from scheduling.engine.planner.cpsat import Found, Search, minimise
from scheduling.engine.planner.figures import Figures, figures_of
from scheduling.engine.planner.forward import brought_forward
from scheduling.engine.planner.laying import lay_by_due_day, lay_wishes
from scheduling.engine.planner.model import Model
from scheduling.engine.planner.problem import Draft, Problem

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
    """How a solve stands: the aim it is at, the best value and bound of it, the plan so far."""

    aim: str
    value: int
    bound: int
    figures: Figures


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
        self.ends_at = clock() + limits.seconds
        self.best = lay_by_due_day(problem)
        self.figures = figures_of(problem, self.best)
        self.bounds: dict[str, int] = {}
        self.was_stopped = False

    def run(self) -> Solved:
        """Solve aim by aim."""
        self._tell("unplaced", 0)
        model = Model(self.problem) if self.problem.orders else None
        for name, aim in AIMS.items():
            if model is None or self.was_stopped or self.clock() >= self.ends_at:
                break
            expression = aim(model)
            if isinstance(expression, int):
                self.bounds[name] = expression
            else:
                value = self._minimise(model, name, expression)
                model.cp.add(expression <= value)
            if name == self.limits.until:
                break
        self.best = brought_forward(self.problem, self.best)
        self.figures = figures_of(self.problem, self.best)
        stages = (
            Stage(name=name, value=getattr(self.figures, name), bound=self.bounds.get(name, 0))
            for name in AIMS
        )
        return Solved(
            draft=self.best,
            figures=self.figures,
            stages=tuple(stages),
            was_stopped=self.was_stopped,
        )

    def _minimise(self, model: Model, name: str, aim: object) -> int:
        """Solve for one aim and return the value the next must keep."""
        model.hint(self.best)
        left = max(0.1, self.ends_at - self.clock())
        search = Search(
            seconds=left * (1.0 if name == self.limits.until else SHARES[name]),
            seed=self.limits.seed,
            watch=lambda value, bound: self._tell(name, bound, value),
        )
        found = minimise(model.cp, aim, search)
        self.bounds[name] = found.bound
        standing: int = getattr(self.figures, name)
        if found.value is None:
            return standing
        self._take(model, found)
        # Where laying costs something the solver does not know of, the plan laid is what holds.
        return max(found.value, standing) if found.value > found.bound else found.value

    def _take(self, model: Model, found: Found) -> None:
        draft = lay_wishes(self.problem, model.wishes(found.read))
        figures = figures_of(self.problem, draft)
        if figures < self.figures:
            self.best, self.figures = draft, figures

    def _tell(self, name: str, bound: int, value: int | None = None) -> bool:
        if self.clock() >= self.ends_at:
            return True
        if self.limits.told is not None:
            best = getattr(self.figures, name) if value is None else value
            progress = Progress(aim=name, value=best, bound=bound, figures=self.figures)
            self.was_stopped = self.limits.told(progress) or self.was_stopped
        return self.was_stopped
