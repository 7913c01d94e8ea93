"""What holds a line up where it can't run through: ends, corners, bends, gate and pull posts."""

import math
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal

from estimating.engine.catalog import FenceSystem
from estimating.engine.course import STRAIGHT_DEG, Course, closing_turn_deg
from estimating.engine.geometry import to_grid
from estimating.engine.openings import Opening
from estimating.engine.products import product_for

HoldKind = Literal[
    "end", "corner", "bend", "gate", "pull", "wall", "existing_post", "shared_post", "closing"
]
SpanKind = Literal["fence", "gate", "against"]
OWN_POST: frozenset[str] = frozenset({"end", "corner", "bend", "gate", "pull"})


@dataclass(frozen=True, kw_only=True, slots=True)
class Hold:
    """One hold: its station and kind, and the name by which other lines may share it.

    A bend is a line post at a slight turn, no terminal; `closing` is a closed line's first post
    met again. `width_in` is that of a post that stands in the line already, 0 elsewhere.
    """

    station_in: float
    kind: HoldKind
    turn_deg: float = 0.0
    name: str = ""
    size: str = ""  # of a gate post
    width_in: float = 0.0

    @property
    def runs_on(self) -> bool:
        """Say whether fence may pass here without a terminal."""
        return self.kind == "bend" or self.width_in > 0


@dataclass(frozen=True, kw_only=True, slots=True)
class Span:
    """What lies between two holds that follow one another: fence, a gate, or nothing at all."""

    start: Hold
    end: Hold
    kind: SpanKind
    opening: Opening | None = None


def base_holds(course: Course, joined: Collection[str]) -> list[Hold]:
    """Return the ends, corners and bends of a line; a joint that another line joins is a corner."""
    first = Hold(station_in=course.first_in, kind=_first_kind(course), name="start")
    last = Hold(station_in=course.last_in, kind=_last_kind(course), name="end")
    if course.line.closed:
        first = replace(first, turn_deg=closing_turn_deg(course))
    holds = [first]
    for number, joint in course.inner_joints.items():
        name = f"corner {number}"
        if abs(joint.turn_deg) > course.system.corner_turn_deg or name in joined:
            kind: HoldKind = "corner"
        elif abs(joint.turn_deg) > STRAIGHT_DEG:
            kind = "bend"
        else:
            continue
        holds.append(
            Hold(station_in=joint.station_in, kind=kind, turn_deg=joint.turn_deg, name=name)
        )
    return [*holds, last]


def _first_kind(course: Course) -> HoldKind:
    if course.line.closed:
        is_turn = abs(closing_turn_deg(course)) > course.system.corner_turn_deg
        # Fabric begins and ends at a terminal even where a closed line runs straight through.
        return "corner" if is_turn else "pull" if course.system.family == "fabric" else "bend"
    return "end" if course.line.start.kind == "post" else course.line.start.kind


def _last_kind(course: Course) -> HoldKind:
    if course.line.closed:
        return "closing"
    return "end" if course.line.end.kind == "post" else course.line.end.kind


def with_gates(holds: Sequence[Hold], openings: Iterable[Opening]) -> list[Hold]:
    """Return the holds with the gate posts among them, in order along the line.

    A gate that meets an end or a corner makes a gate post of it; a wall, a post that stands
    already and one of another line stay what they are.
    """
    by_station = {hold.station_in: hold for hold in holds}
    sizes = {station_in: size for each in openings for station_in, size in each.sizes.items()}
    for station_in, size in sizes.items():
        met = by_station.get(station_in)
        if met is None:
            by_station[station_in] = Hold(station_in=station_in, kind="gate", size=size)
        elif met.kind in OWN_POST:
            by_station[station_in] = replace(met, kind="gate", size=size)
    holds_in_order = sorted(by_station.values(), key=lambda hold: hold.station_in)
    last = holds_in_order[-1]
    if last.kind == "closing" and last.station_in in sizes:
        first = holds_in_order[0]
        size = first.size or sizes[last.station_in]
        holds_in_order[0] = replace(first, kind="gate", size=size)
    return holds_in_order


