"""The frame of every line: its course, holds, spans and bay lengths, and who shares whose post."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from estimating.engine.catalog import Catalog
from estimating.engine.course import Course, lay_course, station_named
from estimating.engine.geometry import Point
from estimating.engine.holds import (
    OWN_POST,
    Hold,
    Span,
    base_holds,
    sections_of,
    spans_of,
    with_gates,
    with_pull_posts,
    with_standing_posts,
)
from estimating.engine.openings import place_gates
from estimating.engine.result import Finding
from estimating.engine.section_plans import SectionPlan, plan_section
from estimating.engine.site import FenceLine, LineEnd, Site
from estimating.engine.standing_room import obstacles_of


@dataclass(frozen=True, kw_only=True, slots=True)
class Frame:
    """One line before its posts are numbered. `bay_lengths` has a list for each span."""

    course: Course
    holds: tuple[Hold, ...]
    spans: tuple[Span, ...]
    bay_lengths: tuple[tuple[float, ...], ...]
    plans: tuple[SectionPlan, ...]
    findings: tuple[Finding, ...]

    @property
    def line(self) -> FenceLine:
        return self.course.line

    @property
    def has_posts(self) -> bool:
        return self.line.scope != "removal"

    def hold_named(self, name: str) -> Hold | None:
        """Return the hold that other lines call by this name; a closed line's end is its start."""
        for hold in self.holds:
            if hold.name == name:
                return self.holds[0] if hold.kind == "closing" else hold
        return None

    def fence_bearings(self, hold: Hold) -> tuple[float, ...]:
        """Return the bearings in which this line's fence leaves a hold."""
        bearings: list[float] = []
        is_first = hold is self.holds[0]
        for span in self.spans:
            if span.kind != "fence":
                continue
            if span.start is hold:
                bearings.append(self.course.bearing_after(hold.station_in))
            if span.end is hold or (is_first and span.end.kind == "closing"):
                before = self.course.bearing_before(span.end.station_in)
                bearings.append((before + 180) % 360)
        return tuple(bearings)

    def has_gate_at(self, hold: Hold) -> bool:
        """Say whether a gate of this line hangs at a hold."""
        return any(hold in (span.start, span.end) for span in self.spans if span.kind == "gate")

    def gate_size_at(self, hold: Hold) -> str:
        """Return the size of post that this line's gate asks for at a hold."""
        openings = [span.opening for span in self.spans if span.opening is not None]
        sizes = (each.sizes.get(hold.station_in, "") for each in openings)
        return next((size for size in sizes if size), "")


@dataclass(frozen=True, kw_only=True, slots=True)
class Join:
    """A line that ends on another line's post: the directions its fence leaves in."""

    line_id: str
    bearings: tuple[float, ...]
    has_gate: bool
    has_rails: bool
    gate_size: str = ""


PostPlace = tuple[str, float]  # a line's id and the station of one of its holds


def frames_of(site: Site, catalog: Catalog) -> list[Frame]:
    """Return the frame of every line of a site whose fence system is there."""
    lines = [line for line in site.lines if line.system in catalog.systems]
    joined: dict[str, set[str]] = {}
    for line in lines:
        for end in shared_ends(line):
            joined.setdefault(end.shared_line, set()).add(end.shared_at)
    courses = _courses_of(lines, catalog)
    tolerance_in = site.conditions.hand_dig_tolerance_in
    return [_frame(courses[line.id], joined.get(line.id, set()), tolerance_in) for line in lines]


def shared_ends(line: FenceLine) -> list[LineEnd]:
    """Return the ends of a line that stand on another line's post."""
    if line.closed:
        return []
    return [end for end in (line.start, line.end) if end.kind == "shared_post"]


def _frame(course: Course, joined: set[str], tolerance_in: float) -> Frame:
    if course.line.scope == "removal":
        return Frame(course=course, holds=(), spans=(), bay_lengths=(), plans=(), findings=())
    openings, findings = place_gates(course)
    holds = with_gates(base_holds(course, joined), openings)
    holds = with_standing_posts(holds, spans_of(holds, openings), course)
    holds = with_pull_posts(holds, spans_of(holds, openings), course)
    spans = spans_of(holds, openings)
    obstacles = obstacles_of(course, tolerance_in)
    plans = [plan_section(section, course, obstacles) for section in sections_of(spans)]
    lengths = {
        id(span): bays
        for plan in plans
        for span, bays in zip(plan.spans, plan.bay_lengths, strict=True)
    }
    return Frame(
        course=course,
        holds=tuple(holds),
        spans=tuple(spans),
        bay_lengths=tuple(lengths.get(id(span), ()) for span in spans),
        plans=tuple(plans),
        findings=tuple(findings),
    )


def _courses_of(lines: Sequence[FenceLine], catalog: Catalog) -> dict[str, Course]:
    """Lay every course; a line that starts on another's post is laid after it, from there."""
    by_id = {line.id: line for line in lines}
    courses: dict[str, Course] = {}
    for line in lines:
        chain = [line]
        while chain[-1].start.kind == "shared_post":
            owner = by_id.get(chain[-1].start.shared_line)
            if owner is None or owner in chain:
                break
            chain.append(owner)
        for each in reversed(chain):
            if each.id not in courses:
                system = catalog.systems[each.system]
                if each.division:
                    system = replace(system, division=each.division)
                courses[each.id] = lay_course(each, system, _first_centre(each, courses))
    return courses


def _first_centre(line: FenceLine, courses: Mapping[str, Course]) -> Point | None:
    owner = courses.get(line.start.shared_line)
    if line.closed or line.start.kind != "shared_post" or owner is None:
        return None
    station_in = station_named(owner, line.start.shared_at)
    return None if station_in is None else owner.point_at(station_in)


def joins_of(
    frames: Sequence[Frame],
) -> tuple[dict[PostPlace, list[Join]], dict[PostPlace, PostPlace]]:
    """Return who joins at each post, and for each shared hold the post that serves it."""
    by_id = {frame.line.id: frame for frame in frames}
    joins: dict[PostPlace, list[Join]] = {}
    owners: dict[PostPlace, PostPlace] = {}
    for frame in frames:
        if not frame.holds:
            continue
        for hold, end in ((frame.holds[0], frame.line.start), (frame.holds[-1], frame.line.end)):
            owner = by_id.get(end.shared_line)
            served_by = owner.hold_named(end.shared_at) if owner else None
            if hold.kind != "shared_post" or served_by is None or served_by.kind not in OWN_POST:
                continue
            place = (end.shared_line, served_by.station_in)
            owners[(frame.line.id, hold.station_in)] = place
            join = Join(
                line_id=frame.line.id,
                bearings=frame.fence_bearings(hold),
                has_gate=frame.has_gate_at(hold),
                has_rails=frame.course.system.family == "panel",
                gate_size=frame.gate_size_at(hold),
            )
            joins.setdefault(place, []).append(join)
    return joins, owners
