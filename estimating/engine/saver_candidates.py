"""Small changes that may save a post, a bay or cuts, found by arithmetic on a finished layout.

Nothing is promised here: `savers` estimates every one of them anew.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

from estimating.engine.catalog import Catalog, Rules
from estimating.engine.course import Course, lay_course
from estimating.engine.geometry import PER_INCH, to_grid, turn_between
from estimating.engine.result import EstimateResult, GateLayout, LineLayout, Post, Section
from estimating.engine.saver_changes import (
    Change,
    DivideAnew,
    DropPin,
    End,
    LegCut,
    MoveGate,
    SharePost,
    Shorten,
)
from estimating.engine.site import FenceLine, Gate, LineEnd, Site

OPPOSITE_DEG = 179.0
# On steep ground a station moves less than the tape's reading; a change that needs more than this
# beyond the level one is over the firm's limit anyway.
MOST_TAPE_STEPS = 32


@dataclass(frozen=True, kw_only=True, slots=True)
class Candidate:
    """A change worth estimating. Of all with the same subject only the best is shown.

    `bays` is how many fewer the arithmetic expects.
    """

    change: Change
    subject: str
    by_in: float
    bays: int


@dataclass(frozen=True, kw_only=True, slots=True)
class _Run:
    """One line as it was measured, laid and laid out."""

    line: FenceLine
    course: Course
    layout: LineLayout

    def section_from(self, station_in: float) -> Section | None:
        """Return the section that starts at a station."""
        return next((s for s in self.layout.sections if s.start_station_in == station_in), None)

    def section_to(self, station_in: float) -> Section | None:
        """Return the section that ends at a station."""
        return next((s for s in self.layout.sections if _end_in(s) == station_in), None)


def candidates(site: Site, catalog: Catalog, result: EstimateResult) -> list[Candidate]:
    """Return the changes worth estimating, the most promising first; always in the same order."""
    layouts = {layout.line_id: layout for layout in result.lines}
    runs = [
        _Run(
            line=line,
            course=lay_course(line, catalog.systems[line.system]),
            layout=layouts[line.id],
        )
        for line in site.lines
        if line.id in layouts and line.scope != "removal"
    ]
    joined = {
        (end.shared_line, end.shared_at)
        for run in runs
        for end in (run.line.start, run.line.end)
        if end.kind == "shared_post"
    }
    found = [
        each
        for run in runs
        for each in (
            *_gate_moves(run, catalog.rules),
            *_shorter_ends(run, catalog.rules, joined),
            *_set_backs(run, catalog.rules, joined),
            *_divided_anew(run, catalog),
            *_without_pins(run),
        )
    ]
    found += _shared_posts(runs, catalog.rules, joined)
    return sorted(found, key=lambda each: (-each.bays, each.by_in, each.subject))


def saving_in(section: Section) -> float:
    """Return by how much a section must shrink for one bay less, on the grid; 0 if it can't."""
    if section.bays < 2:
        return 0.0
    over_in = section.length_in - (section.bays - 1) * section.max_on_centre_in
    return max(0.0, math.ceil(over_in * PER_INCH - 1e-6) / PER_INCH)


def _end_in(section: Section) -> float:
    return section.start_station_in + section.length_in


# --- A gate moved a little


def _gate_moves(run: _Run, rules: Rules) -> Iterator[Candidate]:
    gates = {gate.id: gate for gate in run.line.gates}
    for layout in run.layout.gates:
        before = run.section_to(to_grid(layout.near_centre_in))
        after = run.section_from(to_grid(layout.near_centre_in + layout.on_centre_in))
        if before is None or after is None:
            continue
        for station_in, bays in _moves_between(before, after):
            yield from _gate_move(run, gates[layout.id], layout, station_in, bays, rules)


def _moves_between(before: Section, after: Section) -> Iterator[tuple[float, int]]:
    """Yield how far a gate may move between two sections, and how many bays that may save."""
    for shrinking, growing, way in ((before, after, -1), (after, before, 1)):
        room_in = growing.bays * growing.max_on_centre_in - growing.length_in
        if 0 < saving_in(shrinking) <= room_in:
            yield way * saving_in(shrinking), 1
        full_in = math.floor(room_in * PER_INCH + 1e-6) / PER_INCH
        if 0 < full_in < shrinking.length_in:
            yield way * full_in, 0  # every bay of the growing section is a full one then


