"""The compiled search of one problem: its arrays, begun from a plan, read as a plan again."""

import numpy as np

from scheduling.engine.planner.chance import begun_from
from scheduling.engine.planner.fitting import Plan, no_plan, put, put_nowhere
from scheduling.engine.planner.outs import take_out
from scheduling.engine.planner.problem import Draft, Laid
from scheduling.engine.planner.queues import cost_of
from scheduling.engine.planner.searching import changed_a_little
from scheduling.engine.planner.tables import NONE
from scheduling.engine.planner.trials import COLUMNS, HARDENING, keep
from scheduling.engine.planner.work_tables import Tables


class Search:
    """A plan that is changed a little at a time, and the best one met.

    `cost` is what the plan that is changed comes to, in late days.
    """

    def __init__(self, tables: Tables, draft: Draft, seed: int) -> None:
        self.tables = tables
        self.numbers = tables.numbers
        self._draws = begun_from(seed)
        self._now, self._trial, self._best = (no_plan(self.numbers) for _ in range(3))
        self._changed = np.full((len(self.tables.crews), COLUMNS), NONE, np.int32)
        self._missing = np.full(2, NONE, np.int32)
        self._trouble = np.full(3 * len(self.tables.orders) + 1, NONE, np.int32)
        self._stand(draft)
        for other in (self._trial, self._best):
            keep(self._now, other)

    @property
    def cost(self) -> float:
        """What the plan comes to that is changed, in late days."""
        return float(cost_of(self.numbers, self._now))

    @property
    def best(self) -> Draft:
        """The jobs of the best plan that have their places."""
        return self._draft_of(self._best)

    @property
    def now(self) -> Draft:
        """The jobs of the plan that is changed that have their places."""
        return self._draft_of(self._now)

    @property
    def plans(self) -> tuple[Plan, Plan]:
        """The plan that is changed and the trial of it, in numbers."""
        return self._now, self._trial

    def changed(self, count: int, heat: float) -> bool:
        """Try so many changes; say whether one led to a plan that costs less than the best."""
        if not self.tables.orders:
            return False
        before = cost_of(self.numbers, self._best)
        while count > 0:
            count -= changed_a_little(
                self.numbers,
                self._now,
                self._trial,
                self._best,
                self._changed,
                heat,
                count,
                self._missing,
                self._trouble,
                self._draws,
            )
            if self._missing[HARDENING] != NONE:
                self.tables.ask(*self._missing)
                self._missing[:] = NONE
        return bool(cost_of(self.numbers, self._best) < before)

    def _draft_of(self, plan: Plan) -> Draft:
        """Return the jobs of a plan whose visits all have a place."""
        laid: dict[int, Laid] = {}
        for crew, key in enumerate(self.tables.crews):
            for turn in range(1, plan.size[crew] + 1):
                visit, place = int(plan.turns[crew, turn].visit), int(plan.turns[crew, turn].place)
                if place != NONE:
                    length = int(self.numbers.work.tasks[crew, visit].length)
                    laid[visit] = Laid(crew=key, place=place, length=length)
        return {
            order.key: tuple(laid[visit] for visit in visits)
            for order, visits in zip(self.tables.orders, self.tables.visits, strict=True)
            if all(visit in laid for visit in visits)
        }

    def _stand(self, draft: Draft) -> None:
        """Take a plan as it is; what has no place in it comes last."""
        now, crews = self._now, {key: number for number, key in enumerate(self.tables.crews)}
        places: list[list[tuple[int, int]]] = [[] for _ in crews]
        last: list[int] = []
        for order, visits in zip(self.tables.orders, self.tables.visits, strict=True):
            mine = draft.get(order.key)
            if mine is None:
                last += visits
            else:
                for visit, one in zip(visits, mine, strict=True):
                    places[crews[one.crew]].append((one.place, visit))
        for crew, each in enumerate(places):
            for place, visit in sorted(each):
                self._add(crew, visit)
                put(self.numbers, now, crew, now.size[crew], place)
                take_out(self.numbers, now, crew, now.size[crew], now.outs)
        for visit in last:
            crew = int(np.argmax(self.numbers.work.able[visit]))
            self._add(crew, visit)
            put_nowhere(self.numbers, now, crew, now.size[crew])

    def _add(self, crew: int, visit: int) -> None:
        now = self._now
        now.size[crew] += 1
        now.turns[crew, now.size[crew]].visit = visit
        now.crew_of[visit], now.turn_of[visit] = crew, now.size[crew]
