"""How each section is divided: into its ordinary bays, or by the best plan round what bars it."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import accumulate, pairwise
from typing import Literal

from estimating.engine.bays import divide
from estimating.engine.catalog import FenceSystem
from estimating.engine.course import Course
from estimating.engine.geometry import PER_INCH
from estimating.engine.holds import Span, half_in
from estimating.engine.panel_spacing import spaced_on
from estimating.engine.post_plan import FULL_TOLERANCE, HAIRS, Limits, Stretch, best_plan
from estimating.engine.products import product_for
from estimating.engine.standing_room import Obstacle, rooms_of

Divided = Literal["equal", "full_and_short", "most_even", "fewest_cuts", "no_plan"]
Lengths = tuple[tuple[float, ...], ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class SectionPlan:
    """The bays of one section, span by span, and why they are as they are.

    `moved_off` is what the posts of the ordinary division would have stood in.
    """

    spans: tuple[Span, ...]
    bay_lengths: Lengths
    divided: Divided
    obstacles: tuple[Obstacle, ...] = ()
    moved_off: tuple[Obstacle, ...] = ()


def plan_section(
    spans: Sequence[Span], course: Course, obstacles: Sequence[Obstacle]
) -> SectionPlan:
    """Return the plan of the stretches between two terminals.

    A section keeps its ordinary division, equal on centre or full bays and a short one, where
    nothing bars one of its posts, it keeps the narrowest clear width and cuts no more bays than
    it must. Where no plan exists it stands all the same, so that the rest can be worked out.
    """
    start_in, end_in = spans[0].start.station_in, spans[-1].end.station_in
    near = [
        each
        for each in obstacles
        if start_in < each.station_in + each.half_in and each.station_in - each.half_in < end_in
    ]
    system, limits = course.system, limits_of(course.system)
    stretches = stretches_of(spans, course, near)
    ordinary = tuple(tuple(_ordinary(span, course)) for span in spans)
    plain = SectionPlan(
        spans=tuple(spans), bay_lengths=ordinary, divided=system.division, obstacles=tuple(near)
    )
    barred = tuple(each for each in near if any(map(each.is_in_way, _posts(spans, ordinary))))
    is_whole = not any(span.start.width_in for span in spans)
    if is_whole and not barred and _stands(stretches, ordinary, limits):
        return plain
    best = best_plan(stretches, limits)
    if best is None:
        return replace(plain, divided="no_plan")
    lengths = tuple(tuple(bay / PER_INCH for bay in bays) for bays in best)
    if lengths == ordinary:
        return plain
    divided: Divided = "most_even" if system.division == "equal" else "fewest_cuts"
    return replace(plain, bay_lengths=lengths, divided=divided, moved_off=barred)


def _ordinary(span: Span, course: Course) -> list[float]:
    start_in, end_in = span.start.station_in, span.end.station_in
    largest_in = spaced_on(course, start_in, end_in).max_on_centre_in
    return divide(end_in - start_in, largest_in, course.system.division)


def limits_of(system: FenceSystem) -> Limits:
    """Return what a fence system asks of its bays, on the grid."""
    return Limits(
        narrowest_clear=_hairs(system.min_clear_in),
        line_half=_hairs(product_for(system, "line").width_in / 2),
        division=system.division,
    )


def stretches_of(
    spans: Sequence[Span], course: Course, obstacles: Sequence[Obstacle]
) -> list[Stretch]:
    """Return the stretches of a section between terminals, bends and standing posts."""
    return [_stretch(span, course, obstacles) for span in spans]


def _stretch(span: Span, course: Course, obstacles: Sequence[Obstacle]) -> Stretch:
    start_in, end_in = span.start.station_in, span.end.station_in
    largest_in = spaced_on(course, start_in, end_in).max_on_centre_in
    return Stretch(
        length=round((end_in - start_in) * PER_INCH),
        # Half a sixteenth: a maximum in metric units is no whole number of them.
        largest=int(largest_in * PER_INCH + 0.5),
        full_clear=_hairs(largest_in - product_for(course.system, "line").width_in),
        first_half=_hairs(half_in(span.start, course.system)),
        last_half=_hairs(half_in(span.end, course.system)),
        rooms=rooms_of(start_in, end_in, obstacles),
    )


def _hairs(length_in: float) -> int:
    return round(length_in * PER_INCH * HAIRS)


def _stands(stretches: Sequence[Stretch], lengths: Lengths, limits: Limits) -> bool:
    """Say whether the ordinary bays of an open section keep the limits and are the best."""
    cut, is_alike = 0, True
    for stretch, bays in zip(stretches, lengths, strict=True):
        halves = [stretch.first_half, *[limits.line_half] * (len(bays) - 1), stretch.last_half]
        is_alike = is_alike and set(halves) == {limits.line_half}
        clear = [_hairs(bay) - sum(pair) for bay, pair in zip(bays, pairwise(halves), strict=True)]
        if min(clear) < limits.narrowest_clear:
            return False
        cut += sum(1 for each in clear if each < stretch.full_clear - FULL_TOLERANCE)
    return limits.division == "equal" or cut == 0 or (is_alike and cut <= len(stretches))


def _posts(spans: Sequence[Span], lengths: Lengths) -> Iterator[float]:
    """Return the stations of the line posts between the fixed ones."""
    for span, bays in zip(spans, lengths, strict=True):
        yield from [*accumulate(bays[:-1], initial=span.start.station_in)][1:]
