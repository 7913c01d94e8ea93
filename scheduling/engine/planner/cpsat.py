"""The only module that uses the constraint solver.

It is loaded at the first plan: it takes two seconds, which every start would wait for.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

WORKERS = 2
# Told each time a better plan or bound is found: the value, None before there is one, and what it
# can't be under. An answer of True ends the search.
Watch = Callable[[int | None, int], bool]


@dataclass(frozen=True, kw_only=True, slots=True)
class Search:
    """How long to look, from which seed, and who watches."""

    seconds: float
    seed: int = 0
    watch: Watch | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class Found:
    """What a search came to: the value of an aim, what it can't be under, each variable's value.

    `value` is None where no plan was found in the time. `is_impossible` says that there is none.
    """

    value: int | None
    bound: int
    is_impossible: bool
    read: Callable[[Any], int]


def new_model() -> Any:
    """Return an empty model."""
    from ortools.sat.python import cp_model

    return cp_model.CpModel()


def ranges(pairs: list[tuple[int, int]]) -> Any:
    """Return the whole numbers of some ranges as a domain."""
    from ortools.sat.python import cp_model

    return cp_model.Domain.from_intervals([list(pair) for pair in pairs])


def minimise(model: Any, aim: Any, search: Search) -> Found:
    """Look for the least value of an aim within the time of a search."""
    from ortools.sat.python import cp_model

    model.minimize(aim)
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = search.seconds
    solver.parameters.num_workers = WORKERS
    solver.parameters.random_seed = search.seed
    # With these a job shop of ten by ten is proven in a second, without them in more than a minute.
    solver.parameters.use_dynamic_precedence_in_disjunctive = True
    solver.parameters.use_strong_propagation_in_disjunctive = True
    watch = search.watch
    if watch is not None:
        _watch(solver, watch)
    state = solver.solve(model, _told(watch) if watch else None)
    is_found = state in {cp_model.OPTIMAL, cp_model.FEASIBLE}
    return Found(
        value=round(solver.objective_value) if is_found else None,
        bound=_whole(solver.best_objective_bound) if state != cp_model.INFEASIBLE else 0,
        is_impossible=state == cp_model.INFEASIBLE,
        read=solver.value,
    )


def _whole(bound: float) -> int:
    """Return the whole number a value can't be under; the solver's bound may lack a last digit."""
    return max(0, -int(-(bound - 1e-6) // 1))


def _watch(solver: Any, watch: Watch) -> None:
    def told(bound: float) -> None:
        if watch(None, _whole(bound)):
            solver.stop_search()

    solver.best_bound_callback = told


def _told(watch: Watch) -> Any:
    from ortools.sat.python import cp_model

    class Told(cp_model.CpSolverSolutionCallback):
        """Passes each better plan on."""

        def on_solution_callback(self) -> None:
            """Pass on what was found."""
            if watch(round(self.objective_value), _whole(self.best_objective_bound)):
                self.stop_search()

    return Told()
