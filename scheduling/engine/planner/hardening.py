"""What hardens before work goes on: asked once for each moment at which it may have been made."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

from scheduling.engine.planner.lines import Line


@dataclass(frozen=True, slots=True, eq=False)
class Hardening:
    """From when work may begin on what was made up to some moment, both in units of real time.

    A moment beyond the plan's last is never.
    """

    ask: Callable[[int], int]
    _after: dict[int, int] = field(default_factory=dict)
    _by_line: dict[tuple[str, Line], tuple[int, ...]] = field(default_factory=dict)

    def after(self, made: int) -> int:
        """Return from when work may begin."""
        found = self._after.get(made)
        if found is None:
            found = self._after[made] = self.ask(made)
        return found

    def soonest(self, line: Line) -> tuple[int, ...]:
        """Return for each stretch of a line the soonest moment, made at its best time there.

        That is not always its first: what is made before a frost may never be hard.
        """
        return self._least("soonest", line, self.after)

    def shortest(self, line: Line) -> tuple[int, ...]:
        """Return for each stretch of a line the shortest wait of what is made there."""
        return self._least("shortest", line, lambda made: self.after(made) - made)

    def _least(self, name: str, line: Line, worth: Callable[[int], int]) -> tuple[int, ...]:
        if (name, line) not in self._by_line:
            self._by_line[name, line] = tuple(min(map(worth, made)) for made in _moments(line))
        return self._by_line[name, line]


def _moments(line: Line) -> Iterator[tuple[int, ...]]:
    """Yield for each stretch of a line the moments at which work may be over there."""
    for one in line.stretches:
        yield tuple(one.begins + one.real_from(worked) for worked in range(1, one.length + 1))
