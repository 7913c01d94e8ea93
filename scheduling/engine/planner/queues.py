"""Each crew's visits in the order it makes them, laid one right behind the other.

A change of a queue is laid anew only from where it differs, and given up as soon as it costs more
than it may.
"""

import math
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field

from scheduling.engine.planner.fitting import MINUTE, UNPLACED, Fitting, Lying
from scheduling.engine.planner.problem import Draft, Laid
from scheduling.engine.planner.tables import NEVER, Out, Tables

# So many queues may have to be laid anew for one change, where jobs wait for other crews.
MOST_LAID = 8

Queue = list[int]


@dataclass(frozen=True, slots=True)
class Change:
    """A new queue of a crew: from where on it differs, and from where on it is as before again."""

    queue: Queue
    first: int
    behind: int


@dataclass(frozen=True, slots=True)
class Move:
    """Changed queues by crew, and the crew of each visit then."""

    changes: dict[int, Change]
    crew_of: list[int]


@dataclass(slots=True)
class Trial:
    """Queues as a change would have them, laid, with each visit's crew and when it ends.

    `ends` is in real time, NEVER where a visit has no place.
    """

    crew_of: list[int]
    ends: list[int]
    queues: dict[int, Queue] = field(default_factory=dict)
    rows: dict[int, list[Lying]] = field(default_factory=dict)
    costs: dict[int, list[float]] = field(default_factory=dict)
    rent: float = 0.0


