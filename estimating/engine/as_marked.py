"""A sold site as its crew found and marked it: real legs, real marks, posts that stand elsewhere.

The document's legs and marks are replaced and laid out as ever; then posts that were moved are put
where they stand, and what hangs on them is worked out again: bays, spacers, rails, cuts, hand dig.
Ends, corners, gate posts and pull posts stand where the legs and gates put them.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from estimating.engine import estimate as estimating
from estimating.engine.bays import COUNT_TOLERANCE_IN
from estimating.engine.catalog import Catalog, Override, TypedLine
from estimating.engine.errors import EngineError
from estimating.engine.findings import GRAVEST_FIRST, find
from estimating.engine.frames import Frame, frames_of
from estimating.engine.geometry import to_grid
from estimating.engine.layout import lay_out, lines_before_ground
from estimating.engine.nodig import must_hand_dig, zones_of
from estimating.engine.on_ground import FULL_BAY_TOLERANCE_IN, on_ground
from estimating.engine.products import product_for, product_of
from estimating.engine.result import Bay, EstimateResult, Finding, LineLayout, Post
from estimating.engine.site import NoDigStrip, Site
from firm.measure.lengths import format_ft_in, format_in
from firm.measure.said import Said

WHY_FIXED = {
    "gate": Said("a gate post: moved alone it would change the gate's clear opening"),
    "corner": Said("a corner post: it moves with the length of the leg before it"),
    "end": Said("an end post: it moves with the length of its leg"),
    "pull": Said("a pull post: the fabric is stretched from it"),
    "line": Said("a post at a bend or joint: it moves with the length of the leg before it"),
}


@dataclass(frozen=True, kw_only=True, slots=True)
class FoundLine:
    """A line as it was found: all its legs' lengths and all its marks, or None for as before."""

    line_id: str
    leg_lengths_in: tuple[float, ...] | None = None
    marks: tuple[NoDigStrip, ...] | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class MovedPost:
    """A post that stands elsewhere than it was laid out; its number is the one laid out."""

    number: int
    station_in: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Entries:
    """What the crew lead entered on layout day."""

    lines: tuple[FoundLine, ...] = ()
    moved: tuple[MovedPost, ...] = field(default=())


def found_document(
    document: Mapping[str, Any], site: Site, lines: Sequence[FoundLine]
) -> dict[str, Any]:
    """Return the document with the legs and marks that were found; `site` is what it says.

    Raises:
        EngineError: an entry names no line, or has more or fewer legs than its line.
    """
    found = {each.line_id: each for each in lines}
    by_id = {line.id: line for line in site.lines}
    for line_id, each in found.items():
        _check_found(each, len(by_id[line_id].legs) if line_id in by_id else None)
    changed = []
    for data in document["lines"]:
        each = found.get(data["id"], FoundLine(line_id=data["id"]))
        line, new = by_id[data["id"]], dict(data)
        if each.leg_lengths_in is not None:
            new.pop("points", None)
            pairs = zip(each.leg_lengths_in, line.legs, strict=True)
            new |= {
                "legs": [{"length_in": length, "turn_deg": leg.turn_deg} for length, leg in pairs],
                "start_x_in": line.start_x_in,
                "start_y_in": line.start_y_in,
                "bearing_deg": line.bearing_deg,
            }
        if each.marks is not None:
            new["no_dig"] = [
                {
                    "station_in": mark.station_in,
                    "facility_width_in": mark.facility_width_in,
                    "crossing_deg": mark.crossing_deg,
                    "utility": mark.utility,
                    "hand_dig": mark.hand_dig,
                }
                for mark in each.marks
            ]
        changed.append(new)
    return {**document, "lines": changed}


def _check_found(found: FoundLine, legs: int | None) -> None:
    if legs is None:
        raise EngineError(
            Said("There is no line {line}.", line=found.line_id), field=f"line:{found.line_id}"
        )
    if found.leg_lengths_in is not None and len(found.leg_lengths_in) != legs:
        raise EngineError(
            Said(
                "Line {line} was measured with {legs} legs, not {found}: a new corner is a new "
                "estimate.",
                line=found.line_id,
                legs=legs,
                found=len(found.leg_lengths_in),
            ),
            field=f"line:{found.line_id}",
        )


def as_marked(
    site: Site,
    catalog: Catalog,
    *,
    moved: Sequence[MovedPost] = (),
    typed: Sequence[TypedLine] = (),
    overrides: Sequence[Override] = (),
) -> EstimateResult:
    """Estimate a site whose legs and marks are as found, with the posts that were moved.

    Without a moved post this is the plain estimate of the site.

    Raises:
        EngineError: a post can't stand where it was moved to; the error's field is `post:7`.
    """
    frames = frames_of(site, catalog)
    lines, owners = lines_before_ground(site, frames)
    lines = _with_moves(lines, frames, moved, site.conditions.hand_dig_tolerance_in)
    lines = on_ground(frames, lines, is_pool=site.conditions.pool_barrier)
    result = estimating.estimate_lines(
        lines, catalog, site.conditions, typed=typed, hand_set_figures=overrides
    )
    found = [*find(site, frames, lines, owners), *_wide_bays(lines, catalog)]
    found.sort(key=lambda each: GRAVEST_FIRST.index(each.severity))
    return replace(result, findings=(*found, *result.findings))


def movable_posts(site: Site, catalog: Catalog) -> frozenset[int]:
    """Return the numbers of the posts that may be moved: line posts between two holds."""
    frames = frames_of(site, catalog)
    return frozenset(
        post.number
        for frame, line in zip(frames, lay_out(site, catalog).lines, strict=True)
        for post in line.posts
        if _is_movable(post, frame)
    )


