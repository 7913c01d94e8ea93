"""Findings on posts and bays: spacing, small moves that save a post, corners at odd angles."""

from collections.abc import Iterator, Sequence

from estimating.engine.bays import saving_in
from estimating.engine.frames import Frame
from estimating.engine.holds import Span, sections_of
from estimating.engine.panel_spacing import spaced_on
from estimating.engine.products import product_for
from estimating.engine.result import Bay, Finding, LineLayout
from firm.measure.lengths import format_ft_in, format_in
from firm.measure.written import how_many

NEAR_MAXIMUM_IN = 1 / 8
PANEL_TOLERANCE_IN = 1 / 32
# A move up to a foot can usually be talked over on site; more is another layout.
LARGEST_MOVE_IN = 12.0
SQUARE_DEG = 90.0
SQUARE_TOLERANCE_DEG = 10.0


def post_findings(frame: Frame, layout: LineLayout) -> Iterator[Finding]:
    """Yield the findings on one line's posts and bays."""
    yield from _bay_findings(frame, layout)
    yield from _saving_findings(frame, layout)
    yield from _corner_findings(frame, layout)


def _bay_findings(frame: Frame, layout: LineLayout) -> Iterator[Finding]:
    system = frame.course.system
    near: list[Bay] = []
    for bay in layout.bays:
        if bay.spacer_in < 0:
            yield _overlap(bay, layout)
        elif bay.spacer_in < system.min_clear_in:
            yield _short(bay, system.min_clear_in)
        if bay.on_centre_in > system.max_on_centre_in - NEAR_MAXIMUM_IN:
            near.append(bay)
    full_in = system.max_on_centre_in - product_for(system, "line").width_in
    wide = [bay for bay in layout.bays if bay.spacer_in > full_in + PANEL_TOLERANCE_IN]
    if wide and system.family == "panel":
        yield _wider_than_panel(wide, full_in)
    if near:
        yield Finding(
            code="bays-near-maximum",
            severity="note",
            message=(
                f"At the largest spacing allowed: {len(near)} of "
                f"{how_many(len(layout.bays), 'bay')}."
            ),
            place=_bay_place(near[0]),
            figure=f"{format_in(max(bay.on_centre_in for bay in near))} on centre",
            limit=format_in(system.max_on_centre_in),
            action="Set these posts with care: a post a little off leaves a bay too wide.",
        )


def _bay_place(bay: Bay) -> str:
    return f"line {bay.line_id}, bay {bay.number}, station {format_ft_in(bay.start_station_in)}"


def _overlap(bay: Bay, layout: LineLayout) -> Finding:
    numbers = {bay.from_post, bay.to_post}
    is_by_gate = any(post.kind == "gate" and post.number in numbers for post in layout.posts)
    return Finding(
        code="posts-overlap",
        severity="stop",
        message=f"The posts of bay {bay.number} stand in each other's place.",
        place=_bay_place(bay),
        figure=f"{format_in(bay.on_centre_in)} on centre",
        limit=f"{format_in(bay.on_centre_in - bay.spacer_in)}, half of each post",
        action=(
            "Move the gate onto its neighbour's post, or further away from it."
            if is_by_gate
            else "Check the length that was taped; where it is right, let one post do for both."
        ),
    )


def _short(bay: Bay, min_clear_in: float) -> Finding:
    return Finding(
        code="short-bay",
        severity="warn",
        message=f"Bay {bay.number} is narrower than the fence system's narrowest.",
        place=_bay_place(bay),
        figure=f"{format_in(bay.spacer_in)} clear",
        limit=format_in(min_clear_in),
        action="Divide the section into equal bays, or move the gate or the end.",
    )


def _wider_than_panel(wide: Sequence[Bay], full_in: float) -> Finding:
    widest = max(wide, key=lambda bay: bay.spacer_in)
    return Finding(
        code="bay-wider-than-panel",
        severity="warn",
        message=(
            f"Bay {widest.number} is clear by more than a full panel's width: beside a wall or a "
            "thinner post the same spacing leaves more between the faces."
        ),
        place=_bay_place(widest),
        figure=f"{format_in(widest.spacer_in)} clear",
        limit=f"{format_in(full_in)} clear",
        action="Add a bay there or move the wall's end post, or buy longer rails.",
    )


