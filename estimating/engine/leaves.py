"""The leaves of a gate: their widths, weights and hinges, and the post that is strong enough."""

from dataclasses import dataclass

from estimating.engine.catalog import FenceSystem, GateHardware, SlideGate
from estimating.engine.geometry import to_grid
from estimating.engine.products import SLIDE
from estimating.engine.site import Gate
from estimating.engine.trace import Step
from firm.measure.lengths import format_in
from firm.measure.units import IN_PER_FT

PRACTICE = "fence system's gate hardware"
USUAL = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class GatePosts:
    """Which size of post stands at either side of a gate, why, and whether each is enough."""

    near: str
    far: str
    is_enough: bool
    trace: tuple[Step, ...]


def leaf_widths_in(gate: Gate, hardware: GateHardware) -> tuple[float, ...]:
    """Return the width of each leaf, from the near side on.

    A pair hinges on both posts and latches in the middle. A slide gate's one leaf is its whole
    length: opening, lap at the latch post, and tail.
    """
    opening_in = gate.clear_opening_in
    if gate.kind == "slide" and hardware.slide is not None:
        return (opening_in + hardware.slide.overlap_in + tail_in(gate, hardware.slide),)
    if gate.leaves == 1:
        return (opening_in - hardware.hinge_gap_in - hardware.latch_gap_in,)
    left_in = opening_in - 2 * hardware.hinge_gap_in - (gate.leaves - 1) * hardware.centre_gap_in
    if gate.first_leaf_in is None:
        return (left_in / gate.leaves,) * gate.leaves
    return (gate.first_leaf_in, left_in - gate.first_leaf_in)


def tail_in(gate: Gate, slide: SlideGate) -> float:
    """Return the tail that balances a slide gate's leaf, to the sixteenth."""
    return to_grid(gate.clear_opening_in * slide.tail_pct / 100)


def leaf_lb(system: FenceSystem, width_in: float) -> float:
    """Return what a leaf weighs: its area by the system's weight of a square foot."""
    lb_ft2 = system.wind.leaf_lb_ft2 if system.wind else 0.0
    return max(0.0, width_in) / IN_PER_FT * system.height_in / IN_PER_FT * lb_ft2


def hinges_on(system: FenceSystem, width_in: float) -> int:
    """Return the hinges of a leaf: two, or three where it is tall, wide or heavy."""
    hardware = system.gate
    over = (
        (system.height_in, hardware.third_hinge_over_height_in),
        (width_in, hardware.third_hinge_over_leaf_in),
        (leaf_lb(system, width_in), hardware.third_hinge_over_leaf_lb),
    )
    return 3 if any(limit is not None and value > limit for value, limit in over) else 2


def posts_beside(system: FenceSystem, gate: Gate) -> GatePosts:
    """Return the posts of a gate: the hinge post by its leaf, the latch post the usual one."""
    if gate.kind == "slide":
        return GatePosts(near=SLIDE, far=SLIDE, is_enough=True, trace=_slide_steps(system, gate))
    widths = leaf_widths_in(gate, system.gate)
    near, far, is_enough, steps = USUAL, USUAL, True, [_leaf_step(system, gate, widths)]
    if gate.hinge_side != "end":
        near, near_enough, step = _hinge_post(system, widths[0], "near")
        is_enough, steps = near_enough, [*steps, step]
    if gate.hinge_side != "start":
        far, far_enough, step = _hinge_post(system, widths[-1], "far")
        is_enough, steps = is_enough and far_enough, [*steps, step]
    return GatePosts(near=near, far=far, is_enough=is_enough, trace=tuple(steps))


def stronger_of(system: FenceSystem, one: str, other: str) -> str:
    """Return the stronger of two sizes of post, for one that two gates share."""
    sizes = [USUAL, *(each.key for each in system.gate.heavier_posts), SLIDE]
    return max(one, other, key=lambda size: sizes.index(size) if size in sizes else 0)


def _hinge_post(system: FenceSystem, width_in: float, side: str) -> tuple[str, bool, Step]:
    """Return the first post that is enough for a leaf, else the strongest there is."""
    hardware = system.gate
    weight_lb = leaf_lb(system, width_in)
    listed = [
        (USUAL, hardware.usual_post_up_to_leaf_in, hardware.usual_post_up_to_leaf_lb),
        *((each.key, each.up_to_leaf_in, each.up_to_leaf_lb) for each in hardware.heavier_posts),
    ]
    enough = [each for each in listed if _within(width_in, each[1]) and _within(weight_lb, each[2])]
    size, up_to_in, up_to_lb = (enough or listed[-1:])[0]
    limits = [
        *([f"{format_in(up_to_in)} wide"] if up_to_in is not None else []),
        *([f"{up_to_lb:g} lb"] if up_to_lb is not None else []),
    ]
    step = Step(
        rule=f"{side} hinge post: {size.replace('_', ' ') or 'the usual gate post'}",
        inputs=(
            f"leaf {format_in(width_in)} wide, {weight_lb:.0f} lb; "
            + (f"good for a leaf to {' and '.join(limits)}" if limits else "no limit is given")
            + ("" if enough else "; no listed post is strong enough")
        ),
        source=PRACTICE,
    )
    return size, bool(enough), step


def _within(value: float, limit: float | None) -> bool:
    return limit is None or value <= limit + 1e-9


def _leaf_step(system: FenceSystem, gate: Gate, widths: tuple[float, ...]) -> Step:
    hardware = system.gate
    opening = format_in(gate.clear_opening_in)
    if gate.leaves == 1:
        gaps = (
            f"{format_in(hardware.hinge_gap_in)} hinge - {format_in(hardware.latch_gap_in)} latch"
        )
        return Step(
            rule="leaf", inputs=f"{opening} - {gaps} = {format_in(widths[0])}", source=PRACTICE
        )
    hinge, centre = format_in(hardware.hinge_gap_in), format_in(hardware.centre_gap_in)
    return Step(
        rule="leaves",
        inputs=(
            f"{opening} - 2 x {hinge} hinge - {centre} centre = "
            f"{' + '.join(format_in(width) for width in widths)}"
        ),
        source=PRACTICE,
    )


def _slide_steps(system: FenceSystem, gate: Gate) -> tuple[Step, ...]:
    slide = system.gate.slide
    if slide is None:
        return ()
    tail = tail_in(gate, slide)
    (leaf,) = leaf_widths_in(gate, system.gate)
    return (
        Step(
            rule="tail",
            inputs=(
                f"{slide.tail_pct:g} % of {format_in(gate.clear_opening_in)} = {format_in(tail)}"
            ),
            source=PRACTICE,
        ),
        Step(
            rule="leaf",
            inputs=(
                f"{format_in(gate.clear_opening_in)} + {format_in(slide.overlap_in)} lap + "
                f"{format_in(tail)} tail = {format_in(leaf)}"
            ),
            source=PRACTICE,
        ),
        Step(
            rule="roller posts, centre to centre",
            inputs=(
                f"{format_in(tail)} tail - {format_in(slide.tail_grip_in)} that stays behind = "
                f"{format_in(tail - slide.tail_grip_in)}"
            ),
            source=PRACTICE,
        ),
    )
