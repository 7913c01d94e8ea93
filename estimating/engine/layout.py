"""Laying a site out: posts, bays, gates and sections of every line, with what breaks a rule."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate

from estimating.engine.catalog import Catalog
from estimating.engine.findings import find
from estimating.engine.frames import Frame, PostPlace, frames_of, joins_of
from estimating.engine.holds import Hold, Span, half_in, sections_of
from estimating.engine.leaves import hinges_on, leaf_lb, leaf_widths_in, tail_in
from estimating.engine.left_out import left_out_findings
from estimating.engine.nodig import zones_of
from estimating.engine.on_ground import FULL_BAY_TOLERANCE_IN, on_ground
from estimating.engine.posts import posts_of
from estimating.engine.products import SLIDE, product_for
from estimating.engine.reading_catalog import check_systems
from estimating.engine.result import Bay, Finding, GateLayout, LineLayout, MovedOff, Post, Section
from estimating.engine.site import Site
from firm.measure.units import IN_PER_FT


@dataclass(frozen=True, kw_only=True, slots=True)
class Layout:
    """A site laid out."""

    lines: tuple[LineLayout, ...]
    findings: tuple[Finding, ...]


def lay_out(site: Site, catalog: Catalog) -> Layout:
    """Lay out every line of a site; what breaks a rule is a finding and the rest stands.

    A line that can't be worked with is left out, with a finding that stops the proposal.

    Raises:
        EngineError: no line names a fence system that is there.
    """
    frames = frames_of(site, catalog)
    if site.lines and not frames:
        check_systems(catalog, [line.system for line in site.lines])
    flat, owners = lines_before_ground(site, frames)
    lines = on_ground(frames, flat, is_pool=site.conditions.pool_barrier)
    found = (*left_out_findings(site, catalog), *find(site, frames, lines, owners))
    return Layout(lines=lines, findings=found)


def lines_before_ground(
    site: Site, frames: Sequence[Frame]
) -> tuple[tuple[LineLayout, ...], dict[PostPlace, PostPlace]]:
    """Return the lines laid out as on level ground, and which post serves each shared hold."""
    joins, owners = joins_of(frames)
    posts: list[tuple[Post, ...]] = []
    number_at: dict[PostPlace, int] = {}
    for frame in frames:
        zones = zones_of(frame.course, site.conditions.hand_dig_tolerance_in)
        posts.append(posts_of(frame, joins, zones, len(number_at) + 1))
        number_at |= {(post.line_id, post.station_in): post.number for post in posts[-1]}
    lines = tuple(
        _line_layout(frame, own, number_at, owners)
        for frame, own in zip(frames, posts, strict=True)
    )
    return lines, owners


class _Ends:
    """Looks up what stands at either end of a bay or gate: number, half width and kind."""

    def __init__(
        self,
        frame: Frame,
        posts: Sequence[Post],
        number_at: dict[PostPlace, int],
        owners: dict[PostPlace, PostPlace],
    ) -> None:
        self._frame = frame
        self._posts = {post.station_in: post for post in posts}
        self._number_at = number_at
        self._owners = owners

    def post_at(self, station_in: float) -> Post | None:
        """Return the line's own post at a station; a closed line's end is its start."""
        first, last = self._frame.holds[0], self._frame.holds[-1]
        if last.kind == "closing" and station_in == last.station_in:
            return self._posts[first.station_in]
        return self._posts.get(station_in)

    def number(self, station_in: float) -> int:
        post = self.post_at(station_in)
        if post is not None:
            return post.number
        owner = self._owners.get((self._frame.line.id, station_in))
        return self._number_at.get(owner, 0) if owner else 0

    def half_in(self, station_in: float) -> float:
        post = self.post_at(station_in)
        if post is not None:
            return post.width_in / 2
        hold = next(each for each in self._frame.holds if each.station_in == station_in)
        return half_in(hold, self._frame.course.system)

    def insertion_in(self, station_in: float) -> float:
        """Return how far a rail goes in here: into a post, but into no wall and no steel pipe."""
        post = self.post_at(station_in)
        if self._is_wall(station_in) or (post is not None and post.size == SLIDE):
            return 0.0
        return self._frame.course.system.rail_insertion_in

    def _is_wall(self, station_in: float) -> bool:
        return any(
            hold.kind == "wall" and hold.station_in == station_in
            for hold in (self._frame.holds[0], self._frame.holds[-1])
        )

    def kind(self, hold: Hold) -> str:
        post = self.post_at(hold.station_in)
        return post.kind if post is not None else hold.kind


def _line_layout(
    frame: Frame,
    posts: tuple[Post, ...],
    number_at: dict[PostPlace, int],
    owners: dict[PostPlace, PostPlace],
) -> LineLayout:
    course = frame.course
    sections: tuple[Section, ...] = ()
    bays: tuple[Bay, ...] = ()
    gates: tuple[GateLayout, ...] = ()
    fence_in = course.last_in - course.first_in
    if frame.has_posts:
        ends = _Ends(frame, posts, number_at, owners)
        sections = tuple(_sections(frame, ends))
        bays = tuple(_bays(frame, ends))
        gates = tuple(_gate(frame, span, ends) for span in frame.spans if span.kind == "gate")
        fence_in = sum(section.length_in for section in sections)
    return LineLayout(
        line_id=frame.line.id,
        name=frame.line.name,
        system=frame.line.system,
        scope=frame.line.scope,
        finished_face=frame.line.finished_face,
        length_in=course.last_in - course.first_in,
        fence_ft=fence_in / IN_PER_FT,
        plan_points=_plan_points(frame),
        sections=sections,
        posts=posts,
        bays=bays,
        gates=gates,
        old_footings=frame.line.old_footings,
        rail_stiffener=frame.line.rail_stiffener,
    )


def _plan_points(frame: Frame) -> tuple[tuple[float, float], ...]:
    course = frame.course
    inner = [joint.point for joint in course.joints[1:-1]]
    return (course.point_at(course.first_in), *inner, course.point_at(course.last_in))


def _sections(frame: Frame, ends: _Ends) -> Iterator[Section]:
    for number, plan in enumerate(frame.plans, start=1):
        start, end = plan.spans[0].start, plan.spans[-1].end
        yield Section(
            number=number,
            line_id=frame.line.id,
            start_station_in=start.station_in,
            length_in=end.station_in - start.station_in,
            bays=sum(len(lengths) for lengths in plan.bay_lengths),
            max_on_centre_in=frame.course.system.max_on_centre_in,
            from_kind=ends.kind(start),
            to_kind=ends.kind(end),
            divided=plan.divided,
            moved_off=tuple(
                MovedOff(what=each.what, station_in=each.station_in) for each in plan.moved_off
            ),
        )


def _fence_spans(frame: Frame) -> Iterator[tuple[Span, tuple[float, ...]]]:
    pairs = zip(frame.spans, frame.bay_lengths, strict=True)
    return ((span, lengths) for span, lengths in pairs if span.kind == "fence")


def _bays(frame: Frame, ends: _Ends) -> Iterator[Bay]:
    lengths_of = {id(span): lengths for span, lengths in _fence_spans(frame)}
    number = 0
    for section_number, section in enumerate(sections_of(frame.spans), start=1):
        for span in section:
            lengths = lengths_of[id(span)]
            stations = [*accumulate(lengths, initial=span.start.station_in)]
            for start_in, length_in in zip(stations, lengths, strict=False):
                number += 1
                yield _bay(frame, ends, (number, section_number), start_in, length_in)


def _bay(
    frame: Frame, ends: _Ends, numbers: tuple[int, int], start_in: float, length_in: float
) -> Bay:
    system = frame.course.system
    end_in = start_in + length_in
    spacer_in = length_in - ends.half_in(start_in) - ends.half_in(end_in)
    full_in = system.max_on_centre_in - product_for(system, "line").width_in
    return Bay(
        number=numbers[0],
        line_id=frame.line.id,
        section=numbers[1],
        from_post=ends.number(start_in),
        to_post=ends.number(end_in),
        start_station_in=start_in,
        on_centre_in=length_in,
        spacer_in=spacer_in,
        panel_in=spacer_in + ends.insertion_in(start_in) + ends.insertion_in(end_in),
        is_cut=system.family == "panel" and spacer_in < full_in - FULL_BAY_TOLERANCE_IN,
    )


def _gate(frame: Frame, span: Span, ends: _Ends) -> GateLayout:
    assert span.opening is not None  # noqa: S101 - a gate span always carries its opening
    gate, roller_in = span.opening.gate, span.opening.roller_in
    system = frame.course.system
    slide, is_slide = system.gate.slide, gate.kind == "slide"
    widths = leaf_widths_in(gate, system.gate)
    return GateLayout(
        id=gate.id,
        line_id=frame.line.id,
        from_post=ends.number(span.start.station_in),
        to_post=ends.number(span.end.station_in),
        station_in=span.opening.faces_in[0],
        clear_opening_in=gate.clear_opening_in,
        on_centre_in=span.end.station_in - span.start.station_in,
        leaf_in=max(widths),
        leaves=gate.leaves,
        use=gate.use,
        hinge_side=gate.hinge_side,
        swing=gate.swing,
        latch=gate.latch,
        kind=gate.kind,
        leaf_widths_in=widths,
        leaf_lb=max(leaf_lb(system, width) for width in widths),
        hinges=max(hinges_on(system, width) for width in widths),
        tail_in=tail_in(gate, slide) if is_slide and slide else 0.0,
        roller_post=0 if roller_in is None else ends.number(roller_in),
        first_centre_in=span.start.station_in,
        is_post_enough=span.opening.posts.is_enough,
        trace=span.opening.posts.trace,
    )
