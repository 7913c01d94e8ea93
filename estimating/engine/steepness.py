"""How steep the ground is at each post, bay and gate, and which limit that passes."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

from estimating.engine.catalog import Rates
from estimating.engine.result import LineLayout, Post

Grade = Literal["", "steep", "hand"]
HAIR_PCT = 1e-6  # heights between shots are interpolated; a slope of just 10 % is not over it


@dataclass(frozen=True, kw_only=True, slots=True)
class Steepness:
    """The slope in percent by post number, by line and bay number, and by line and gate.

    A post stands on the steeper of the slopes to its neighbours; ground without shots is level.
    """

    posts: Mapping[int, float] = field(default_factory=dict)
    bays: Mapping[tuple[str, int], float] = field(default_factory=dict)
    gates: Mapping[tuple[str, str], float] = field(default_factory=dict)
    steep_pct: float = math.inf
    hand_pct: float = math.inf

    def grade(self, slope_pct: float) -> Grade:
        """Return which of the firm's limits a slope passes, if any."""
        over_pct = slope_pct - HAIR_PCT
        if over_pct > self.hand_pct:
            return "hand"
        return "steep" if over_pct > self.steep_pct else ""

    def grade_of_post(self, number: int) -> Grade:
        return self.grade(self.posts.get(number, 0.0))

    def grade_of_bay(self, line_id: str, number: int) -> Grade:
        return self.grade(self.bays.get((line_id, number), 0.0))

    def grade_of_gate(self, line_id: str, gate_id: str) -> Grade:
        return self.grade(self.gates.get((line_id, gate_id), 0.0))


def steepness_of(lines: Sequence[LineLayout], rates: Rates) -> Steepness:
    """Return how steep the ground is from post to post, beside the firm's limits."""
    posts = {post.number: post for line in lines for post in line.posts}
    slopes: dict[int, float] = {}
    bays: dict[tuple[str, int], float] = {}
    gates: dict[tuple[str, str], float] = {}
    for line in lines:
        for bay in line.bays:
            bays[line.line_id, bay.number] = _between(posts, (bay.from_post, bay.to_post), slopes)
        for gate in line.gates:
            gates[line.line_id, gate.id] = _between(posts, (gate.from_post, gate.to_post), slopes)
    return Steepness(
        posts=slopes,
        bays=bays,
        gates=gates,
        steep_pct=rates.limits.get("slope.steep_pct", math.inf),
        hand_pct=rates.limits.get("slope.hand_pct", math.inf),
    )


def _between(
    posts: Mapping[int, Post], numbers: tuple[int, int], slopes: dict[int, float]
) -> float:
    """Return the slope between two posts in percent, noted at both; beside a wall it is 0."""
    ends = [posts[number] for number in numbers if number in posts]
    if len(ends) < 2:
        return 0.0
    slope_pct = slope_between_pct(*ends)
    for post in ends:
        slopes[post.number] = max(slope_pct, slopes.get(post.number, 0.0))
    return slope_pct


def slope_between_pct(one: Post, other: Post) -> float:
    """Return rise over level run between two posts, in percent."""
    run_in = math.hypot(other.x_in - one.x_in, other.y_in - one.y_in)
    rise_in = abs(other.elevation_in - one.elevation_in)
    return 100.0 * rise_in / run_in if run_in > 0 else 0.0
