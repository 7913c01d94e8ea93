"""Findings on what posts stand too near to: utilities' marks, trees, drains and standing posts."""

from collections.abc import Iterator

from estimating.engine.frames import Frame
from estimating.engine.holds import Hold
from estimating.engine.nearby import farthest_reach_in, places_near
from estimating.engine.nodig import Zone, is_nearer, reach_in, zones_of
from estimating.engine.products import product_of, widest_hole_in
from estimating.engine.result import Finding, LineLayout, Post
from estimating.engine.site import Conditions, FixedPoint
from estimating.engine.standing_room import fixed_words
from firm.measure.lengths import format_ft_in, format_in

POST_WORDS = {
    "end": "end post",
    "corner": "corner post",
    "gate": "gate post",
    "pull": "pull post",
    "line": "post at a bend",
}


def mark_findings(conditions: Conditions, frame: Frame, layout: LineLayout) -> Iterator[Finding]:
    """Yield a finding for each post whose hole reaches into a mark or its tolerance zone."""
    system = frame.course.system
    fixed = {hold.station_in: hold for hold in frame.holds}
    zones = zones_of(frame.course, conditions.hand_dig_tolerance_in)
    farthest_in = farthest_reach_in(system, zones)
    stations = [post.station_in for post in layout.posts]
    for zone in zones:
        for place in places_near(stations, zone.centre_in, farthest_in):
            post = layout.posts[place]
            reach = reach_in(system, product_of(system, post), post.station_in, zone)
            hole_in = widest_hole_in(system, product_of(system, post))
            hold = fixed.get(post.station_in)
            if is_nearer(reach, zone.mark_half_in):
                yield _in_the_mark(post, zone, reach, _move(post, hold, zone, hole_in))
            elif is_nearer(reach, zone.zone_half_in):
                yield _in_the_zone(post, zone, reach, _move(post, hold, zone, hole_in))


def _utility(zone: Zone) -> str:
    return zone.strip.utility or "utility"


def _post_place(post: Post) -> str:
    return f"line {post.line_id}, post {post.number}, station {format_ft_in(post.station_in)}"


def _move(post: Post, hold: Hold | None, zone: Zone, hole_in: float) -> str:
    """Return how a post that the plan can't move gets clear of a mark, or nothing for others."""
    if hold is None:
        return ""
    apart_in = abs(post.station_in - zone.centre_in)
    mark_in = zone.along_in(zone.mark_half_in, hole_in) - apart_in
    zone_in = zone.along_in(zone.zone_half_in, hole_in) - apart_in
    towards = "end" if post.station_in >= zone.centre_in else "start"
    least = f"{format_in(mark_in)} to clear the mark, " if mark_in > 0 else ""
    gate = " with its gate" if post.kind == "gate" else ""
    return (
        f"The {POST_WORDS[post.kind]} can't be planned elsewhere: move it{gate} towards the "
        f"line's {towards} by {least}{format_in(zone_in)} to clear the zone."
    )


def _in_the_mark(post: Post, zone: Zone, reach: float, move: str) -> Finding:
    return Finding(
        code="post-in-mark",
        severity="stop",
        message=f"The hole of post {post.number} reaches into the {_utility(zone)} mark itself.",
        place=_post_place(post),
        figure=f"{format_in(reach)} from the hole's edge to the mark's centre",
        limit=f"at least {format_in(zone.mark_half_in)}, half the mark, square to it",
        action=move or "Move the post: shift a gate or an end, or part the line at the mark.",
    )


def _in_the_zone(post: Post, zone: Zone, reach: float, move: str) -> Finding:
    return Finding(
        code="post-in-tolerance-zone",
        severity="note" if zone.strip.hand_dig else "warn",
        message=f"Post {post.number} stands in the tolerance zone of the {_utility(zone)} mark.",
        place=_post_place(post),
        figure=f"{format_in(reach)} from the hole's edge to the mark's centre",
        limit=f"{format_in(zone.zone_half_in)}, square to the mark",
        action=(
            "Dig it by hand or by vacuum until the line is seen"
            + (f". {move}" if move and not zone.strip.hand_dig else ", or move the post.")
        ),
    )


