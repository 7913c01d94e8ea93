"""A plan made in the order of time: whichever crew is free first takes the most urgent work.

Nothing is left out: every visit is laid by the exact rules. How long a crew waits for something
more urgent, and how much it minds the way, can be turned.
"""

from bisect import bisect_right
from dataclasses import dataclass

from scheduling.engine.planner.laying import NEVER, Laying, lay_with_any
from scheduling.engine.planner.problem import Choice, Draft, Order, Problem

# A job without a day to keep is as urgent as one that is due this many units after the plan's end.
NO_HURRY = 10**6


@dataclass(frozen=True, kw_only=True, slots=True)
class Manner:
    """How work is chosen.

    Of the work that can begin within `patience` units the most urgent is taken; a minute of
    driving on the day makes work `nearness` units less urgent.
    """

    patience: int = 4
    nearness: float = 5.0


@dataclass(slots=True)
class _Open:
    """A visit that a crew may take: from which place on, and the ranges of its starts."""

    order: Order
    choice: Choice
    first: int
    urgency: float
    lows: tuple[int, ...]
    highs: tuple[int, ...]
    range_index: int = 0

    def from_place(self, place: int) -> int:
        """Return the first start from a place on, drives and other work left aside.

        Asked for places in their order: a crew's clock never runs back.
        """
        place = max(place, self.first)
        highs, index = self.highs, self.range_index
        while index < len(highs) and highs[index] < place:
            index += 1
        self.range_index = index
        return max(self.lows[index], place) if index < len(highs) else NEVER


class Dispatch:
    """Makes plans of one problem; what does not change from plan to plan is worked out once."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self._followers: dict[str, list[Order]] = {}
        self._latest = {one.key: latest_starts(problem, one) for one in problem.orders}
        self._starts: dict[tuple[str, int, str], tuple[tuple[int, ...], tuple[int, ...]]] = {}
        for order in problem.orders:
            for key in order.after:
                self._followers.setdefault(key, []).append(order)
            for number, visit in enumerate(order.visits):
                for choice in visit.choices:
                    lows = tuple(low for low, _ in choice.starts)
                    highs = tuple(high for _, high in choice.starts)
                    self._starts[order.key, number, choice.crew] = lows, highs

    def plan(self, manner: Manner) -> Draft:
        """Return the plan that comes of choosing work so."""
        return _Run(self, manner).draft()

    def urgency(self, key: str, number: int) -> float:
        """Return by when a visit should begin, in units of real time."""
        return self._latest[key][number]

    def starts(self, key: str, number: int, crew: str) -> tuple[tuple[int, ...], tuple[int, ...]]:
        """Return the first and the last places of the ranges in which a visit may begin."""
        return self._starts[key, number, crew]

    def followers(self, key: str) -> list[Order]:
        """Return the jobs that wait for a job."""
        return self._followers.get(key, [])


class _Run:
    """One plan in the making."""

    def __init__(self, dispatch: Dispatch, manner: Manner) -> None:
        self.dispatch, self.manner, self.problem = dispatch, manner, dispatch.problem
        self.laying = Laying(self.problem)
        self.clock = dict.fromkeys(self.problem.lines, 0)
        self.open: dict[str, dict[str, _Open]] = {crew: {} for crew in self.problem.lines}
        for order in self.problem.orders:
            self._open_next(order)

    def draft(self) -> Draft:
        """Return the plan."""
        while any(self.open.values()):
            crew = min((crew for crew in self.open if self.open[crew]), key=self._free_at)
            taken = self._taken_by(crew)
            if taken is not None:
                one, place = taken
                self._take(one, place)
        laying = self.laying
        short = [one for one in self.problem.orders if not self._is_whole(one)]
        for order in short:
            laying.drop(order.key)
        for order in sorted(short, key=lambda one: self.dispatch.urgency(one.key, 0)):
            lay_with_any(laying, order)
        return laying.draft

    def _is_whole(self, order: Order) -> bool:
        return len(self.laying.laid[order.key]) == len(order.visits)

    def _free_at(self, crew: str) -> int:
        line, place = self.problem.lines[crew], self.clock[crew]
        return line.begins(place) if place < line.length else NEVER

    def _open_next(self, order: Order) -> None:
        """Offer a job's next visit to the crews that may take it."""
        number = len(self.laying.laid[order.key])
        if number == len(order.visits) or any(
            self.laying.finished_at(key) >= NEVER for key in order.after
        ):
            return
        ready = self.laying.ready_from(order)
        if ready >= NEVER:
            return
        mine = self.laying.laid[order.key]
        keep_to = mine[0].crew if mine and order.has_one_crew else None
        for choice in order.visits[number].choices:
            if keep_to in (None, choice.crew):
                lows, highs = self.dispatch.starts(order.key, number, choice.crew)
                self.open[choice.crew][order.key] = _Open(
                    order,
                    choice,
                    self.problem.lines[choice.crew].first_from(ready),
                    self.dispatch.urgency(order.key, number),
                    lows,
                    highs,
                )

    def _taken_by(self, crew: str) -> tuple[_Open, int] | None:
        """Return what a crew does next and where on its line; None when nothing of it fits.

        What it can never begin any more is offered to it no longer.
        """
        mine, soonest = self.open[crew], self.clock[crew] + self.manner.patience
        best: tuple[int, str] | None = None
        for earliest, key in self._in_turn(crew):
            if best is not None and (best[0] <= soonest or earliest >= best[0]):
                break
            found = self._earliest(crew, key, earliest)
            if found is not None and (best is None or found < best[0]):
                best = found, key
        return None if best is None else (mine[best[1]], best[0])

    def _in_turn(self, crew: str) -> list[tuple[int, str]]:
        """Return where a crew may begin what: the most urgent first, behind it what is later."""
        clock, here = self.clock[crew], self._site_of(crew)
        soonest, nearness = clock + self.manner.patience, self.manner.nearness
        soon: list[tuple[float, str, int]] = []
        later: list[tuple[int, str]] = []
        for key, one in list(self.open[crew].items()):
            # What is not ready by then is looked at more closely only if it comes to that.
            place = one.first if one.first > soonest else one.from_place(clock)
            if place >= NEVER:
                del self.open[crew][key]
            elif place <= soonest:
                way = 0 if here is None else self.problem.drive(here, key)
                soon.append((one.urgency + nearness * way, key, place))
            else:
                later.append((place, key))
        return [*((place, key) for _, key, place in sorted(soon)), *sorted(later)]

    def _earliest(self, crew: str, key: str, place: int) -> int | None:
        one = self.open[crew][key]
        found = self.laying.earliest(key, one.choice, place)
        if found is None:
            del self.open[crew][key]
        else:
            # A crew's days only fill up, so there is no need to look before this place again.
            one.first = found
        return found

    def _site_of(self, crew: str) -> str | None:
        """Return the site where a crew is; None where it comes from the yard."""
        line, busy, clock = self.problem.lines[crew], self.laying.busy[crew], self.clock[crew]
        if not busy or clock >= line.length:
            return None
        is_same_day = line.index_of_end(busy[-1].over) == bisect_right(line.at, clock) - 1
        return busy[-1].job if is_same_day else None

    def _take(self, one: _Open, place: int) -> None:
        crew, order = one.choice.crew, one.order
        for offered in self.open.values():
            offered.pop(order.key, None)
        self.laying.put(order.key, one.choice, place)
        self.clock[crew] = max(self.clock[crew], place + one.choice.length)
        self._open_next(order)
        if self._is_whole(order):
            for follower in self.dispatch.followers(order.key):
                if not self.laying.laid[follower.key]:
                    self._open_next(follower)