def _gate_move(
    run: _Run, gate: Gate, layout: GateLayout, station_in: float, bays: int, rules: Rules
) -> Iterator[Candidate]:
    by_in = _tape_change(run.course, gate.station_in, station_in)
    if by_in is None or abs(by_in) > rules.gate_move_limit_in or gate.station_in + by_in < 0:
        return
    yield Candidate(
        change=MoveGate(line_id=run.line.id, gate_id=gate.id, by_in=by_in),
        subject=f"gate {run.line.id} {layout.id}",
        by_in=abs(by_in),
        bays=bays,
    )


def _tape_change(course: Course, taped_in: float, by_station_in: float) -> float | None:
    """Return the least change of a tape reading that moves its station so far, or farther."""
    way = 1 if by_station_in > 0 else -1
    was_in = course.station_of_tape(taped_in)
    for step in range(MOST_TAPE_STEPS):
        by_in = by_station_in + way * step / PER_INCH
        if abs(course.station_of_tape(taped_in + by_in) - was_in) >= abs(by_station_in) - 1e-9:
            return by_in
    return None


# --- An end or a set-back a little shorter


def _shorter_ends(run: _Run, rules: Rules, joined: set[tuple[str, str]]) -> Iterator[Candidate]:
    line, course = run.line, run.course
    if line.closed:
        return
    ends: tuple[tuple[End, LineEnd, Section | None, float], ...] = (
        ("end", line.end, run.section_to(course.last_in), _taped_in(line, len(line.legs))),
        ("start", line.start, run.section_from(course.first_in), 0.0),
    )
    offered: list[int] = []
    for at, end, section, taped_in in ends:
        if end.kind != "post" or section is None or (line.id, at) in joined:
            continue
        if section.number in offered:
            continue  # between two free ends either may be cut back, both needn't
        offered.append(section.number)
        leg = 0 if at == "start" else len(line.legs) - 1
        way = 1 if at == "start" else -1
        yield from _shorter(run, ((leg, at, taped_in, way),), (section,), rules)


def _set_backs(run: _Run, rules: Rules, joined: set[tuple[str, str]]) -> Iterator[Candidate]:
    """Yield pairs of opposite legs: cut alike, what lies between them stands back as a whole."""
    line, course = run.line, run.course
    if line.taped == "along_grade" and line.ground:
        return  # two legs of one taped length reach different level distances there
    for i, j in combinations(range(len(line.legs)), 2):
        is_opposite = abs(turn_between(course.bearings[i], course.bearings[j])) > OPPOSITE_DEG
        if not is_opposite or _holds_others(line, i, j, joined):
            continue
        sides = (
            run.section_to(course.joints[i + 1].station_in),
            run.section_from(course.joints[j].station_in),
        )
        sections = [section for section in sides if section]
        places: tuple[tuple[int, End, float, int], ...] = (
            (i, "end", _taped_in(line, i + 1), -1),
            (j, "start", _taped_in(line, j), 1),
        )
        yield from _shorter(run, places, sections, rules)


def _holds_others(line: FenceLine, i: int, j: int, joined: set[tuple[str, str]]) -> bool:
    """Say whether anything stands on the legs that would move which can't move with them."""
    if any((line.id, f"corner {number}") in joined for number in range(i + 1, j + 1)):
        return True
    from_in, to_in = _taped_in(line, i), _taped_in(line, j + 1)
    stations = [each.station_in for each in line.no_dig]
    stations += [each.station_in for each in line.fixed_points]
    return any(from_in <= station_in <= to_in for station_in in stations)


def _shorter(
    run: _Run,
    places: Sequence[tuple[int, End, float, int]],
    sections: Sequence[Section],
    rules: Rules,
) -> Iterator[Candidate]:
    """Yield the cuts by which any of the sections loses a bay; `places` are leg, end, tape, way."""
    savings = sorted({saving_in(section) for section in sections} - {0.0})
    for station_in in savings:
        needed = [_tape_change(run.course, taped, way * station_in) for _, _, taped, way in places]
        if None in needed:
            continue
        by_in = max(abs(each) for each in needed if each is not None)
        legs = [run.line.legs[leg].length_in for leg, *_ in places]
        if by_in > rules.end_move_limit_in or by_in >= min(legs):
            continue
        yield Candidate(
            change=Shorten(
                line_id=run.line.id,
                cuts=tuple(LegCut(leg=leg, at=at, by_in=by_in) for leg, at, _, _ in places),
            ),
            subject=f"legs {run.line.id} " + " ".join(f"{leg} {at}" for leg, at, _, _ in places),
            by_in=by_in,
            bays=sum(0 < saving_in(section) <= station_in for section in sections),
        )


