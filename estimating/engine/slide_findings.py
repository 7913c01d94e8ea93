"""Findings on slide gates: room for the leaf when open, level ground under it, what it passes."""

from collections.abc import Iterator, Sequence

from estimating.engine.course import STRAIGHT_DEG, Course
from estimating.engine.frames import Frame
from estimating.engine.result import Finding, GateLayout
from firm.measure.lengths import format_ft_in, format_in


def place_of(gate: GateLayout) -> str:
    """Return how a finding names a gate that is laid out."""
    return f"line {gate.line_id}, gate {gate.id}, station {format_ft_in(gate.station_in)}"


def slide_findings(
    frame: Frame, gate: GateLayout, gates: Sequence[GateLayout]
) -> Iterator[Finding]:
    """Yield the findings on one slide gate."""
    slide = frame.course.system.gate.slide
    if slide is None:
        return
    yield _by_hand(gate)
    yield from _opening_finding(gate, slide.largest_opening_in)
    yield from _room_finding(frame.course, gate)
    yield from _level_finding(frame.course, gate, slide.overlap_in, slide.largest_rise_in)
    yield from _passed_finding(gate, gates)


def _by_hand(gate: GateLayout) -> Finding:
    """Return the caution; the section numbers of the two standards are from memory."""
    return Finding(
        code="slide-gate-moved-by-hand",
        severity="note",
        message=(
            f"Gate {gate.id} is planned to be moved by hand. A motor on a gate can crush and kill: "
            "a powered gate needs listed safety devices against entrapment and a gate built for "
            "them, and is work for a qualified installer."
        ),
        place=place_of(gate),
        limit="UL 325 and ASTM F2200, for powered gates",
        action="Hang no operator on this gate; have a qualified installer plan a powered one.",
    )


def _opening_finding(gate: GateLayout, largest_in: float) -> Iterator[Finding]:
    if gate.clear_opening_in > largest_in:
        yield Finding(
            code="slide-gate-too-wide",
            severity="warn",
            message=f"Gate {gate.id} is wider than the slide gates that the fence system lists.",
            place=place_of(gate),
            figure=format_ft_in(gate.clear_opening_in),
            limit=format_ft_in(largest_in),
            action="Narrow the opening, slide two leaves apart, or ask a gate's maker.",
        )


def _room_finding(course: Course, gate: GateLayout) -> Iterator[Finding]:
    """Yield what the leaf lacks between its opening and the end of the leg it is stored along."""
    first_in, last_in = _leg_around(course, gate.station_in)
    stored_in = gate.stored_between_in
    over_in = max(first_in - stored_in[0], stored_in[1] - last_in)
    if over_in > 0:
        yield Finding(
            code="slide-gate-short-of-room",
            severity="warn",
            message=(
                f"Open, the leaf of gate {gate.id} reaches {format_in(over_in)} past the end of "
                "the leg it is stored along."
            ),
            place=place_of(gate),
            figure=f"{format_ft_in(gate.leaf_in - over_in)} along the leg",
            limit=f"{format_ft_in(gate.leaf_in)}, the whole leaf",
            action=(
                "Look at what lies beyond: store the leaf on the other side, move the opening, or "
                "choose a pair that swings."
            ),
        )


def _leg_around(course: Course, station_in: float) -> tuple[float, float]:
    turns = [
        joint.station_in
        for joint in course.inner_joints.values()
        if abs(joint.turn_deg) > STRAIGHT_DEG
    ]
    first_in = max([course.first_in, *(each for each in turns if each <= station_in)])
    return first_in, min([course.last_in, *(each for each in turns if each > station_in)])


def _level_finding(
    course: Course, gate: GateLayout, overlap_in: float, largest_rise_in: float
) -> Iterator[Finding]:
    """Yield the rise along the whole travel: grade is read wherever the leaf comes."""
    stored_in = gate.stored_between_in
    lap_in = -overlap_in if gate.hinge_side == "end" else overlap_in
    closed_in = gate.station_in + (0.0 if gate.hinge_side == "end" else gate.clear_opening_in)
    ends = sorted((*stored_in, closed_in + lap_in))
    shots = [course.station_of_tape(shot.station_in) for shot in course.line.ground]
    stations = [ends[0], ends[-1], *(each for each in shots if ends[0] < each < ends[-1])]
    heights = [course.elevation_at(each) for each in stations]
    rise_in = max(heights) - min(heights)
    if rise_in > largest_rise_in:
        yield Finding(
            code="slide-gate-not-level",
            severity="warn",
            message=f"The ground is not level where the leaf of gate {gate.id} travels.",
            place=place_of(gate),
            figure=f"{format_in(rise_in)} between {format_ft_in(ends[0])} and "
            f"{format_ft_in(ends[-1])}",
            limit=f"{format_in(largest_rise_in)} (common practice)",
            action=(
                "Grade the whole travel, hang the leaf high enough over the highest ground, or "
                "choose a pair that swings."
            ),
        )


def _passed_finding(gate: GateLayout, gates: Sequence[GateLayout]) -> Iterator[Finding]:
    first_in, last_in = gate.stored_between_in
    for other in gates:
        other_end_in = other.station_in + other.clear_opening_in
        if other.id != gate.id and other.station_in < last_in and other_end_in > first_in:
            yield Finding(
                code="slide-gate-over-opening",
                severity="warn",
                message=f"Open, the leaf of gate {gate.id} stands in the way of gate {other.id}.",
                place=place_of(gate),
                figure=f"leaf from {format_ft_in(first_in)} to {format_ft_in(last_in)}",
                limit=f"gate {other.id} begins at {format_ft_in(other.station_in)}",
                action=f"Store the leaf on the other side, or move gate {other.id}.",
            )
