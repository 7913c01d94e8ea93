"""Findings on gates: leaves, hinges, latches, the posts they hang on and pool barriers."""

from collections.abc import Iterator

from estimating.engine.catalog import GateHardware
from estimating.engine.frames import Frame
from estimating.engine.result import Finding, GateLayout, LineLayout
from estimating.engine.site import Conditions
from estimating.engine.slide_findings import place_of, slide_findings
from firm.measure.lengths import format_in

# Common practice, no source: a gate swings 2 to 4 in above the ground.
LARGEST_RISE_IN = 2.0
POOL_LATCH_HEIGHT_IN = 54.0
LOCAL_CODE = "The local code and licensed people decide."


def gate_findings(conditions: Conditions, frame: Frame, layout: LineLayout) -> Iterator[Finding]:
    """Yield the findings on each gate of a line."""
    if layout.scope != "whole_fence":
        return
    for gate in layout.gates:
        if gate.kind == "slide":
            yield from slide_findings(frame, gate, layout.gates)
        else:
            yield from _leaf_findings(frame, gate)
            yield from _hanging_findings(frame, gate)
            yield from _slope_findings(frame, gate)
        yield from _standing_post(gate)
        if gate.use == "pool" or conditions.pool_barrier:
            yield from _pool_findings(gate)


def _leaf_findings(frame: Frame, gate: GateLayout) -> Iterator[Finding]:
    largest_in = frame.course.system.gate.largest_leaf_in
    if min(gate.widths_in) <= 0:
        yield Finding(
            code="gate-without-leaf",
            severity="stop",
            message=f"Gate {gate.id}'s gaps take up the whole opening, so no leaf is left.",
            place=place_of(gate),
            figure=format_in(min(gate.widths_in)),
            limit="above 0 in",
            action=(
                "Widen the clear opening, or check the gaps of the gate hardware and the width of "
                "the first leaf."
            ),
        )
    elif gate.leaf_in > largest_in:
        yield Finding(
            code="leaf-too-wide",
            severity="warn",
            message=f"A leaf of gate {gate.id} is wider than the fence system allows.",
            place=place_of(gate),
            figure=format_in(gate.leaf_in),
            limit=f"{format_in(largest_in)} a leaf",
            action="Make it a double gate, narrow the opening, or use a gate of its own make.",
        )


def _hanging_findings(frame: Frame, gate: GateLayout) -> Iterator[Finding]:
    is_pair = gate.leaves > 1
    if is_pair != (gate.hinge_side == "both"):
        yield Finding(
            code="hinge-side",
            severity="warn",
            message=f"Gate {gate.id} has {gate.leaves} leaves and hinges on '{gate.hinge_side}'.",
            place=place_of(gate),
            figure=f"hinges on {gate.hinge_side}",
            limit="a pair hinges on both posts, a single leaf on one",
            action="Correct the hinge side or the number of leaves.",
        )
    if not gate.is_post_enough:
        yield Finding(
            code="gate-post-not-strong-enough",
            severity="warn",
            message=(
                f"No gate post of the fence system is listed for a leaf as wide or heavy as that "
                f"of gate {gate.id}; the strongest is counted."
            ),
            place=place_of(gate),
            figure=f"{format_in(gate.leaf_in)} wide, {gate.leaf_lb:.0f} lb",
            limit=_strongest(frame.course.system.gate),
            action=(
                "Make it a pair, or a narrower or lighter leaf; or list a stronger post with its "
                "hole in the fence system, as its maker or an engineer says."
            ),
        )


def _strongest(hardware: GateHardware) -> str:
    """Return how far the strongest listed post is enough."""
    up_to_in, up_to_lb = hardware.usual_post_up_to_leaf_in, hardware.usual_post_up_to_leaf_lb
    if hardware.heavier_posts:
        last = hardware.heavier_posts[-1]
        up_to_in, up_to_lb = last.up_to_leaf_in, last.up_to_leaf_lb
    limits = [
        *([f"{format_in(up_to_in)} wide"] if up_to_in is not None else []),
        *([f"{up_to_lb:g} lb"] if up_to_lb is not None else []),
    ]
    return " and ".join(limits)


def _standing_post(gate: GateLayout) -> Iterator[Finding]:
    if 0 in (gate.from_post, gate.to_post):
        yield Finding(
            code="gate-on-standing-post",
            severity="warn",
            message=f"Gate {gate.id} hangs on or latches to a post that stands already.",
            place=place_of(gate),
            figure=f"leaf of {format_in(gate.leaf_in)}",
            limit="a gate post is stiffened and set for its leaf",
            action="Check that post, or set a new gate post beside it.",
        )


def _slope_findings(frame: Frame, gate: GateLayout) -> Iterator[Finding]:
    course = frame.course
    near = course.elevation_at(gate.station_in)
    rise_in = abs(course.elevation_at(gate.station_in + gate.clear_opening_in) - near)
    if rise_in > LARGEST_RISE_IN:
        yield Finding(
            code="gate-on-slope",
            severity="warn",
            message=f"The ground rises across the opening of gate {gate.id}.",
            place=place_of(gate),
            figure=format_in(rise_in),
            limit=f"{format_in(LARGEST_RISE_IN)} (common practice)",
            action="Check the clearance at the end of the swing, or swing it the other way.",
        )


def _pool_findings(gate: GateLayout) -> Iterator[Finding]:
    yield Finding(
        code="pool-gate",
        severity="warn",
        message=f"Gate {gate.id} belongs to a pool barrier.",
        place=place_of(gate),
        figure=f"swings to the {gate.swing} of the line, latch: {gate.latch}",
        limit="opens away from the pool, closes and latches by itself",
        action=f"Check that the {gate.swing} side is the one away from the pool. {LOCAL_CODE}",
    )
    if gate.latch.strip().lower() in ("", "standard"):
        yield Finding(
            code="pool-latch",
            severity="warn",
            message=f"Gate {gate.id} belongs to a pool barrier and has a standard latch.",
            place=place_of(gate),
            figure=f"latch: {gate.latch or 'none'}",
            limit=(
                f"release {format_in(POOL_LATCH_HEIGHT_IN)} up, or on the pool side at least 3 in "
                "below the top (seen most in model codes)"
            ),
            action=f"Choose a latch that closes by itself. {LOCAL_CODE}",
        )