def _taped_in(line: FenceLine, legs: int) -> float:
    return sum(to_grid(leg.length_in) for leg in line.legs[:legs])


# --- Full bays with one short one, for fewer cuts


def _divided_anew(run: _Run, catalog: Catalog) -> Iterator[Candidate]:
    """Yield full bays for a line of equal ones that are all cut."""
    line, system = run.line, catalog.systems[run.line.system]
    is_equal = (line.division or system.division) == "equal"
    cut = sum(bay.is_cut for bay in run.layout.bays)
    short = sum(saving_in(section) > 0 for section in run.layout.sections)
    if is_equal and cut > short:
        yield Candidate(
            change=DivideAnew(line_id=line.id, division="full_and_short"),
            subject=f"bays {line.id}",
            by_in=0.0,
            bays=0,
        )


# --- Fewer steps: a bay set by hand, left to the choice that takes the fewest


def _without_pins(run: _Run) -> Iterator[Candidate]:
    for pin in run.line.bay_pins:
        yield Candidate(
            change=DropPin(line_id=run.line.id, station_in=pin.station_in),
            subject=f"pin {run.line.id} {pin.station_in}",
            by_in=0.0,
            bays=0,
        )


# --- A post that two lines share


def _shared_posts(
    runs: Sequence[_Run], rules: Rules, joined: set[tuple[str, str]]
) -> Iterator[Candidate]:
    for run in runs:
        for at, post in _own_ends(run, joined):
            for other in runs:
                if other is run or (at == "start" and other.line.start.kind == "shared_post"):
                    continue
                for name, theirs in _posts_to_share(other):
                    yield from _share(run, (at, post), other, (name, theirs), rules)


def _own_ends(run: _Run, joined: set[tuple[str, str]]) -> Iterator[tuple[End, Post]]:
    """Yield the end posts of a line that it could do without."""
    line, posts = run.line, run.layout.posts
    if line.closed or not posts:
        return
    ends: tuple[tuple[End, LineEnd, float, Post], ...] = (
        ("start", line.start, run.course.first_in, posts[0]),
        ("end", line.end, run.course.last_in, posts[-1]),
    )
    for at, end, station_in, post in ends:
        is_own = end.kind == "post" and post.station_in == station_in
        if is_own and (line.id, at) not in joined:
            yield at, post


def _posts_to_share(run: _Run) -> Iterator[tuple[str, Post]]:
    """Yield the posts at a line's ends and corners by the names that other lines call them."""
    by_station = {post.station_in: post for post in run.layout.posts}
    course, line = run.course, run.line
    named = [(f"corner {n}", joint.station_in) for n, joint in course.inner_joints.items()]
    if line.start.kind == "post":
        named.append(("start", course.first_in))
    if line.end.kind == "post" and not line.closed:
        named.append(("end", course.last_in))
    for name, station_in in named:
        if station_in in by_station:
            yield name, by_station[station_in]


def _share(
    run: _Run,
    own: tuple[End, Post],
    other: _Run,
    theirs: tuple[str, Post],
    rules: Rules,
) -> Iterator[Candidate]:
    """Yield the change where the line, run on or stopped short, meets the other's post."""
    at, post = own
    name, served_by = theirs
    east_in, north_in = served_by.x_in - post.x_in, served_by.y_in - post.y_in
    limit_in = rules.end_move_limit_in
    if (
        abs(east_in) > limit_in + served_by.width_in
        or abs(north_in) > limit_in + served_by.width_in
    ):
        return
    outwards_deg = run.course.bearings[-1] if at == "end" else run.course.bearings[0] + 180
    angle = math.radians(outwards_deg)
    along_in = to_grid(east_in * math.sin(angle) + north_in * math.cos(angle))
    aside_in = abs(east_in * math.cos(angle) - north_in * math.sin(angle))
    if abs(along_in) > limit_in or aside_in > served_by.width_in / 2:
        return
    course = run.course
    # The tape's zero and its last reading lie at the posts' centres from then on.
    to_centre_in = (
        -course.first_in if at == "start" else course.last_in - course.joints[-1].station_in
    )
    pair = sorted((f"{run.line.id} {at}", f"{other.line.id} {name}"))
    yield Candidate(
        change=SharePost(
            line_id=run.line.id,
            at=at,
            with_line=other.line.id,
            with_at=name,
            longer_in=along_in + to_centre_in,
        ),
        subject="post " + " ".join(pair),
        by_in=abs(along_in),
        bays=0,
    )