def _saving_findings(frame: Frame, layout: LineLayout) -> Iterator[Finding]:
    sections = sections_of(frame.spans)
    for number, section in enumerate(sections, start=1):
        start_in, end_in = section[0].start.station_in, section[-1].end.station_in
        largest_in = spaced_on(frame.course, start_in, end_in).max_on_centre_in
        move_in = saving_in(end_in - start_in, largest_in)
        if len(section) > 1 or not 0 < move_in <= LARGEST_MOVE_IN:
            continue
        if _has_obstacle(frame, start_in, end_in):
            continue  # what the fewest posts are there, the plan alone knows
        action = _move(section[0], sections, frame, move_in)
        if action:
            bays = layout.sections[number - 1].bays
            yield Finding(
                code="small-move-saves-a-post",
                severity="note",
                message=(
                    f"Section {number} takes {how_many(bays, 'bay')}; {format_in(move_in)} less "
                    f"and {bays - 1} would do, with one post less."
                ),
                place=f"line {layout.line_id}, section {number}, "
                f"station {format_ft_in(start_in)} to {format_ft_in(end_in)}",
                figure=f"{format_ft_in(end_in - start_in)} long",
                limit=(
                    f"{format_ft_in(end_in - start_in - move_in)} for {how_many(bays - 1, 'bay')}"
                ),
                action=action,
            )


def _has_obstacle(frame: Frame, start_in: float, end_in: float) -> bool:
    taped_in = [one.station_in for one in frame.line.no_dig]
    taped_in += [one.station_in for one in frame.line.fixed_points]
    return any(start_in < frame.course.station_of_tape(each) < end_in for each in taped_in)


def _move(fence: Span, sections: Sequence[Sequence[Span]], frame: Frame, move_in: float) -> str:
    """Return how the stretch can be made shorter without costing a post elsewhere, or nothing."""
    for span in frame.spans:
        is_beside = span.end is fence.start or span.start is fence.end
        if span.opening is None or not is_beside or not _can_move(span):
            continue
        beside = [
            each
            for section in sections
            for each in section
            if each.start is span.end or each.end is span.start
        ]
        other = [each for each in beside if each is not fence]
        if len(other) == 1 and _has_room(other[0], frame, move_in):
            towards = "end" if span.end is fence.start else "start"
            return (
                f"Move gate {span.opening.gate.id} by {format_in(move_in)} "
                f"towards the line's {towards}, if the customer agrees."
            )
    for hold, where in ((fence.start, "start"), (fence.end, "end")):
        if hold.kind == "end":
            change = "later" if where == "start" else "earlier"
            verb = "Start" if where == "start" else "End"
            return f"{verb} the line {format_in(move_in)} {change}, if the customer agrees."
    if "corner" in (fence.start.kind, fence.end.kind):
        return f"Set a corner back by {format_in(move_in)}, if the customer agrees."
    return ""


def _can_move(gate: Span) -> bool:
    """Say whether neither post of a gate is an end or a corner as well."""
    return not any(hold.name for hold in (gate.start, gate.end))


def _has_room(span: Span, frame: Frame, more_in: float) -> bool:
    """Say whether a neighbouring stretch can take up the move with the bays it has."""
    bays = len(frame.bay_lengths[frame.spans.index(span)])
    length_in = span.end.station_in - span.start.station_in
    return length_in + more_in <= bays * frame.course.system.max_on_centre_in


def _corner_findings(frame: Frame, layout: LineLayout) -> Iterator[Finding]:
    if frame.course.system.family != "panel":
        return
    numbers = {post.station_in: post.number for post in layout.posts}
    for hold in frame.holds:
        off_deg = abs(abs(hold.turn_deg) - SQUARE_DEG)
        is_turn = abs(hold.turn_deg) > frame.course.system.corner_turn_deg
        if is_turn and off_deg > SQUARE_TOLERANCE_DEG and hold.station_in in numbers:
            yield Finding(
                code="odd-corner-angle",
                severity="warn",
                message="The corner is far from square, and corner posts are routed square.",
                place=f"line {layout.line_id}, post {numbers[hold.station_in]}, "
                f"station {format_ft_in(hold.station_in)}",
                figure=f"turn of {abs(hold.turn_deg):g} degrees",
                limit=f"{SQUARE_DEG:g} degrees, give or take {SQUARE_TOLERANCE_DEG:g}",
                action="Plan a blank post routed on site, or brackets for odd angles.",
            )
