"""Findings on how the bays stand on their ground: steps, gaps, heights, what the office pinned."""

from collections.abc import Callable, Iterator, Sequence

from estimating.engine.bay_limits import READING_IN
from estimating.engine.course import Course
from estimating.engine.frames import Frame
from estimating.engine.heights import fence_top_in
from estimating.engine.on_ground import pins_off_bays
from estimating.engine.result import Bay, Finding, LineLayout
from estimating.engine.site import Conditions
from firm.measure.lengths import format_ft_in, format_in
from firm.measure.written import how_many

OVER_RACK = ("over_rack", "panel_too_short")
LOCAL_CODE = "The local code and licensed people decide."


def step_findings(conditions: Conditions, frame: Frame, layout: LineLayout) -> Iterator[Finding]:
    """Yield the findings on one line's bays on their ground; fabric follows any."""
    course = frame.course
    for station_in in pins_off_bays(course, layout.bays):
        yield _pin_off_bays(course, station_in)
    if course.system.family == "fabric":
        return
    yield from _over_rack(course, layout.bays)
    yield from _pinned_over_rack(course, layout.bays)
    yield from _gap_findings(course, layout.bays)
    yield from _tall_findings(course, layout.bays)
    yield from _over_yard_limit(conditions, course, layout.bays)
    yield from _longer_infill(course, layout.bays)


def _pin_off_bays(course: Course, station_in: float) -> Finding:
    return Finding(
        code="bay-pin-off-bays",
        severity="warn",
        message="The office decided how a bay follows the ground, and no bay stands there.",
        place=f"line {course.line.id}, station {format_ft_in(station_in)}",
        figure=format_ft_in(station_in),
        limit="a station inside a bay, not in a gate or past the line's end",
        action="Correct the station, or take the entry out.",
    )


def _worst(bays: Sequence[Bay], figure: Callable[[Bay], float]) -> tuple[Bay, float]:
    worst = max(bays, key=figure)
    return worst, figure(worst)


def _place(bay: Bay) -> str:
    return f"line {bay.line_id}, bay {bay.number}, station {format_ft_in(bay.start_station_in)}"


def _ground_rise_in(course: Course, bay: Bay) -> float:
    end_in = bay.start_station_in + bay.on_centre_in
    return abs(course.elevation_at(end_in) - course.elevation_at(bay.start_station_in))


def _over_rack(course: Course, bays: Sequence[Bay]) -> Iterator[Finding]:
    """Yield the worst of the bays that can't rack and so stand level, with a step."""
    over = [bay for bay in bays if bay.because in OVER_RACK]
    if not over:
        return
    worst, rise_in = _worst(over, lambda bay: _ground_rise_in(course, bay))
    yield Finding(
        code="slope-over-rack",
        severity="note",
        message=(
            f"More than a panel can rack: the rise of {len(over)} of "
            f"{how_many(len(bays), 'bay')}. There the fence stands level and steps."
        ),
        place=_place(worst),
        figure=f"{format_in(rise_in)} over the bay",
        limit=format_in(course.system.max_rack_in),
        action="Shorten the bays or use panels that rack further, if the customer wants no steps.",
    )


def _pinned_over_rack(course: Course, bays: Sequence[Bay]) -> Iterator[Finding]:
    limit_in = course.system.max_rack_in
    over = [
        bay for bay in bays if bay.because == "pinned" and abs(bay.rise_in) > limit_in + READING_IN
    ]
    if over:
        worst, rise_in = _worst(over, lambda bay: abs(bay.rise_in))
        yield Finding(
            code="racked-over-limit",
            severity="stop",
            message="A bay that the office set to follow the ground rises more than a panel racks.",
            place=_place(worst),
            figure=f"{format_in(rise_in)} over the bay",
            limit=format_in(limit_in),
            action="Let it step, shorten the bay, or use panels that rack further.",
        )


