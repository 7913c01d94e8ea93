"""Findings on the ground: shots that contradict each other, tape laid on a hill, steep ground."""

import math
from collections.abc import Iterator
from itertools import pairwise

from estimating.engine.frames import Frame
from estimating.engine.result import Finding, LineLayout
from estimating.engine.site import Conditions
from estimating.engine.step_findings import step_findings
from firm.measure.lengths import format_ft_in, format_in

STEEP_PCT = 10.0
# A reference book's figure for a line or grade break that takes a terminal of its own.
GRADE_BREAK_DEG = 30.0
OFF_LINE_TOLERANCE_IN = 0.5


def ground_findings(conditions: Conditions, frame: Frame, layout: LineLayout) -> Iterator[Finding]:
    """Yield the findings on one line's ground."""
    yield from _shot_findings(frame)
    yield from _not_shot(frame)
    yield from _tape_findings(frame)
    yield from _slope_findings(frame, layout)
    yield from step_findings(conditions, frame, layout)
    yield from _break_findings(frame)


def _shot_findings(frame: Frame) -> Iterator[Finding]:
    line = frame.line
    for shot in frame.course.odd_shots:
        yield Finding(
            code="ground-shots-contradict",
            severity="warn",
            message="A ground shot contradicts the one before it, so it is left out.",
            place=f"line {line.id}, station {format_ft_in(shot.station_in)}",
            figure=f"height {format_in(shot.elevation_in)}",
            limit="one height a station, and no rise longer than the tape between two shots",
            action="Check the shot's station and height.",
        )
    length_in = sum(leg.length_in for leg in line.legs)
    for shot in line.ground:
        if not -OFF_LINE_TOLERANCE_IN <= shot.station_in <= length_in + OFF_LINE_TOLERANCE_IN:
            yield Finding(
                code="ground-shot-off-line",
                severity="warn",
                message="A ground shot lies outside its line.",
                place=f"line {line.id}, station {format_ft_in(shot.station_in)}",
                figure=format_ft_in(shot.station_in),
                limit=f"0 to {format_ft_in(length_in)}",
                action="Check the shot's station.",
            )


def _not_shot(frame: Frame) -> Iterator[Finding]:
    """Yield the ends that no shot comes near: there the ground counts as level."""
    line, shots = frame.line, sorted(shot.station_in for shot in frame.line.ground)
    if not shots:
        return
    length_in = sum(leg.length_in for leg in line.legs)
    for from_in, to_in in ((0.0, shots[0]), (shots[-1], length_in)):
        if to_in - from_in > frame.course.system.max_on_centre_in:
            yield Finding(
                code="ground-not-shot",
                severity="warn",
                message="Here the ground was not shot, so it counts as level.",
                place=f"line {line.id}, station {format_ft_in(from_in)} to {format_ft_in(to_in)}",
                figure=f"{format_ft_in(to_in - from_in)} without a shot",
                limit="a shot within one bay of each end",
                action="Take a shot at the line's end.",
            )


def _tape_findings(frame: Frame) -> Iterator[Finding]:
    line, system = frame.line, frame.course.system
    if line.taped == "along_grade" and system.spacing == "level" and len(line.ground) < 2:
        yield Finding(
            code="taped-along-grade-without-shots",
            severity="warn",
            message="The line was taped along the grade, and no ground shots say how steep it is.",
            place=f"line {line.id}",
            figure=f"{format_ft_in(frame.course.last_in)} on the tape",
            limit="panels are spaced level, and a tape laid on a hill reads too long",
            action="Take ground shots, or tape the line level.",
        )


def _slope_findings(frame: Frame, layout: LineLayout) -> Iterator[Finding]:
    """Yield the bay whose ground is the steepest, where that is over 10 %."""
    course = frame.course
    if len(course.ground.level) < 2 or not layout.bays:
        return
    slopes: list[tuple[float, int]] = []  # slope in %, bay
    for bay in layout.bays:
        end_in = bay.start_station_in + bay.on_centre_in
        run_in = course.level_of(end_in) - course.level_of(bay.start_station_in)
        rise_in = abs(course.elevation_at(end_in) - course.elevation_at(bay.start_station_in))
        slopes.append((100 * rise_in / run_in if run_in > 0 else 0.0, bay.number))
    steepest = max(slopes)
    if steepest[0] > STEEP_PCT:
        yield Finding(
            code="steep-ground",
            severity="warn" if course.system.family == "panel" else "note",
            message="The ground is steep.",
            place=f"line {frame.line.id}, bay {steepest[1]}",
            figure=f"{steepest[0]:.1f} %",
            limit=f"{STEEP_PCT:g} % (common practice)",
            action="Allow more time, and check the gap under the fence and the post lengths.",
        )


def _break_findings(frame: Frame) -> Iterator[Finding]:
    ground = frame.course.ground
    if frame.course.system.family != "fabric" or len(ground.level) < 3:
        return
    knots = zip(ground.level, ground.elevation, strict=True)
    grades = [math.degrees(math.atan2(b[1] - a[1], b[0] - a[0])) for a, b in pairwise(knots)]
    for i, (before, after) in enumerate(pairwise(grades), start=1):
        if abs(after - before) > GRADE_BREAK_DEG:
            yield Finding(
                code="grade-break",
                severity="warn",
                message="The grade changes abruptly, which takes a terminal post for the fabric.",
                place=f"line {frame.line.id}, station {format_ft_in(ground.grade[i])}",
                figure=f"{abs(after - before):.0f} degrees",
                limit=f"{GRADE_BREAK_DEG:g} degrees",
                action="End one line there and start the next on its post.",
            )