class Queues:
    """The queues of all crews; `cost` is what they come to, in late days."""

    def __init__(self, tables: Tables, draft: Draft) -> None:
        self.tables = tables
        count = len(tables.job)
        self.crew_of = [0] * count
        self.ends = [NEVER] * (count + 1)
        self.queues: list[Queue] = [[] for _ in tables.crews]
        self.rows: list[list[Lying]] = [[] for _ in tables.crews]
        self.costs: list[list[float]] = [[] for _ in tables.crews]
        self._taken = [self._taken_by(key) for key in tables.crews]
        self._kept: tuple[list[Queue], list[list[Lying]]] = [], []
        self.outs: list[set[Out]] = [set(each) for each in self._taken]
        self._fitting = Fitting(tables)
        self._has_links = any(tables.followers)
        fleets = tables.problem.fleets
        self._rents = {key: one for key, one in fleets.items() if one.rent is not None}
        self._stand(draft)
        for number, one in enumerate(tables.orders):
            if one.key not in draft:
                self._add(number)
        self.rent = self._rent(Trial(self.crew_of, self.ends))
        self.keep()

    @property
    def cost(self) -> float:
        """What the plan comes to, in late days."""
        return math.fsum(each[-1] for each in self.costs if each) + self.rent

    @property
    def kept(self) -> Draft:
        """The jobs whose visits all had a place when the queues were last kept."""
        laid: dict[int, Laid] = {}
        queues, all_rows = self._kept
        for key, queue, rows in zip(self.tables.crews, queues, all_rows, strict=True):
            for visit, row in zip(queue, rows, strict=True):
                if row.place >= 0:
                    laid[visit] = Laid(crew=key, place=row.place, length=row.over - row.place)
        return {
            order.key: tuple(laid[visit] for visit in visits)
            for order, visits in zip(self.tables.orders, self.tables.visits, strict=True)
            if all(visit in laid for visit in visits)
        }

    def keep(self) -> None:
        """Keep the queues as they are."""
        self._kept = self.queues[:], self.rows[:]

    def tried(self, move: Move, most: float) -> Trial | None:
        """Return some queues as changed, laid; None where that costs more than it may."""
        trial = Trial(crew_of=move.crew_of, ends=self.ends[:])
        totals = [each[-1] if each else 0.0 for each in self.costs]
        for crew in move.changes:
            totals[crew] = 0.0
        waiting, laid = dict(move.changes), 0
        while waiting and laid < MOST_LAID:
            crew, change = waiting.popitem()
            room = most - math.fsum(totals) + totals[crew]
            if not self._lay(trial, crew, change, waiting, room):
                return None
            costs = trial.costs[crew]
            totals[crew] = costs[-1] if costs else 0.0
            laid += 1
            waiting = waiting or self._too_soon(trial)
        if waiting:
            return None
        if self._rents:
            trial.rent = self._rent(trial)
        return trial if math.fsum(totals) + trial.rent <= most else None

    def take(self, trial: Trial) -> None:
        """Go on from what was tried."""
        self.crew_of, self.ends, self.rent = trial.crew_of, trial.ends, trial.rent
        for crew, queue in trial.queues.items():
            self.queues[crew], self.rows[crew] = queue, trial.rows[crew]
            self.costs[crew] = trial.costs[crew]
            self.outs[crew] = self._outs_of(crew, self.rows[crew])

    def in_trouble(self) -> tuple[list[int], list[int], list[int]]:
        """Return the numbers of the jobs without a place, with a broken promise, and late."""
        without: list[int] = []
        broken: list[int] = []
        late: list[int] = []
        done = {
            visit: row.done
            for queue, rows in zip(self.queues, self.rows, strict=True)
            for visit, row in zip(queue, rows, strict=True)
        }
        for number, visits in enumerate(self.tables.visits):
            if any(self.ends[visit] >= NEVER for visit in visits):
                without.append(number)
                continue
            promised, due = self.tables.days_to_keep[number]
            if done[visits[-1]] > promised:
                broken.append(number)
            if done[visits[-1]] > due:
                late.append(number)
        return without, broken, late

    def _taken_by(self, key: str) -> set[Out]:
        """Return what a crew has out for what stands fixed."""
        return {
            (machine, day)
            for machine, fleet in self.tables.problem.fleets.items()
            for day, crews in fleet.taken.items()
            if key in crews
        }

    def _outs_of(self, crew: int, rows: Iterable[Lying]) -> set[Out]:
        return self._taken[crew].union(*(row.outs for row in rows if row.outs))

    def _stand(self, draft: Draft) -> None:
        """Take a plan as it is."""
        places: list[list[tuple[int, int]]] = [[] for _ in self.tables.crews]
        for order, visits in zip(self.tables.orders, self.tables.visits, strict=True):
            for visit, one in zip(visits, draft.get(order.key, ()), strict=False):
                crew = self.tables.crews.index(one.crew)
                self.crew_of[visit] = crew
                places[crew].append((one.place, visit))
        for crew, mine in enumerate(places):
            state, cost = self._fitting.start, 0.0
            for place, visit in sorted(mine):
                row = self._fitting.stand(crew, visit, place, state)
                self.ends[visit], state = row.end, row.state
                cost += row.cost
                self.queues[crew].append(visit)
                self.rows[crew].append(row)
                self.costs[crew].append(cost)
            self.outs[crew] = self._outs_of(crew, self.rows[crew])

    def _add(self, number: int) -> None:
        """Put a job without a place at the end of the queues of crews that may do it."""
        for visit, able in zip(self.tables.visits[number], self.tables.able[number], strict=True):
            crew = self.crew_of[visit] = able[0]
            rows, costs = self.rows[crew], self.costs[crew]
            state = rows[-1].state if rows else self._fitting.start
            costs.append((costs[-1] if costs else 0.0) + UNPLACED)
            self.queues[crew].append(visit)
            rows.append(self._fitting.nowhere(state, UNPLACED))

    def _lay(
        self, trial: Trial, crew: int, change: Change, waiting: dict[int, Change], most: float
    ) -> bool:
        """Lay a crew's queue from where it differs; say whether it costs no more than it may.

        Crews whose queues wait to be laid have only what lies before their own change.
        """
        queue, first = change.queue, change.first
        old_rows = trial.rows.get(crew, self.rows[crew])
        old_costs = trial.costs.get(crew, self.costs[crew])
        shift = len(old_rows) - len(queue)
        slack = most - (old_costs[-1] if old_costs else 0.0)
        rows, costs = old_rows[:first], old_costs[:first]
        cost = costs[-1] if costs else 0.0
        row = rows[-1] if rows else self._fitting.nowhere(self._fitting.start, 0.0)
        others, ends = self._others(trial, crew, waiting), trial.ends
        for visit in queue[first:]:
            ends[visit] = NEVER
        for number in range(first, len(queue)):
            row = self._laid(trial, crew, queue[number], row, others)
            cost += row.cost
            if cost > most:
                return False
            rows.append(row)
            costs.append(cost)
            if number < change.behind:
                continue
            old, more = old_rows[number + shift], cost - old_costs[number + shift]
            if row.over >= old.over and more > slack:
                # What comes behind it is no sooner than it was.
                return False
            if row == old and all(ends[one] == self.ends[one] for one in queue[first:number]):
                rows += old_rows[number + shift + 1 :]
                costs += [each + more for each in old_costs[number + shift + 1 :]]
                for one in queue[number + 1 :]:
                    ends[one] = self.ends[one]
                break
        trial.queues[crew], trial.rows[crew], trial.costs[crew] = queue, rows, costs
        return not costs or costs[-1] <= most

    def _laid(
        self, trial: Trial, crew: int, visit: int, last: Lying, others: list[set[Out]]
    ) -> Lying:
        moment, ends = 0, trial.ends
        # As in `_ready_from`, which would be called more often than anything else is done.
        for earlier, hardens in self.tables.waits[visit]:
            end = ends[earlier]
            harden = hardens[trial.crew_of[earlier]] if end < NEVER else None
            if harden is not None:
                end = harden.after(end)
            if end > moment:
                moment = end
        if moment >= NEVER:
            return self._fitting.nowhere(last.state, 0.0)
        place = max(last.over, self.tables.lines[crew].first_from(moment))
        row = self._fitting.laid(crew, visit, place, last.state, others)
        ends[visit] = row.end
        return row

    def _others(self, trial: Trial, crew: int, waiting: dict[int, Change]) -> list[set[Out]]:
        """Return what each other crew has out."""
        found = []
        for other in range(len(self.rows)):
            if other == crew:
                continue
            if other in waiting:
                rows = trial.rows.get(other, self.rows[other])
                found.append(self._outs_of(other, rows[: waiting[other].first]))
            elif other in trial.rows:
                found.append(self._outs_of(other, trial.rows[other]))
            else:
                found.append(self.outs[other])
        return found

    def _rent(self, trial: Trial) -> float:
        """Return what machines beyond the firm's own come to, in late days."""
        users: Counter[Out] = Counter()
        for crew, outs in enumerate(self.outs):
            rows = trial.rows.get(crew)
            users.update(outs if rows is None else self._outs_of(crew, rows))
        minutes = 0
        for (machine, day), count in users.items():
            if machine in self._rents:
                fleet = self._rents[machine]
                stood = len(fleet.taken.get(day, ()))
                rented = max(0, count - fleet.owned) - max(0, stood - fleet.owned)
                minutes += rented * (fleet.rent or 0)
        return minutes * MINUTE

    def _too_soon(self, trial: Trial) -> dict[int, Change]:
        """Return the queue of a crew whose visit is to begin before what it waits for is over."""
        if not self._has_links:
            return {}
        for queue in trial.queues.values():
            for visit in queue:
                for follower in self.tables.followers[visit]:
                    other = trial.crew_of[follower]
                    theirs = trial.queues.get(other, self.queues[other])
                    rows = trial.rows.get(other, self.rows[other])
                    place = theirs.index(follower)
                    row = rows[place]
                    begins = self.tables.lines[other].begins[row.place]
                    if row.place >= 0 and begins < self._ready_from(trial, follower):
                        return {other: Change(theirs, place, NEVER)}
        return {}

    def _ready_from(self, trial: Trial, visit: int) -> int:
        """Return in real time from when a visit may begin by what it waits for."""
        moment = 0
        for wait in self.tables.waits[visit]:
            end = trial.ends[wait.visit]
            if end >= NEVER:
                return NEVER
            hardens = wait.hardens[trial.crew_of[wait.visit]]
            moment = max(moment, end if hardens is None else hardens.after(end))
        return moment