def _gap_findings(course: Course, bays: Sequence[Bay]) -> Iterator[Finding]:
    """Yield the widest gap under the fence over its limit, and the deepest hump in its way."""
    limit_in = course.system.largest_gap_in
    wide = [
        bay
        for bay in bays
        if bay.largest_gap_in > limit_in + READING_IN and not bay.longer_infill_in
    ]
    if wide and limit_in >= course.system.ground_gap_in:
        worst, gap_in = _worst(wide, lambda bay: bay.largest_gap_in)
        yield Finding(
            code="gap-under-fence",
            severity="warn",
            message=(
                f"Under {len(wide)} of {how_many(len(bays), 'bay')} the gap to the ground is large."
            ),
            place=_place(worst),
            figure=format_in(gap_in),
            limit=format_in(limit_in),
            action="Shorten the bays, fill the ground up, or close the gap with longer infill.",
        )
    low = [bay for bay in bays if bay.least_gap_in < -READING_IN]
    if low:
        worst, under_in = _worst(low, lambda bay: -bay.least_gap_in)
        yield Finding(
            code="ground-in-the-way",
            severity="warn",
            message=(
                f"Under {len(low)} of {how_many(len(bays), 'bay')} "
                "the ground stands in the fence's way."
            ),
            place=_place(worst),
            figure=f"{format_in(under_in)} of ground above the fence's lower edge",
            limit="no ground above the lower edge",
            action="Take the hump off, move a post onto it, or cut the infill to the ground.",
        )


def _tall_findings(course: Course, bays: Sequence[Bay]) -> Iterator[Finding]:
    """Yield the bay whose top stands the furthest over the height it may have."""
    system = course.system
    limit_in = fence_top_in(system.height_in) + system.height_tolerance_in
    tall = [bay for bay in bays if _top_in(course, bay) > limit_in + READING_IN]
    if not tall:
        return
    worst, top_in = _worst(tall, lambda bay: _top_in(course, bay))
    yield Finding(
        code="fence-tall-over-ground",
        severity="warn",
        message=f"Higher over the ground than meant: {len(tall)} of {how_many(len(bays), 'bay')}.",
        place=_place(worst),
        figure=f"{format_in(top_in)} over the ground",
        limit=f"{format_in(limit_in)}, the fence's height and its tolerance",
        action="Shorten the bays there, or use panels that rack further.",
    )


def _top_in(course: Course, bay: Bay) -> float:
    """Return how far a bay's top stands over the lowest ground under it."""
    system = course.system
    return fence_top_in(system.height_in, lift_in=bay.largest_gap_in - system.ground_gap_in)


def _over_yard_limit(
    conditions: Conditions, course: Course, bays: Sequence[Bay]
) -> Iterator[Finding]:
    """Yield the tallest bay over the yard's limit, where level ground would keep it."""
    yard = course.line.yard
    limit_in = conditions.height_limit_in(yard)
    if limit_in is None or not bays or fence_top_in(course.system.height_in) > limit_in:
        return
    worst, top_in = _worst(bays, lambda bay: _top_in(course, bay))
    if top_in > limit_in + READING_IN:
        yield Finding(
            code="slope-over-yard-limit",
            severity="warn",
            message=f"On the slope the fence stands taller than the {yard} yard's limit.",
            place=_place(worst),
            figure=f"{format_in(top_in)} over its lowest ground",
            limit=f"{format_in(limit_in)} in the {yard} yard",
            action=f"Ask how the town measures height on a slope. {LOCAL_CODE}",
        )


def _longer_infill(course: Course, bays: Sequence[Bay]) -> Iterator[Finding]:
    longer = [bay for bay in bays if bay.longer_infill_in > READING_IN]
    if not longer:
        return
    worst, longer_in = _worst(longer, lambda bay: bay.longer_infill_in)
    yield Finding(
        code="pool-infill-longer",
        severity="warn",
        message=(
            f"Around the pool {len(longer)} of {how_many(len(bays), 'bay')} "
            "would leave too large a gap, "
            "so their infill must be longer."
        ),
        place=_place(worst),
        figure=f"{format_in(longer_in)} longer at its lowest ground",
        limit=f"{format_in(worst.largest_gap_in - longer_in)} under the fence",
        action=f"Buy longer infill for these bays and cut it to the ground. {LOCAL_CODE}",
    )
