"""Which bays follow the ground and which stand level, along a row of bays: the fewest steps.

A bay that follows the ground stands on the ground of both its posts. A level bay stands at one
height. A step is a post at which two bays stand at different heights. Of all choices inside the
limits the one with the fewest steps is taken, then the one with the least extra post length: a
post carries the taller of its two bays. Heights are whole sixteenths of an inch.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice

# Over so many bays a run at one height may be parted, so that time grows with the bays alone.
MOST_AT_ONE_HEIGHT = 40


@dataclass(frozen=True, kw_only=True, slots=True)
class Choices:
    """What one bay may do: follow the ground, and stand level between two heights (or neither).

    A level bay stands no lower than the ground of its posts, so `lowest` is at least that.
    """

    may_follow: bool
    lowest: int = 1
    highest: int = 0

    @property
    def may_be_level(self) -> bool:
        """Say whether there is a height at which the bay may stand level."""
        return self.lowest <= self.highest


@dataclass(slots=True)
class _State:
    """The best way to a post: steps, extra length of the posts before it, what stands there.

    `first` is the first bay of the last part of that way: one bay that follows the ground
    (`height` None), or level bays at one height.
    """

    steps: int
    extra: int
    base: int
    first: int
    height: int | None
    before: "_State | None"


def choose(ground: Sequence[int], bays: Sequence[Choices]) -> list[int | None]:
    """Return the height of each level bay, None for a bay that follows the ground.

    `ground` has the height at every post, one more than there are bays. Every bay must be able
    to follow or to stand level. Found by dynamic programming over the posts: a part that ends at
    a post is one bay that follows, or level bays at the least height that is open to all of them.
    No run of level bays is tried in which every bay could follow instead: following then takes no
    more steps and no longer posts.
    """
    if all(bay.may_follow for bay in bays):
        return [None] * len(bays)
    ways: list[list[_State]] = [[] for _ in ground]
    ways[0] = [_State(0, 0, ground[0], 0, None, None)]
    fewest = [len(bays)] * len(ground)
    for post, bay in enumerate(bays):
        states = _worth_keeping(ways[post], ground[post])
        if bay.may_follow:
            steps, extra, before = _joined(states, post, ground[post], ground)
            ways[post + 1].append(_State(steps, extra, ground[post + 1], post, None, before))
        joined: dict[int, tuple[int, int, _State]] = {}
        for end, height, inside in _level_runs(ground, bays, post):
            if height not in joined:
                joined[height] = _joined(states, post, height, ground)
            steps, extra, before = joined[height]
            # What a way with fewer steps beats at once is not even kept until its post is met.
            fewest[end] = min(fewest[end], steps)
            if steps <= fewest[end] + (height == ground[end]):
                ways[end].append(_State(steps, extra + inside, height, post, height, before))
    last = min(ways[-1], key=lambda each: (each.steps, each.extra + each.base - ground[-1]))
    return _heights(last, len(bays))


def _joined(
    states: Sequence[_State], post: int, base: int, ground: Sequence[int]
) -> tuple[int, int, _State]:
    """Return the steps and extra of the best way on to a part that starts at a height, and it."""

    def cost(state: _State) -> tuple[int, int]:
        is_step = post > 0 and state.base != base
        return state.steps + is_step, state.extra + max(state.base, base) - ground[post]

    best = min(states, key=cost)
    return (*cost(best), best)


def _level_runs(
    ground: Sequence[int], bays: Sequence[Choices], first: int
) -> Iterator[tuple[int, int, int]]:
    """Yield the runs of level bays from a bay on: the post each ends at, its height, the extra.

    The extra is what the posts inside the run are longer by.
    """
    lowest, highest = bays[first].lowest, bays[first].highest
    inside, needed = 0, False
    for count, bay in enumerate(islice(bays, first, first + MOST_AT_ONE_HEIGHT)):
        lowest, highest = max(lowest, bay.lowest), min(highest, bay.highest)
        if lowest > highest:
            return
        needed = needed or not bay.may_follow
        if needed:
            yield first + count + 1, lowest, count * lowest - inside
        inside += ground[first + count + 1]


def _worth_keeping(states: Sequence[_State], ground: int) -> list[_State]:
    """Return the ways to a post of which none is at least as good as another on every way on.

    Whatever follows, a way that ends over the ground takes a step more, and one that ends at the
    ground may take none: so of those with one step more than the fewest only these are kept.
    """
    if len(states) < 2:
        return list(states)
    fewest = min(state.steps for state in states)
    kept: list[_State] = []
    for state in sorted(states, key=lambda each: (each.steps, each.extra, each.base)):
        is_late = state.steps > fewest
        if is_late and (state.steps > fewest + 1 or state.base != ground):
            continue
        if not any(_is_as_good(other, state, ground) for other in kept):
            kept.append(state)
    return kept


def _is_as_good(one: _State, other: _State, ground: int) -> bool:
    """Say whether one way is as good as another (of no fewer steps) whatever comes after."""
    if one.base == other.base:
        return True
    if one.steps < other.steps:
        return one.extra + one.base - ground <= other.extra + other.base - ground
    return other.base != ground and one.extra + max(0, one.base - other.base) <= other.extra


def _heights(last: _State, count: int) -> list[int | None]:
    heights: list[int | None] = [None] * count
    end, state = count, last
    while state.before is not None:
        for index in range(state.first, end):
            heights[index] = state.height
        end, state = state.first, state.before
    return heights