def fixed_point_findings(frame: Frame, layout: LineLayout) -> Iterator[Finding]:
    """Yield a finding for each post too near to what stands there, and for what can't be used."""
    standing = {hold.station_in for hold in frame.holds if hold.width_in}
    for point in frame.line.fixed_points:
        station_in = frame.course.station_of_tape(point.station_in)
        if point.use:
            if station_in not in standing:
                yield _not_used(frame, point, station_in)
            continue
        for post in layout.posts:
            hole_in = widest_hole_in(frame.course.system, product_of(frame.course.system, post))
            apart_in = abs(post.station_in - station_in) - hole_in / 2 - point.width_in / 2
            if is_nearer(apart_in, point.keep_clear_in):
                yield _beside(post, point, apart_in)
        yield from _in_opening(frame, point, station_in)
        yield from _in_bay(frame, layout, point, station_in)


def _not_used(frame: Frame, point: FixedPoint, station_in: float) -> Finding:
    course = frame.course
    return Finding(
        code="standing-post-not-used",
        severity="warn",
        message=f"The {fixed_words(point)} can't carry the fence where it stands.",
        place=f"line {frame.line.id}, station {format_ft_in(station_in)}",
        figure=f"station {format_ft_in(station_in)}",
        limit=(
            f"between two posts, from {format_ft_in(course.first_in)} to "
            f"{format_ft_in(course.last_in)}, in no gate's opening and in no new post's place"
        ),
        action="Check its station; where it stands at the line's end, say so there.",
    )


def _beside(post: Post, point: FixedPoint, apart_in: float) -> Finding:
    words = fixed_words(point)
    return Finding(
        code="post-beside-fixed-point",
        severity="stop" if is_nearer(apart_in, 0.0) else "warn",
        message=(
            f"The hole of post {post.number} reaches into the {words}."
            if is_nearer(apart_in, 0.0)
            else f"The hole of post {post.number} comes too near to the {words}."
        ),
        place=_post_place(post),
        figure=f"{format_in(max(0.0, apart_in))} from the hole's edge to its face",
        limit=f"at least {format_in(point.keep_clear_in)}",
        action=(
            "Move the post, take out what stands there, or talk it over with its owner: "
            "roots and drains are not for the firm to cut."
        ),
    )


def _in_bay(
    frame: Frame, layout: LineLayout, point: FixedPoint, station_in: float
) -> Iterator[Finding]:
    """Yield what the infill of a bay meets: posts keep clear of it, the infill can't."""
    if point.kind == "drain" or not point.width_in:
        return
    for bay in layout.bays:
        if bay.start_station_in < station_in < bay.start_station_in + bay.on_centre_in:
            yield Finding(
                code="fixed-point-in-bay",
                severity="warn",
                message=f"The {fixed_words(point)} stands in the infill of bay {bay.number}.",
                place=f"line {frame.line.id}, bay {bay.number}, station {format_ft_in(station_in)}",
                figure=f"{format_in(point.width_in)} wide",
                limit="nothing stands between two posts that carry infill",
                action="Settle with the owner: move the line, take it out, or leave a gap there.",
            )


def _in_opening(frame: Frame, point: FixedPoint, station_in: float) -> Iterator[Finding]:
    if point.kind == "drain":
        return
    for span in frame.spans:
        if span.opening is None or not span.start.station_in < station_in < span.end.station_in:
            continue
        gate = span.opening.gate.id
        yield Finding(
            code="fixed-point-in-gate",
            severity="stop",
            message=f"The {fixed_words(point)} stands in the opening of gate {gate}.",
            place=f"line {frame.line.id}, station {format_ft_in(station_in)}",
            figure=f"station {format_ft_in(station_in)}",
            limit="nothing stands in a gate's opening",
            action="Move the gate, or take out what stands there.",
        )
