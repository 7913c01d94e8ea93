"""Findings on the plan: crossing lines, loops that don't close, heights, faces and shared posts."""

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

from estimating.engine.course import Course, closing_gap_in, station_named
from estimating.engine.frames import Frame, PostPlace, shared_ends
from estimating.engine.geometry import Segment, bearing_of, meeting_pairs, step_from
from estimating.engine.heights import fence_top_in, tallest_part_in
from estimating.engine.result import Finding, LineLayout
from estimating.engine.site import Conditions, Site
from firm.measure.lengths import format_ft_in, format_in

CLOSES_WITHIN_IN = 1.0
SHARED_WITHIN_IN = 6.0
FOLDS_BACK_DEG = 179.0
LOCAL_CODE = "The local code and licensed people decide."
COMPASS = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")


def plan_findings(conditions: Conditions, frame: Frame) -> Iterator[Finding]:
    """Yield the findings on one line's course and height."""
    yield from _height_findings(conditions, frame)
    yield from _loop_findings(frame)
    yield from _hidden_joints(frame)


def site_findings(
    site: Site,
    frames: Sequence[Frame],
    lines: Sequence[LineLayout],
    owners: dict[PostPlace, PostPlace],
) -> Iterator[Finding]:
    """Yield the findings that concern lines together, and the reminders for the whole site."""
    yield from _crossing_findings([frame for frame in frames if frame.has_posts])
    yield from _shared_findings(frames, owners)
    yield from _reminders(site, frames)


def _height_findings(conditions: Conditions, frame: Frame) -> Iterator[Finding]:
    limit_in = conditions.height_limit_in(frame.line.yard)
    system = frame.course.system
    if limit_in is None:
        return
    top_in = fence_top_in(system.height_in)
    tallest_in = tallest_part_in(height_in=system.height_in, family=system.family)
    if top_in > limit_in:
        yield Finding(
            code="too-tall-for-yard",
            severity="stop",
            message=f"The fence is taller than the {frame.line.yard} yard's limit.",
            place=f"line {frame.line.id}",
            figure=f"{format_in(top_in)} from the ground",
            limit=f"{format_in(limit_in)} in the {frame.line.yard} yard",
            action=f"Choose a lower system, or ask for a variance. {LOCAL_CODE}",
        )
    elif tallest_in > limit_in:
        yield Finding(
            code="height-near-limit",
            severity="note",
            message="The fence keeps the yard's limit; its end and corner posts stand over it.",
            place=f"line {frame.line.id}",
            figure=f"{format_in(tallest_in)} from the ground",
            limit=f"{format_in(limit_in)} in the {frame.line.yard} yard",
            action=f"Ask whether posts and caps count: towns differ. {LOCAL_CODE}",
        )


def _loop_findings(frame: Frame) -> Iterator[Finding]:
    if not frame.line.closed:
        return
    gap_in = closing_gap_in(frame.course)
    if gap_in > CLOSES_WITHIN_IN:
        yield Finding(
            code="line-does-not-close",
            severity="warn",
            message="The last leg of the closed line doesn't end where the first one starts.",
            place=f"line {frame.line.id}",
            figure=format_ft_in(gap_in),
            limit=f"within {format_in(CLOSES_WITHIN_IN)}",
            action="Check the lengths of the legs and their turns.",
        )


def _hidden_joints(frame: Frame) -> Iterator[Finding]:
    """Yield a finding for each corner that its line's end post hides."""
    course = frame.course
    for number, joint in enumerate(course.joints[1:-1], start=1):
        if number not in course.inner_joints:
            yield Finding(
                code="leg-shorter-than-post",
                severity="stop",
                message=f"Corner {number} lies behind the line's end post, so it is left out.",
                place=f"line {frame.line.id}, corner {number}",
                figure=f"station {format_ft_in(joint.station_in)}",
                limit=f"{format_ft_in(course.first_in)} to {format_ft_in(course.last_in)}",
                action="Check the leg's length and the point the tape was held to.",
            )


def _crossing_findings(frames: Sequence[Frame]) -> Iterator[Finding]:
    """Yield one finding for each line that crosses itself and each two lines that cross."""
    segments: list[Segment] = []
    owners: list[tuple[int, int]] = []
    for i, frame in enumerate(frames):
        for leg, segment in enumerate(_segments(frame)):
            segments.append(segment)
            owners.append((i, leg))
    seen: set[tuple[int, int]] = set()
    for a, b in meeting_pairs(segments):
        (first, leg), (second, other_leg) = owners[a], owners[b]
        pair = (first, second)
        if pair in seen or (first == second and _follow_on(frames[first], leg, other_leg)):
            continue
        seen.add(pair)
        if first == second:
            yield _crosses_itself(frames[first], leg, other_leg)
        else:
            yield _cross(frames[first], frames[second])


def _segments(frame: Frame) -> list[Segment]:
    """Return the legs in plan, an inch short at posts that belong to another line."""
    points = [joint.point for joint in frame.course.joints]
    if not frame.line.closed:
        if frame.line.start.kind == "shared_post":
            points[0] = step_from(points[0], bearing_of(points[0], points[1]), 1.0)
        if frame.line.end.kind == "shared_post":
            points[-1] = step_from(points[-1], bearing_of(points[-1], points[-2]), SHARED_WITHIN_IN)
    return list(pairwise(points))


