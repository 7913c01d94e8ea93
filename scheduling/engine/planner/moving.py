"""Small changes of the queues: a visit earlier or later, visits or jobs changing their turns."""

import random
from bisect import bisect_left

from scheduling.engine.planner.queues import Change, Move, Queue, Queues

# How many turns a visit goes forward or back by one change.
TURNS = (1, 2, 3, 4)
# How often a job stays with its crew; then, how often two visits change turns; else, how often two
# jobs change crews.
STAYS, SWAPS, EXCHANGES = 0.7, 0.3, 0.5
# How many turns off the same time a job may be put with another crew.
BESIDE = 4


class Moving:
    """Draws changes of queues about a job."""

    def __init__(self, queues: Queues, draw: random.Random) -> None:
        self.queues = queues
        self.tables = queues.tables
        self._draw = draw

    def drawn(self, job: int) -> Move | None:
        """Return a change about a job, None where what was drawn can't be."""
        draw = self._draw
        if len(self.tables.crews) == 1 or draw.random() < STAYS:
            visit = draw.choice(self.tables.visits[job])
            return self._swap(visit) if draw.random() < SWAPS else self._shift(visit)
        if draw.random() < EXCHANGES:
            return self._exchange(job)
        return self._hand_over(job)

    def _shift(self, visit: int) -> Move | None:
        """Put a visit some turns forward or back in its queue."""
        queue, place = self._queue_of(visit)
        low, high = self._free(queue, place)
        turns = self._draw.choice(TURNS)
        low, high = max(low, place - turns), min(high, place + turns)
        if low >= high:
            return None
        to = self._draw.randrange(low, high)
        to += to >= place
        new = queue[:]
        new.insert(to, new.pop(place))
        return self._within(visit, Change(new, min(place, to), max(place, to) + 1))

    def _swap(self, visit: int) -> Move | None:
        """Let two visits of a queue change their turns."""
        queue, place = self._queue_of(visit)
        low, high = self._free(queue, place)
        turns = self._draw.choice(TURNS)
        low, high = max(low, place - turns), min(high, place + turns)
        if low >= high:
            return None
        to = self._draw.randrange(low, high)
        to += to >= place
        least, most = self._free(queue, to)
        if not least <= place <= most:
            return None
        new = queue[:]
        new[place], new[to] = new[to], new[place]
        return self._within(visit, Change(new, min(place, to), max(place, to) + 1))

    def _hand_over(self, job: int) -> Move | None:
        """Give a job to another crew, at about the same time; else one of its visits."""
        visits, able = self.tables.visits[job], self.tables.able[job]
        if not self.tables.orders[job].has_one_crew:
            at = self._draw.randrange(len(visits))
            visits, able = visits[at : at + 1], able[at : at + 1]
        crew = self.queues.crew_of[visits[0]]
        others = [one for one in able[0] if one != crew]
        if not others:
            return None
        to = self._draw.choice(others)
        new, first, behind = self.queues.queues[to][:], 0, 0
        for visit in visits:
            beside = self._beside(visit, to) + self._draw.randint(-BESIDE, BESIDE) // 2
            # Behind the visits before it, which are in already, and before those after it.
            low, high = self._between(new, visit)
            place = max(low, min(high, beside + visit - visits[0]))
            new.insert(place, visit)
            first = place if visit == visits[0] else first
            behind = place + 1
        moved = self.queues.crew_of[:]
        for visit in visits:
            moved[visit] = to
        changes = {to: Change(new, first, behind), crew: self._without(crew, visits)}
        return Move(changes, moved)

    def _exchange(self, job: int) -> Move | None:
        """Let two jobs of different crews change their places."""
        tables, crew_of = self.tables, self.queues.crew_of
        visits = tables.visits[job]
        if not tables.orders[job].has_one_crew:
            return None
        crew = crew_of[visits[0]]
        others = [one for one in tables.able[job][0] if one != crew]
        if not others:
            return None
        to = self._draw.choice(others)
        beside = self._beside(visits[0], to)
        near = {
            tables.job[one]
            for one in self.queues.queues[to][max(0, beside - BESIDE) : beside + BESIDE]
        }
        may = [
            one
            for one in sorted(near)
            if tables.orders[one].has_one_crew and crew in tables.able[one][0]
        ]
        if not may:
            return None
        theirs = tables.visits[self._draw.choice(may)]
        moved = crew_of[:]
        for visit in visits:
            moved[visit] = to
        for visit in theirs:
            moved[visit] = crew
        changes = {crew: self._instead(crew, visits, theirs), to: self._instead(to, theirs, visits)}
        return Move(changes, moved)

    def _instead(self, crew: int, visits: range, others: range) -> Change:
        """Return a crew's queue with the visits of one job in the turns of another's."""
        queue = self.queues.queues[crew]
        places = [queue.index(visit) for visit in visits]
        new: Queue = []
        put = 0
        for place, visit in enumerate(queue):
            if place in places:
                # What one job has more of comes in the last of the other's turns.
                turn = places.index(place)
                is_last = turn == len(places) - 1
                many = len(others) - put if is_last else min(1, len(others) - put)
                new += others[put : put + many]
                put += many
            else:
                new.append(visit)
        return Change(new, places[0], places[-1] + 1 + len(others) - len(visits))

    def _without(self, crew: int, visits: range) -> Change:
        queue = self.queues.queues[crew]
        first, last = queue.index(visits[0]), queue.index(visits[-1])
        new = [visit for visit in queue if visit not in visits]
        return Change(new, first, last + 1 - len(visits))

    def _within(self, visit: int, change: Change) -> Move:
        crew_of = self.queues.crew_of
        return Move({crew_of[visit]: change}, crew_of)

    def _queue_of(self, visit: int) -> tuple[Queue, int]:
        queue = self.queues.queues[self.queues.crew_of[visit]]
        return queue, queue.index(visit)

    def _free(self, queue: Queue, place: int) -> tuple[int, int]:
        """Return the first and last turns of a visit by those of its job in the same queue."""
        low, high = self._between(queue, queue[place])
        return low, high - 1

    def _between(self, queue: Queue, visit: int) -> tuple[int, int]:
        """Return between which places of a queue a visit may go in by those of its job there."""
        low, high = 0, len(queue)
        for one in self.tables.visits[self.tables.job[visit]]:
            if one != visit and one in queue:
                if one < visit:
                    low = queue.index(one) + 1
                else:
                    return low, queue.index(one)
        return low, high

    def _beside(self, visit: int, crew: int) -> int:
        """Return the turn in another crew's queue at the time of a visit."""
        rows = self.queues.rows[crew]
        end = self.queues.ends[visit]
        return bisect_left(rows, end, key=lambda row: self.tables.lines[crew].ends[row.over])