def with_standing_posts(holds: Sequence[Hold], spans: Iterable[Span], course: Course) -> list[Hold]:
    """Return the holds with the posts that stand in the line already and are to be used.

    One in a gate's opening, beyond the line's ends or in the place of a new post is left out.
    """
    line_in = product_for(course.system, "line").width_in
    wanted = {
        course.station_of_tape(point.station_in): point.width_in or line_in
        for point in course.line.fixed_points
        if point.use
    }
    fences = [(s.start.station_in, s.end.station_in) for s in spans if s.kind == "fence"]
    standing = [
        Hold(station_in=station_in, kind="existing_post", width_in=width_in)
        for station_in, width_in in wanted.items()
        if any(start_in < station_in < end_in for start_in, end_in in fences)
    ]
    return sorted([*holds, *standing], key=lambda hold: hold.station_in)


def half_in(hold: Hold, system: FenceSystem) -> float:
    """Return half the width of what stands at a hold; nothing of a wall lies inside the fence."""
    if hold.kind == "wall":
        return 0.0
    if hold.width_in:
        return hold.width_in / 2
    role = {"bend": "line"}.get(hold.kind, hold.kind)
    return product_for(system, role, hold.size).width_in / 2


def with_pull_posts(holds: Sequence[Hold], spans: Iterable[Span], course: Course) -> list[Hold]:
    """Return the holds with pull posts that part long stretches of fabric into equal ones."""
    every_in = course.system.pull_every_in
    if course.system.family != "fabric" or not every_in:
        return list(holds)
    stations = {hold.station_in for hold in holds}
    pulls: list[Hold] = []
    for section in sections_of(spans):
        start_in, end_in = section[0].start.station_in, section[-1].end.station_in
        parts = math.ceil((end_in - start_in) / every_in - 1e-9)
        for i in range(1, parts):
            station_in = to_grid(start_in + (end_in - start_in) * i / parts)
            if station_in not in stations:
                pulls.append(Hold(station_in=station_in, kind="pull"))
    return sorted([*holds, *pulls], key=lambda hold: hold.station_in)


def spans_of(holds: Sequence[Hold], openings: Iterable[Opening]) -> list[Span]:
    """Return what lies between each two neighbouring holds."""
    by_from: Mapping[float, Opening] = {each.from_in: each for each in openings}
    spans: list[Span] = []
    for start, end in pairwise(holds):
        opening = by_from.get(start.station_in)
        if opening is not None and opening.to_in == end.station_in:
            spans.append(Span(start=start, end=end, kind="gate", opening=opening))
        elif _stands_against(start, end, by_from, spans):
            spans.append(Span(start=start, end=end, kind="against"))
        else:
            spans.append(Span(start=start, end=end, kind="fence"))
    return spans


def _stands_against(
    start: Hold, end: Hold, by_from: Mapping[float, Opening], before: Sequence[Span]
) -> bool:
    """Say whether the stretch is only a gate post's half beside a wall."""
    length_in = end.station_in - start.station_in
    if start.kind == "wall" and end.station_in in by_from:
        return length_in <= by_from[end.station_in].from_half_in + 1 / 16
    if end.kind == "wall" and before and before[-1].opening is not None:
        return length_in <= before[-1].opening.to_half_in + 1 / 16
    return False


def sections_of(spans: Iterable[Span]) -> list[list[Span]]:
    """Return the stretches of fence between terminals; bends and standing posts don't end one."""
    sections: list[list[Span]] = []
    runs_on = False
    for span in spans:
        if span.kind != "fence":
            runs_on = False
            continue
        if runs_on:
            sections[-1].append(span)
        else:
            sections.append([span])
        runs_on = span.end.runs_on
    return sections
