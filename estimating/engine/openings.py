"""Placing gates along a line: where each opening and its two posts stand, or why it can't."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from estimating.engine.course import STRAIGHT_DEG, Course
from estimating.engine.geometry import to_grid
from estimating.engine.products import product_for
from estimating.engine.result import Finding
from estimating.engine.site import Gate
from firm.measure.lengths import format_ft_in, format_in

# An opening this near the face of a post that stands there anyway hangs on that post.
MEETS_IN = 0.5


@dataclass(frozen=True, kw_only=True, slots=True)
class Opening:
    """A gate where it hangs: the centres of its posts and half the width of each."""

    gate: Gate
    from_in: float
    to_in: float
    half_in: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Leg:
    """A straight stretch that gates must keep within: from hold to hold, faces between."""

    start_in: float
    end_in: float
    starts_at_wall: bool
    ends_at_wall: bool

    def first_face_in(self, half_in: float) -> float:
        """Return where the earliest opening starts: beside the post, or a post off the wall."""
        return self.start_in + half_in * (2 if self.starts_at_wall else 1)

    def last_face_in(self, half_in: float) -> float:
        """Return where the latest opening ends."""
        return self.end_in - half_in * (2 if self.ends_at_wall else 1)


def place_gates(course: Course) -> tuple[list[Opening], list[Finding]]:
    """Place the gates of a line in order; one that can't stand is left out, with a finding."""
    openings: list[Opening] = []
    findings: list[Finding] = []
    legs = _straight_legs(course)
    half_in = product_for(course.system, "gate").width_in / 2
    for gate in sorted(course.line.gates, key=lambda each: each.station_in):
        near_in = course.station_of_tape(gate.station_in)
        leg = _leg_of(legs, near_in, half_in)
        placed = _place(course, gate, near_in, leg, half_in)
        if isinstance(placed, Opening):
            placed = _beside_previous(course, placed, openings)
        if isinstance(placed, Finding):
            findings.append(placed)
            continue
        moved_in = placed.from_in + half_in - near_in
        if abs(moved_in) > 1 / 16:
            findings.append(_moved(course, gate, moved_in))
        openings.append(placed)
    return openings, findings


def _straight_legs(course: Course) -> list[Leg]:
    inner = [
        joint.station_in
        for joint in course.inner_joints.values()
        if abs(joint.turn_deg) > STRAIGHT_DEG
    ]
    stations = [course.first_in, *inner, course.last_in]
    last = len(stations) - 2
    return [
        Leg(
            start_in=start_in,
            end_in=end_in,
            starts_at_wall=i == 0 and course.line.start.kind == "wall",
            ends_at_wall=i == last and course.line.end.kind == "wall",
        )
        for i, (start_in, end_in) in enumerate(pairwise(stations))
    ]


def _leg_of(legs: Sequence[Leg], near_in: float, half_in: float) -> Leg | None:
    """Return the leg in which an opening starts, from one half post before it."""
    for leg in reversed(legs):
        if leg.start_in - half_in <= near_in < leg.end_in:
            return leg
    return None


def _place(
    course: Course, gate: Gate, near_in: float, leg: Leg | None, half_in: float
) -> Opening | Finding:
    opening_in = to_grid(gate.clear_opening_in)
    if leg is None:
        return _off_line(course, gate)
    first_face_in, last_face_in = leg.first_face_in(half_in), leg.last_face_in(half_in)
    room_in = last_face_in - first_face_in
    if opening_in > room_in + 1e-9:
        return _too_long(course, gate, room_in)
    if near_in < first_face_in + MEETS_IN:
        near_in = first_face_in
    over_in = near_in + opening_in - last_face_in
    if over_in > 2 * half_in + MEETS_IN:
        return _across_corner(course, gate, leg)
    if over_in > -MEETS_IN:
        near_in = last_face_in - opening_in
    return Opening(
        gate=gate,
        from_in=to_grid(near_in - half_in),
        to_in=to_grid(near_in + opening_in + half_in),
        half_in=half_in,
    )


def _beside_previous(
    course: Course, opening: Opening, before: Sequence[Opening]
) -> Opening | Finding:
    """Return the opening, moved onto the previous gate's post where the two share one."""
    if not before:
        return opening
    between_in = opening.from_in - before[-1].to_in
    if abs(between_in) <= MEETS_IN:
        return Opening(
            gate=opening.gate,
            from_in=before[-1].to_in,
            to_in=opening.to_in - between_in,
            half_in=opening.half_in,
        )
    if between_in < 0:
        return _overlap(course, opening.gate, before[-1].gate)
    return opening


def gate_place(course: Course, gate: Gate) -> str:
    """Return how a finding names a gate."""
    return f"line {course.line.id}, gate {gate.id}, station {format_ft_in(gate.station_in)}"


def _off_line(course: Course, gate: Gate) -> Finding:
    return Finding(
        code="gate-off-line",
        severity="stop",
        message=f"Gate {gate.id} starts outside line {course.line.id}, so it is left out.",
        place=gate_place(course, gate),
        figure=format_ft_in(gate.station_in),
        limit=f"0 to {format_ft_in(course.last_in)}",
        action="Give the station of the opening's near face, measured from the line's start.",
    )


def _too_long(course: Course, gate: Gate, room_in: float) -> Finding:
    return Finding(
        code="gate-longer-than-leg",
        severity="stop",
        message=f"Gate {gate.id} is longer than the leg it stands in, so it is left out.",
        place=gate_place(course, gate),
        figure=f"{format_in(gate.clear_opening_in)} clear opening",
        limit=f"{format_in(max(0.0, room_in))} between the posts of the leg",
        action="Check the clear opening and the leg's length, or move the gate to a longer leg.",
    )


def _across_corner(course: Course, gate: Gate, leg: Leg) -> Finding:
    return Finding(
        code="gate-across-corner",
        severity="stop",
        message=f"Gate {gate.id} reaches past the end of its leg, so it is left out.",
        place=gate_place(course, gate),
        figure=f"opening ends at {format_ft_in(gate.station_in + gate.clear_opening_in)}",
        limit=f"the leg ends at {format_ft_in(leg.end_in)}",
        action="Move the gate back until its opening ends at the face of the post there.",
    )


def _overlap(course: Course, gate: Gate, other: Gate) -> Finding:
    return Finding(
        code="gates-overlap",
        severity="stop",
        message=f"Gates {other.id} and {gate.id} overlap, so {gate.id} is left out.",
        place=gate_place(course, gate),
        figure=f"{gate.id} starts at {format_ft_in(gate.station_in)}",
        limit=f"{other.id} ends at {format_ft_in(other.station_in + other.clear_opening_in)}",
        action="Leave room for a post between the two openings.",
    )


def _moved(course: Course, gate: Gate, moved_in: float) -> Finding:
    towards = "end" if moved_in > 0 else "start"
    return Finding(
        code="gate-moved-to-post",
        severity="warn",
        message=(
            f"Gate {gate.id}'s opening was moved {format_in(abs(moved_in))} towards the line's "
            f"{towards}, to the face of the post it hangs beside."
        ),
        place=gate_place(course, gate),
        figure=format_in(abs(moved_in)),
        limit="the opening starts and ends at the faces of its posts",
        action="Check the station of the opening's near face.",
    )
