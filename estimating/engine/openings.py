"""Placing gates along a line: where each opening and its two posts stand, or why it can't."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from estimating.engine.catalog import FenceSystem, SlideGate
from estimating.engine.course import STRAIGHT_DEG, Course
from estimating.engine.geometry import to_grid
from estimating.engine.leaves import GatePosts, posts_beside, stronger_of, tail_in
from estimating.engine.products import SLIDE, product_for
from estimating.engine.result import Finding
from estimating.engine.site import Gate
from firm.measure.lengths import format_ft_in, format_in

# An opening this near the face of a post that stands there anyway hangs on that post.
MEETS_IN = 0.5


@dataclass(frozen=True, kw_only=True, slots=True)
class Opening:
    """A gate where it hangs: the centres of its posts, half the width of each, and their sizes.

    `roller_in` is the station of a slide gate's second post with rollers.
    """

    gate: Gate
    from_in: float
    to_in: float
    from_half_in: float
    to_half_in: float
    posts: GatePosts
    roller_in: float | None = None

    @property
    def faces_in(self) -> tuple[float, float]:
        """Return where the clear opening begins and ends."""
        return self.from_in + self.from_half_in, self.to_in - self.to_half_in

    @property
    def sizes(self) -> dict[float, str]:
        """Return the size of each post of the gate, by its station."""
        rollers = {} if self.roller_in is None else {self.roller_in: SLIDE}
        return {self.from_in: self.posts.near, self.to_in: self.posts.far} | rollers


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
    for gate in sorted(course.line.gates, key=lambda each: each.station_in):
        near_in = course.station_of_tape(gate.station_in)
        placed = _placed(course, gate, near_in, legs, openings)
        if isinstance(placed, Finding):
            findings.append(placed)
            continue
        moved_in = placed.faces_in[0] - near_in
        if abs(moved_in) > 1 / 16:
            findings.append(_moved(course, gate, moved_in))
        openings.append(placed)
    return _without_crossed(course, openings, findings), findings


def _placed(
    course: Course, gate: Gate, near_in: float, legs: Sequence[Leg], openings: list[Opening]
) -> Opening | Finding:
    """Return a gate in its place; a neighbour that shares a heavier post is set anew."""
    system = course.system
    if gate.kind == "slide" and system.gate.slide is None:
        return _no_slide(course, gate)
    posts = posts_beside(system, gate)
    halves = _halves_in(system, posts)
    leg = _leg_of(legs, near_in, halves[0])
    if leg is None:
        return _off_line(course, gate)
    placed = _place(course, gate, near_in, leg, posts, halves)
    if isinstance(placed, Opening) and openings:
        placed = _beside_previous(course, placed, openings)
    if isinstance(placed, Opening) and system.gate.slide is not None and gate.kind == "slide":
        placed = _with_rollers(course, placed, leg, system.gate.slide)
    return placed


def _halves_in(system: FenceSystem, posts: GatePosts) -> tuple[float, float]:
    near, far = (product_for(system, "gate", size) for size in (posts.near, posts.far))
    return near.width_in / 2, far.width_in / 2


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
    course: Course,
    gate: Gate,
    near_in: float,
    leg: Leg,
    posts: GatePosts,
    halves: tuple[float, float],
) -> Opening | Finding:
    opening_in = to_grid(gate.clear_opening_in)
    from_half_in, to_half_in = halves
    first_face_in, last_face_in = leg.first_face_in(from_half_in), leg.last_face_in(to_half_in)
    room_in = last_face_in - first_face_in
    if opening_in > room_in + 1e-9:
        return _too_long(course, gate, room_in)
    if near_in < first_face_in + MEETS_IN:
        near_in = first_face_in
    over_in = near_in + opening_in - last_face_in
    if over_in > 2 * to_half_in + MEETS_IN:
        return _across_corner(course, gate, leg)
    if over_in > -MEETS_IN:
        near_in = last_face_in - opening_in
    return Opening(
        gate=gate,
        from_in=to_grid(near_in - from_half_in),
        to_in=to_grid(near_in + opening_in + to_half_in),
        from_half_in=from_half_in,
        to_half_in=to_half_in,
        posts=posts,
    )


def _beside_previous(course: Course, opening: Opening, before: list[Opening]) -> Opening | Finding:
    """Return the opening, moved onto the previous gate's post where the two share one.

    A shared post is the stronger of what the two ask for.
    """
    previous = before[-1]
    system = course.system
    size = stronger_of(system, previous.posts.far, opening.posts.near)
    half_in = product_for(system, "gate", size).width_in / 2
    between_in = opening.faces_in[0] - previous.faces_in[1] - 2 * half_in
    if abs(between_in) <= MEETS_IN:
        shared_in = to_grid(previous.faces_in[1] + half_in)
        before[-1] = replace(
            previous,
            to_in=shared_in,
            to_half_in=half_in,
            posts=replace(previous.posts, far=size),
        )
        return replace(
            opening,
            from_in=shared_in,
            to_in=to_grid(opening.to_in - between_in),
            from_half_in=half_in,
            posts=replace(opening.posts, near=size),
        )
    if between_in < 0:
        return _overlap(course, opening.gate, previous.gate)
    return opening


def _with_rollers(
    course: Course, opening: Opening, leg: Leg, slide: SlideGate
) -> Opening | Finding:
    """Return a slide gate with its second roller post, back along the fence behind the first."""
    apart_in = to_grid(tail_in(opening.gate, slide) - slide.tail_grip_in)
    at_end = opening.gate.hinge_side == "end"
    roller_in = opening.to_in + apart_in if at_end else opening.from_in - apart_in
    half_in = slide.post.width_in / 2
    first_in = leg.start_in + (half_in if leg.starts_at_wall else 0.0)
    last_in = leg.end_in - (half_in if leg.ends_at_wall else 0.0)
    if apart_in < slide.post.width_in or not first_in <= roller_in <= last_in:
        room_in = last_in - opening.to_in if at_end else opening.from_in - first_in
        return _no_room(course, opening.gate, apart_in, room_in)
    return replace(opening, roller_in=roller_in)


def _without_crossed(
    course: Course, openings: Sequence[Opening], findings: list[Finding]
) -> list[Opening]:
    """Return the openings but the slide gates whose second roller post would stand in another."""
    kept = []
    for opening in openings:
        crossed = [
            each
            for each in openings
            if opening.roller_in is not None and each.from_in < opening.roller_in < each.to_in
        ]
        if crossed:
            findings.append(_rollers_in_opening(course, opening.gate, crossed[0].gate))
        else:
            kept.append(opening)
    return kept


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


def _no_slide(course: Course, gate: Gate) -> Finding:
    return Finding(
        code="no-slide-gate",
        severity="stop",
        message=f"{course.system.name} has no slide gate, so gate {gate.id} is left out.",
        place=gate_place(course, gate),
        figure="kind: slide",
        action="Add the slide gate's figures to the fence system, or choose a gate that swings.",
    )


def _no_room(course: Course, gate: Gate, apart_in: float, room_in: float) -> Finding:
    return Finding(
        code="slide-gate-without-room",
        severity="stop",
        message=(
            f"The leg has no room for both roller posts of gate {gate.id}, so it is left out."
        ),
        place=gate_place(course, gate),
        figure=f"{format_ft_in(max(0.0, room_in))} beside the opening",
        limit=f"{format_ft_in(apart_in)} between the roller posts",
        action="Store the leaf on the other side, move the opening, or choose a pair that swings.",
    )


def _rollers_in_opening(course: Course, gate: Gate, other: Gate) -> Finding:
    return Finding(
        code="roller-post-in-opening",
        severity="stop",
        message=(
            f"The second roller post of gate {gate.id} would stand in the opening of gate "
            f"{other.id}, so {gate.id} is left out."
        ),
        place=gate_place(course, gate),
        figure=f"{other.id} begins at {format_ft_in(other.station_in)}",
        action=f"Store the leaf on the other side, or move gate {other.id}.",
    )