def refuse_lost_gates(old: EstimateResult, new: EstimateResult) -> None:
    """Refuse what leaves out a gate that was there before.

    Raises:
        EngineError: a gate no longer fits its leg; the field is `line:A`.
    """
    for was, now in zip(old.lines, new.lines, strict=True):
        lost = {gate.id for gate in was.gates} - {gate.id for gate in now.gates}
        if lost:
            raise EngineError(
                Said(
                    "Gate {gates} no longer fits line {line}. Check the legs; a changed gate is "
                    "priced by the office.",
                    gates=", ".join(sorted(lost)),
                    line=now.line_id,
                ),
                field=f"line:{now.line_id}",
            )


def _is_movable(post: Post, frame: Frame) -> bool:
    return all(hold.station_in != post.station_in for hold in frame.holds)


def no_post(number: int) -> EngineError:
    """Return the refusal of a post that the layout doesn't have, to be raised."""
    return EngineError(
        Said("There is no post {number} any more.", number=number), field=f"post:{number}"
    )


def _with_moves(
    lines: Sequence[LineLayout],
    frames: Sequence[Frame],
    moved: Sequence[MovedPost],
    tolerance_in: float,
) -> tuple[LineLayout, ...]:
    posts = {post.number for line in lines for post in line.posts}
    stands: dict[int, float] = {}
    for move in moved:
        if move.number not in posts:
            raise no_post(move.number)
        stands[move.number] = to_grid(move.station_in)
    return tuple(
        _moved_line(line, frame, stands, tolerance_in)
        for line, frame in zip(lines, frames, strict=True)
    )


def _moved_line(
    line: LineLayout, frame: Frame, stands: Mapping[int, float], tolerance_in: float
) -> LineLayout:
    shifts = {
        post.number: stands[post.number]
        for post in line.posts
        if stands.get(post.number, post.station_in) != post.station_in
    }
    if not shifts:
        return line
    for post in line.posts:
        if post.number in shifts and not _is_movable(post, frame):
            raise EngineError(
                Said("Post {number} is {why}.", number=post.number, why=WHY_FIXED[post.kind]),
                field=f"post:{post.number}",
            )
    return replace(
        line,
        posts=tuple(
            _moved_post(post, frame, shifts[post.number], tolerance_in)
            if post.number in shifts
            else post
            for post in line.posts
        ),
        bays=tuple(_moved_bay(bay, frame, shifts) for bay in line.bays),
    )


def _moved_post(post: Post, frame: Frame, station_in: float, tolerance_in: float) -> Post:
    course = frame.course
    product = product_of(course.system, post)
    x_in, y_in = course.point_at(station_in)
    return replace(
        post,
        station_in=station_in,
        x_in=x_in,
        y_in=y_in,
        elevation_in=course.elevation_at(station_in),
        hand_dig=must_hand_dig(course.system, product, station_in, zones_of(course, tolerance_in)),
    )


def _moved_bay(bay: Bay, frame: Frame, shifts: Mapping[int, float]) -> Bay:
    """Return a bay between its posts as they stand; halves of posts and insertions stay."""
    if bay.from_post not in shifts and bay.to_post not in shifts:
        return bay
    start_in = shifts.get(bay.from_post, bay.start_station_in)
    end_in = shifts.get(bay.to_post, bay.start_station_in + bay.on_centre_in)
    if end_in <= start_in:
        raise _past_neighbour(bay, shifts, start_in, end_in)
    system = frame.course.system
    spacer_in = (end_in - start_in) - (bay.on_centre_in - bay.spacer_in)
    full_in = system.max_on_centre_in - product_for(system, "line").width_in
    return replace(
        bay,
        start_station_in=start_in,
        on_centre_in=end_in - start_in,
        spacer_in=spacer_in,
        panel_in=spacer_in + (bay.panel_in - bay.spacer_in),
        is_cut=system.family == "panel" and spacer_in < full_in - FULL_BAY_TOLERANCE_IN,
    )


def _past_neighbour(
    bay: Bay, shifts: Mapping[int, float], start_in: float, end_in: float
) -> EngineError:
    is_first = bay.from_post in shifts
    number, other = (bay.from_post, bay.to_post) if is_first else (bay.to_post, bay.from_post)
    at_in, other_in = (start_in, end_in) if is_first else (end_in, start_in)
    wall = Said("the wall or post at the line's end")
    return EngineError(
        Said(
            "Post {number} can't stand at {at}: that is at or past {neighbour} at {there}.",
            number=number,
            at=format_ft_in(at_in),
            neighbour=Said("post {number}", number=other) if other else wall,
            there=format_ft_in(other_in),
        ),
        field=f"post:{number}",
    )


def _wide_bays(lines: Sequence[LineLayout], catalog: Catalog) -> list[Finding]:
    """Return the bays that a moved post made wider than the system allows."""
    return [
        Finding(
            code="bay-over-maximum",
            severity="stop",
            message=f"Bay {bay.number} of line {line.line_id} is wider than the system allows.",
            place=f"line {line.line_id}, bay {bay.number}, "
            f"station {format_ft_in(bay.start_station_in)}",
            figure=f"{format_in(bay.on_centre_in)} on centre",
            limit=f"{format_in(limit_in)} on centre",
            action="Move a post back, or ask the office for a post more.",
        )
        for line in lines
        for limit_in in [catalog.systems[line.system].max_on_centre_in]
        for bay in line.bays
        if bay.on_centre_in > limit_in + COUNT_TOLERANCE_IN
    ]
