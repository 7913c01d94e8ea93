"""A problem as the solver sees it: who makes which visit, where on the crew's line it begins.

What can't be said exactly in whole numbers at a bearable price is left out, so that a bound holds:
a drive within a day takes no time here, a machine is taken by the hour, concrete was set at the
best hour of its day, and between crews work is a little longer or shorter where some are away. The
laying that follows keeps all of it.
"""

from typing import Any

from scheduling.engine.planner.cpsat import new_model, ranges
from scheduling.engine.planner.laying import Wish
from scheduling.engine.planner.lines import Line
from scheduling.engine.planner.problem import Choice, Draft, Order, Problem

# A job, the number of a visit, a crew.
At = tuple[str, int, str]


class Model:
    """The model of a problem; `cp` is the solver's own, to which aims are added."""

    def __init__(self, problem: Problem) -> None:
        self.cp: Any = new_model()
        self.problem = problem
        self.orders: dict[str, Order] = {one.key: one for one in problem.orders}
        self.starts: dict[At, Any] = {}
        self.chosen: dict[At, Any] = {}
        self.placed: dict[str, Any] = {}
        self._indexes: dict[tuple[At, bool], Any] = {}
        self._is_alike = problem.has_like_lines
        for order in problem.orders:
            self._add_order(order)
        for crew in problem.lines:
            self._keep_apart(crew)
        for order in problem.orders:
            self._add_chain(order)
        for machine in problem.fleets:
            self._share(machine)

    def over(self, at: At) -> Any:
        """Return the place on its crew's line where a visit is over."""
        return self.starts[at] + self.choice(at).length

    def choice(self, at: At) -> Choice:
        """Return a crew's choice of a visit."""
        job, number, crew = at
        return self.orders[job].visits[number].choice(crew)

    def crews_of(self, job: str, number: int) -> list[At]:
        """Return every crew that may make a visit."""
        visit = self.orders[job].visits[number]
        return [(job, number, choice.crew) for choice in visit.choices]

    def last_of(self, order: Order) -> list[At]:
        """Return every crew that may make a job's last visit."""
        return self.crews_of(order.key, len(order.visits) - 1)

    def index(self, at: At, *, of_end: bool) -> Any:
        """Return in which stretch of its crew's line a visit begins or ends."""
        line = self.problem.lines[at[2]]
        place = self.over(at) - 1 if of_end else self.starts[at]
        if all(one.length == 1 for one in line.stretches):
            return place
        if (at, of_end) not in self._indexes:
            self._indexes[at, of_end] = self._add_index(line, place)
        return self._indexes[at, of_end]

    def looked_up(self, table: list[int], index: Any) -> Any:
        """Return the entry of a table at an index."""
        if len(set(table)) == 1:
            return table[0]
        entry = self.cp.new_int_var(min(table), max(table), "")
        self.cp.add_element(index, table, entry)
        return entry

    def hint(self, draft: Draft) -> None:
        """Tell the solver a plan to begin with."""
        self.cp.clear_hints()
        for job, is_placed in self.placed.items():
            self.cp.add_hint(is_placed, job in draft)
        hinted: set[int] = set()
        for at, chosen in self.chosen.items():
            laid = draft[at[0]][at[1]] if at[0] in draft else None
            is_it = laid is not None and laid.crew == at[2]
            if chosen.index not in hinted:
                hinted.add(chosen.index)
                self.cp.add_hint(chosen, is_it)
            if laid is not None and is_it:
                self.cp.add_hint(self.starts[at], laid.place)

    def wishes(self, read: Any) -> tuple[Wish, ...]:
        """Return where the solver would have each visit of the jobs it placed."""
        return tuple(
            Wish(job=at[0], number=at[1], crew=at[2], place=read(self.starts[at]))
            for at, chosen in self.chosen.items()
            if read(chosen)
        )

    def _add_order(self, order: Order) -> None:
        placed = self.cp.new_bool_var("")
        self.placed[order.key] = placed
        shared: dict[str, Any] = {}
        for number, visit in enumerate(order.visits):
            may = [one for one in visit.choices if one.starts]
            for choice in may:
                at = order.key, number, choice.crew
                self.starts[at] = self.cp.new_int_var_from_domain(ranges(list(choice.starts)), "")
                if order.has_one_crew and choice.crew in shared:
                    self.chosen[at] = shared[choice.crew]
                else:
                    self.chosen[at] = shared[choice.crew] = self.cp.new_bool_var("")
            mine = [self.chosen[order.key, number, choice.crew] for choice in may]
            self.cp.add(sum(mine) == placed)
        if order.has_one_crew:
            for crew, chosen in shared.items():
                if any(
                    (order.key, number, crew) not in self.starts
                    for number in range(len(order.visits))
                ):
                    self.cp.add(chosen == 0)

    def _keep_apart(self, crew: str) -> None:
        intervals = [
            self.cp.new_optional_interval_var(
                start, self.choice(at).length, self.over(at), self.chosen[at], ""
            )
            for at, start in self.starts.items()
            if at[2] == crew
        ]
        self.cp.add_no_overlap(intervals)

    def _add_chain(self, order: Order) -> None:
        for number in range(1, len(order.visits)):
            for earlier in range(number):
                self._add_order_of(order, earlier, number)
        for key in order.after:
            if key not in self.placed:
                self.cp.add(self.placed[order.key] == 0)
                continue
            self.cp.add_implication(self.placed[order.key], self.placed[key])
            last = len(self.orders[key].visits) - 1
            for before in self._known(key, last):
                for after in self._known(order.key, 0):
                    self._add_precedence(before, after)

    def _add_order_of(self, order: Order, earlier: int, number: int) -> None:
        for before in self._known(order.key, earlier):
            for after in self._known(order.key, number):
                if order.has_one_crew and before[2] != after[2]:
                    continue
                if number == earlier + 1:
                    self._add_precedence(before, after)
                if number in self.choice(before).ready:
                    self._add_wait(before, after)

    def _known(self, job: str, number: int) -> list[At]:
        return [at for at in self.crews_of(job, number) if at in self.starts]

    def _add_precedence(self, before: At, after: At) -> None:
        """Let a visit begin when another is over."""
        both = [self.chosen[before], self.chosen[after]]
        if before[2] == after[2] or self._is_alike:
            self.cp.add(self.starts[after] >= self.over(before)).only_enforce_if(both)
        else:
            self.cp.add(self._begins(after) >= self._ends(before)).only_enforce_if(both)

    def _add_wait(self, before: At, after: At) -> None:
        """Let a visit begin when what an earlier one made is hard.

        No sooner than what was made at the best time of the same day, and no sooner after its end
        than the shortest wait of that day.
        """
        line, other = self.problem.lines[before[2]], self.problem.lines[after[2]]
        ready = self.choice(before).ready[after[1]]
        firsts = [other.first_from(moment) for moment in ready.soonest(line)]
        index = self.index(before, of_end=True)
        both = [self.chosen[before], self.chosen[after]]
        self.cp.add(self.starts[after] >= self.looked_up(firsts, index)).only_enforce_if(both)
        if any(one.length > 1 for one in line.stretches):
            wait = self.looked_up(list(ready.shortest(line)), index)
            hard = self._ends(before) + wait
            self.cp.add(self._begins(after) >= hard).only_enforce_if(both)

    def _begins(self, at: At) -> Any:
        """Return in real time when a visit begins; no earlier where some of its crew are away."""
        line = self.problem.lines[at[2]]
        shifts = [
            one.begins + one.span - one.length - place
            for one, place in zip(line.stretches, line.at, strict=False)
        ]
        return self.starts[at] + self.looked_up(shifts, self.index(at, of_end=False))

    def _ends(self, at: At) -> Any:
        """Return in real time when a visit ends; no later where some of its crew are away."""
        line = self.problem.lines[at[2]]
        shifts = [one.begins - place for one, place in zip(line.stretches, line.at, strict=False)]
        return self.over(at) + self.looked_up(shifts, self.index(at, of_end=True))

    def _add_index(self, line: Line, place: Any) -> Any:
        index = self.cp.new_int_var(0, len(line.stretches) - 1, "")
        lengths = {one.length for one in line.stretches}
        if len(lengths) == 1:
            self.cp.add_division_equality(index, place, lengths.pop())
            return index
        first = self.looked_up(list(line.at[:-1]), index)
        behind = self.looked_up(list(line.at[1:]), index)
        self.cp.add(first <= place)
        self.cp.add(place < behind)
        return index

    def _share(self, machine: str) -> None:
        """Keep to the machines there are, by the hour; by the day the laying keeps to them."""
        fleet = self.problem.fleets[machine]
        if fleet.rent is not None or not self._is_alike:
            return
        intervals = []
        for at, start in self.starts.items():
            for use in self.choice(at).uses:
                if use.machine == machine:
                    begins, length = start + use.offset, use.length
                    over = begins + length
                    intervals.append(
                        self.cp.new_optional_interval_var(begins, length, over, self.chosen[at], "")
                    )
        self.cp.add_cumulative(intervals, [1] * len(intervals), fleet.owned)