def _follow_on(frame: Frame, leg: int, other_leg: int) -> bool:
    """Say whether two legs meet only because one follows the other."""
    first, second = sorted((leg, other_leg))
    if second - first == 1:
        return abs(frame.line.legs[second].turn_deg) < FOLDS_BACK_DEG
    return frame.line.closed and first == 0 and second == len(frame.line.legs) - 1


def _crosses_itself(frame: Frame, leg: int, other_leg: int) -> Finding:
    first, second = sorted((leg + 1, other_leg + 1))
    return Finding(
        code="line-crosses-itself",
        severity="stop",
        message=f"Line {frame.line.id} crosses itself: leg {second} meets leg {first}.",
        place=f"line {frame.line.id}, legs {first} and {second}",
        figure=f"leg {second} meets leg {first}",
        limit="a line meets itself nowhere but at a closed line's start",
        action="Check the lengths and turns of these legs.",
    )


def _cross(first: Frame, second: Frame) -> Finding:
    a, b = first.line.id, second.line.id
    return Finding(
        code="lines-cross",
        severity="warn",
        message=f"Lines {a} and {b} cross or touch in plan without sharing a post.",
        place=f"lines {a} and {b}",
        figure="they meet",
        limit="lines meet only at posts they share",
        action="Check both start points and bearings, or let one line share the other's post.",
    )


def _shared_findings(
    frames: Sequence[Frame], owners: dict[PostPlace, PostPlace]
) -> Iterator[Finding]:
    courses = {frame.line.id: frame.course for frame in frames}
    for frame in frames:
        if not frame.has_posts:
            continue
        for end, hold in ((frame.line.start, frame.holds[0]), (frame.line.end, frame.holds[-1])):
            if hold.kind != "shared_post":
                continue
            if (frame.line.id, hold.station_in) not in owners:
                yield _no_shared_post(frame, end.shared_line, end.shared_at)
            elif end is frame.line.end:
                yield from _apart(frame, courses[end.shared_line], end.shared_at)
        yield from _start_moved(frame)


def _no_shared_post(frame: Frame, shared_line: str, shared_at: str) -> Finding:
    return Finding(
        code="shared-post-missing",
        severity="stop",
        message=f"Line {frame.line.id} shares a post that no line sets.",
        place=f"line {frame.line.id}",
        figure=f"{shared_at} of line {shared_line}",
        limit="the other line sets a post of its own there",
        action="Let one of the two lines have the post, and the other share it.",
    )


def _apart(frame: Frame, owner: Course, shared_at: str) -> Iterator[Finding]:
    station_in = station_named(owner, shared_at)
    if station_in is None:
        return
    apart_in = math.dist(frame.course.point_at(frame.course.last_in), owner.point_at(station_in))
    if apart_in > SHARED_WITHIN_IN:
        yield Finding(
            code="shared-post-apart",
            severity="warn",
            message=f"Line {frame.line.id} doesn't end where the post it shares stands.",
            place=f"line {frame.line.id}, its end",
            figure=f"{format_ft_in(apart_in)} apart",
            limit=f"within {format_in(SHARED_WITHIN_IN)}",
            action="Check the lengths, turns and bearings of both lines.",
        )


def _start_moved(frame: Frame) -> Iterator[Finding]:
    """Yield a finding where a given start point isn't at the shared post that was used."""
    line = frame.line
    given = (line.start_x_in, line.start_y_in)
    if line.start not in shared_ends(line) or given == (0.0, 0.0):
        return
    moved_in = math.dist(given, frame.course.joints[0].point)
    if moved_in > SHARED_WITHIN_IN:
        yield Finding(
            code="shared-start-moved",
            severity="warn",
            message=f"Line {line.id} was drawn from the post it shares, not from its start point.",
            place=f"line {line.id}, its start",
            figure=f"{format_ft_in(moved_in)} apart",
            limit=f"within {format_in(SHARED_WITHIN_IN)}",
            action="Check the line's start point, or which post it shares.",
        )


def _reminders(site: Site, frames: Sequence[Frame]) -> Iterator[Finding]:
    built = [frame for frame in frames if frame.has_posts]
    faced = [frame for frame in built if frame.course.system.family == "panel"]
    if faced:
        yield Finding(
            code="finished-face",
            severity="note",
            message="Check which way the finished face of each line looks.",
            place=", ".join(f"line {frame.line.id}" for frame in faced),
            figure="; ".join(f"{frame.line.id} looks {_face(frame)}" for frame in faced),
            limit="many towns and associations want it to look at the neighbour",
            action="Settle it with the customer before the posts are ordered.",
        )
    if site.conditions.setback_in > 0 and built:
        yield Finding(
            code="setback",
            severity="note",
            message="The fence must stand back from the property line or the right of way.",
            place="the whole site",
            figure="not measured here",
            limit=format_in(site.conditions.setback_in),
            action="Have the owner show the survey pins, and measure from them.",
        )
    if site.conditions.pool_barrier and built:
        yield Finding(
            code="pool-barrier",
            severity="warn",
            message="This fence is part of a pool barrier.",
            place="the whole site",
            figure="not checked in full here",
            limit="height, gaps, climbable rails and gates have local limits",
            action=LOCAL_CODE,
        )


def _face(frame: Frame) -> str:
    side_deg = -90 if frame.line.finished_face == "left" else 90
    looks_deg = (frame.course.bearings[0] + side_deg) % 360
    return f"{COMPASS[round(looks_deg / 45) % len(COMPASS)]} ({frame.line.finished_face})"