def latest_starts(problem: Problem, order: Order) -> tuple[float, ...]:
    """Return by when each visit of a job has to begin for its days to be kept, in real time.

    It is the crew that has longest which counts; drives and other work are left aside.
    """
    days = [day for day in (order.promised_day, order.due_day) if day is not None]
    found: list[float] = []
    for number in reversed(range(len(order.visits))):
        latest = -float(NEVER)
        for choice in order.visits[number].choices:
            over = _latest_end(problem, choice, number, found, min(days, default=None))
            latest = max(latest, _latest_start(problem, choice, over))
        found.insert(0, latest)
    return tuple(found)


def _latest_end(
    problem: Problem, choice: Choice, number: int, later: list[float], day: int | None
) -> float:
    """Return the last place of a line at which a visit may be over."""
    line = problem.lines[choice.crew]
    if not later:
        if day is None:
            return line.length + NO_HURRY
        return line.at[sum(1 for one in line.stretches if one.day <= day)]
    if later[0] > NO_HURRY:
        return line.length + NO_HURRY
    ready = choice.ready.get(number + 1)
    if ready is None:
        return line.last_until(max(0, int(later[0])))
    # The later it is made, the later it is hard, but for frost; this is about the order only.
    return bisect_right(
        range(1, line.length + 1), later[0], key=lambda over: ready.after(line.ends(over))
    )


def _latest_start(problem: Problem, choice: Choice, over: float) -> float:
    """Return in real time when a visit that is over at a place begins, if not later than it may."""
    line = problem.lines[choice.crew]
    last = choice.starts[-1][1] if choice.starts else 0
    start = min(over - choice.length, last)
    return line.begins(int(start)) if start >= 0 else start
