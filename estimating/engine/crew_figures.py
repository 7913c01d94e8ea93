"""What a crew tapes at each post from the string it sets to: post tops, hole bottoms, lengths.

Layouts that don't say how their bays stand on the ground have the string pulled straight from
corner to corner, at the same height over the ground at both ends of the stretch. Post tops stand
a constant height over it, whatever the ground does in between.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from firm.measure.units import round_up_to_half

# Posts of one leg stand in line to a thousandth of an inch; the least turn anyone measures is more.
STRAIGHT_RAD = math.radians(0.01)


@dataclass(frozen=True, kw_only=True, slots=True)
class Stake:
    """A place the string passes or is tied at: where it is in plan, how high its ground lies."""

    x_in: float
    y_in: float
    ground_in: float


@dataclass(frozen=True, kw_only=True, slots=True)
class StringPost:
    """One post on the string. `top_over_ground_in` is how high its top stands on level ground."""

    number: int
    stake: Stake
    top_over_ground_in: float
    hole_depth_in: float
    gravel_in: float = 0.0


@dataclass(frozen=True, kw_only=True, slots=True)
class PostFigures:
    """One post against the string. The hole keeps its depth below its own ground.

    `needed_length_in` reaches from the gravel to the top; over a dip it is more than on the level.
    """

    string_over_ground_in: float
    top_above_string_in: float
    string_to_bottom_in: float
    needed_length_in: float


def post_figures(
    posts: Sequence[StringPost],
    *,
    string_height_in: float,
    before: Stake | None = None,
    after: Stake | None = None,
) -> dict[int, PostFigures]:
    """Return the figures of a line's posts, given in the line's order, by number.

    `before` and `after` are where the string is tied beyond the line's own posts: at a post that
    belongs to another line, or at a closed line's first post.
    """
    stakes = [post.stake for post in posts]
    if before is not None:
        stakes.insert(0, before)
    if after is not None:
        stakes.append(after)
    over_ground = _string_over_ground(stakes, string_height_in)
    own = over_ground[1:] if before is not None else over_ground
    return {
        post.number: figures_under(post, over_in, lift_in=over_in - string_height_in)
        for post, over_in in zip(posts, own, strict=False)
    }


def bag_share(concrete_ft3: float, *, waste_factor: float, yield_ft3: float) -> float:
    """Return one post's bags with its share of the waste, rounded up to the half bag."""
    if yield_ft3 <= 0:
        return 0.0
    return round_up_to_half(concrete_ft3 * waste_factor / yield_ft3)


def figures_under(post: StringPost, over_in: float, *, lift_in: float) -> PostFigures:
    """Return a post's figures under a string that passes so high over its ground.

    `lift_in` is how much higher its top stands over its own ground than on level ground.
    """
    top_in = post.top_over_ground_in + lift_in - over_in
    bottom_in = over_in + post.hole_depth_in
    return PostFigures(
        string_over_ground_in=over_in,
        top_above_string_in=top_in,
        string_to_bottom_in=bottom_in,
        needed_length_in=top_in + bottom_in - post.gravel_in,
    )


def _string_over_ground(stakes: Sequence[Stake], height_in: float) -> list[float]:
    """Return how high the string passes over each stake's own ground."""
    over = [height_in] * len(stakes)
    for first, last in _stretches(stakes):
        start, end = stakes[first], stakes[last]
        length_in = _apart_in(start, end)
        for i in range(first + 1, last):
            share = _apart_in(start, stakes[i]) / length_in
            string_in = start.ground_in + height_in + share * (end.ground_in - start.ground_in)
            over[i] = string_in - stakes[i].ground_in
    return over


def _stretches(stakes: Sequence[Stake]) -> Iterator[tuple[int, int]]:
    """Yield the first and the last stake of each straight stretch: the string turns between."""
    first = 0
    for i in range(1, len(stakes)):
        is_last = i == len(stakes) - 1
        if is_last or _turns(stakes[i - 1], stakes[i], stakes[i + 1]):
            yield first, i
            first = i


def _turns(before: Stake, here: Stake, after: Stake) -> bool:
    in_x, in_y = here.x_in - before.x_in, here.y_in - before.y_in
    out_x, out_y = after.x_in - here.x_in, after.y_in - here.y_in
    across, along = in_x * out_y - in_y * out_x, in_x * out_x + in_y * out_y
    return abs(math.atan2(across, along)) > STRAIGHT_RAD


def _apart_in(one: Stake, other: Stake) -> float:
    return math.hypot(other.x_in - one.x_in, other.y_in - one.y_in)
