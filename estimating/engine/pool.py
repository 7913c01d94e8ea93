"""Pool barriers: a fence's height, gap, openings, rails and latch against a town's rule set.

The figures are those seen most in model codes (ISPSC section 305, a checklist after the consumer
safety commission's, municipal codes); each town has its own, so the set is data. It checks the
drawing and approves nothing.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from firm.measure.lengths import format_in

# A wider mesh may be closed to this by slats (consumer safety commission, publication 362).
SLATTED_MESH = "1-3/4 in"

Infill = Literal["boards", "pickets", "mesh"]
RailsShow = Literal["none", "back", "both"]  # back: on the side away from the finished face
Breach = tuple[str, str, str, str]  # code, sentence, figure, limit


@dataclass(frozen=True, kw_only=True, slots=True)
class PoolRules:
    """One town's rule set. Heights are measured outside the barrier."""

    height_in: float = 48.0
    gap_in: float = 2.0  # under the barrier, over soil
    sphere_in: float = 4.0  # none of this size passes any opening
    rails_apart_in: float = 45.0  # tops nearer than this can be climbed
    picket_gap_in: float = 1.75  # beside rails that can be climbed
    mesh_in: float = 1.25  # consumer safety commission, publication 362
    latch_in: float = 54.0  # a lower release has to be on the pool's side
    latch_below_top_in: float = 3.0
    latch_opening_in: float = 0.5  # no larger opening near such a release
    clear_zone_in: float = 36.0  # outside, free of what can be climbed; from memory


@dataclass(frozen=True, kw_only=True, slots=True)
class Barrier:
    """A fence system's infill as a child's hands and feet meet it.

    `opening_in` is the clear opening between boards, pickets or wires; `rails_apart_in` the
    distance between the tops of neighbouring rails, 0 where a foot finds none.
    """

    infill: Infill
    opening_in: float = 0.0
    rails_apart_in: float = 0.0
    rails_show: RailsShow = "none"


def breaches(
    barrier: Barrier,
    rules: PoolRules,
    *,
    height_in: float,
    gap_in: float,
    rails_on_pool_side: bool,
) -> Iterator[Breach]:
    """Yield what a fence breaks of a rule set: code, sentence, figure and limit."""
    if height_in < rules.height_in:
        yield (
            "pool-height",
            "The fence is too low for a pool barrier.",
            format_in(height_in),
            f"at least {format_in(rules.height_in)}, measured outside",
        )
    if gap_in > rules.gap_in:
        yield (
            "pool-bottom-gap",
            "The gap under the fence is too large for a pool barrier.",
            format_in(gap_in),
            f"at most {format_in(rules.gap_in)} over soil",
        )
    yield from _opening_breaches(barrier, rules, rails_on_pool_side=rails_on_pool_side)


def _opening_breaches(
    barrier: Barrier, rules: PoolRules, *, rails_on_pool_side: bool
) -> Iterator[Breach]:
    opening = format_in(barrier.opening_in)
    if barrier.infill == "mesh":
        if barrier.opening_in > rules.mesh_in:
            yield (
                "pool-mesh",
                "The mesh is wide enough for a foot, so it can be climbed.",
                f"{opening} mesh",
                f"at most {format_in(rules.mesh_in)}, or slats that leave at most {SLATTED_MESH}",
            )
        return
    if barrier.opening_in >= rules.sphere_in:
        yield (
            "pool-opening",
            f"A ball of {format_in(rules.sphere_in)} passes through the fence.",
            f"{opening} clear",
            f"under {format_in(rules.sphere_in)}",
        )
    if barrier.rails_show == "none" or not 0 < barrier.rails_apart_in < rules.rails_apart_in:
        return
    rails = format_in(barrier.rails_apart_in)
    if not rails_on_pool_side:
        yield (
            "pool-rails",
            "The rails can be climbed from outside the pool.",
            f"tops {rails} apart",
            f"at least {format_in(rules.rails_apart_in)} apart, or on the pool's side",
        )
    elif barrier.opening_in > rules.picket_gap_in:
        yield (
            "pool-picket-gap",
            "Rails so near each other want narrower gaps between pickets.",
            f"{opening} clear, tops of rails {rails} apart",
            f"gaps of at most {format_in(rules.picket_gap_in)}",
        )


def latch_breaches(
    barrier: Barrier,
    rules: PoolRules,
    *,
    top_in: float,
    latch_in: float,
    latch_on_pool_side: bool,
) -> Iterator[Breach]:
    """Yield what a gate's latch breaks: `latch_in` and `top_in` are heights over the ground."""
    if latch_in >= rules.latch_in:
        return
    if not latch_on_pool_side:
        yield (
            "pool-latch-height",
            "The latch's release can be reached from outside.",
            f"{format_in(latch_in)} high",
            f"at least {format_in(rules.latch_in)}, or on the pool's side",
        )
        return
    below_in = top_in - latch_in
    if below_in < rules.latch_below_top_in:
        yield (
            "pool-latch-height",
            "The latch's release on the pool's side is too near the gate's top.",
            f"{format_in(max(0.0, below_in))} below the top",
            f"at least {format_in(rules.latch_below_top_in)} below",
        )
    if barrier.opening_in > rules.latch_opening_in:
        yield (
            "pool-latch-opening",
            "A hand reaches the latch's release through the infill.",
            f"{format_in(barrier.opening_in)} clear",
            f"no opening over {format_in(rules.latch_opening_in)} within 18 in of the release",
        )
