"""The only module that uses OR-Tools: linear and integer programmes over fillings of bars.

OR-Tools is loaded at the first programme: it takes a quarter of a second, which every start and
every command would wait for. The solvers run on one thread and count nodes, not seconds, so the
same job gives the same plan on every machine.
"""

from collections.abc import Sequence
from typing import Any

from estimating.engine.stock.cutting import Bar

SETTINGS = "limits/nodes = {most_nodes}"


class BarPrices:
    """The linear programme of a job: what each piece is worth when bars may be bought in parts."""

    def __init__(self, counts: Sequence[int]) -> None:
        self._solver = _new("GLOP")
        infinity = self._solver.infinity()
        self._rows = [self._solver.Constraint(count, infinity) for count in counts]
        self._objective = self._solver.Objective()
        self._objective.SetMinimization()

    def add(self, bar: Bar, cost: float) -> None:
        """Let one more filling be bought."""
        column = self._solver.NumVar(0, self._solver.infinity(), "")
        self._objective.SetCoefficient(column, cost)
        for row, n in zip(self._rows, bar.counts, strict=True):
            if n:
                row.SetCoefficient(column, n)

    def piece_values(self) -> list[float]:
        """Return the value of each piece at the least cost, none below 0."""
        self._solver.Solve()
        return [max(0.0, row.dual_value()) for row in self._rows]


def whole_bars(
    fillings: Sequence[Bar],
    costs: Sequence[int],
    counts: Sequence[int],
    *,
    least: int,
    under: int,
    most_nodes: int,
) -> tuple[list[Bar], bool]:
    """Return the cheapest bars that hold the pieces for less than `under`; is that answer final?

    `least` is what they cost at least. No bars come back where none were found within the nodes
    or, finally, where no bars of these fillings hold the pieces for so little. Some pieces may
    come more often than they are asked for.
    """
    solver = _new("SCIP")
    columns = [solver.IntVar(0, max(counts), "") for _ in fillings]
    _hold(solver, fillings, columns, counts)
    cost = solver.Sum(c * x for c, x in zip(costs, columns, strict=True))
    solver.Add(cost >= least)
    solver.Add(cost <= under - 1)
    solver.Minimize(cost)
    status = _solve(solver, most_nodes)
    if status not in (solver.OPTIMAL, solver.FEASIBLE):
        return [], status == solver.INFEASIBLE
    return _bought(fillings, columns), status == solver.OPTIMAL


def with_longest_offcut(
    fillings: Sequence[Bar],
    costs: Sequence[int],
    last: Sequence[Bar],
    last_costs: Sequence[int],
    offcuts: Sequence[int],
    counts: Sequence[int],
    *,
    cost: int,
    most_nodes: int,
) -> list[Bar] | None:
    """Return bars at exactly `cost` of which one, among `last`, leaves the longest offcut.

    None where no such bars were found within the nodes.
    """
    solver = _new("SCIP")
    columns = [solver.IntVar(0, max(counts), "") for _ in fillings]
    chosen = [solver.IntVar(0, 1, "") for _ in last]
    _hold(solver, [*fillings, *last], [*columns, *chosen], counts)
    solver.Add(solver.Sum(chosen) == 1)
    priced = zip([*costs, *last_costs], [*columns, *chosen], strict=True)
    solver.Add(solver.Sum(c * x for c, x in priced) == cost)
    solver.Maximize(solver.Sum(c * x for c, x in zip(offcuts, chosen, strict=True)))
    if _solve(solver, most_nodes) not in (solver.OPTIMAL, solver.FEASIBLE):
        return None
    return _bought([*fillings, *last], [*columns, *chosen])


def _new(kind: str) -> Any:
    from ortools.linear_solver import pywraplp

    return pywraplp.Solver.CreateSolver(kind)


def _hold(
    solver: Any, fillings: Sequence[Bar], columns: Sequence[Any], counts: Sequence[int]
) -> None:
    for i, count in enumerate(counts):
        having = [
            bar.counts[i] * x for bar, x in zip(fillings, columns, strict=True) if bar.counts[i]
        ]
        solver.Add(solver.Sum(having) >= count)


def _solve(solver: Any, most_nodes: int) -> Any:
    solver.SetSolverSpecificParametersAsString(SETTINGS.format(most_nodes=most_nodes))
    return solver.Solve()


def _bought(fillings: Sequence[Bar], columns: Sequence[Any]) -> list[Bar]:
    return [
        bar
        for bar, column in zip(fillings, columns, strict=True)
        for _ in range(round(column.solution_value()))
    ]
