"""The site plan, to scale: fence lines with lengths, posts, gates with their swing, north."""

from collections.abc import Sequence
from functools import partial
from html import escape
from itertools import pairwise

from estimating.drawing import marks
from estimating.drawing.dimensions import dimension_legs, leg_at
from estimating.drawing.fixed_points import draw_fixed, fixed_sample
from estimating.drawing.frame import LARGEST_DRAWING, WIDTH, Entry, Frame, frame_for, surround
from estimating.drawing.gates import draw_gate, gate_ends, name_gates
from estimating.drawing.labels import Label, Paper, Spot
from estimating.drawing.sheet import (
    FixedMark,
    Point,
    Sheet,
    UtilityMark,
    Words,
    direction,
    keep_words_off,
    normal,
)
from estimating.drawing.surroundings import draw_utility, draw_walls, has_wall, name_line
from estimating.engine.result import LineLayout, Post
from firm.measure.written import US, how_many, long_length

DASHES = {"whole_fence": "", "posts_only": "9 5", "removal": "2 5"}
SCOPE_WORDS = {"posts_only": "posts only", "removal": "old fence to remove"}
NUMBER_SIZE = 10.5


def plan_svg(
    lines: Sequence[LineLayout],
    *,
    title: str,
    length_words: Words | None = None,
    units: str = US,
    id_prefix: str = "plan",
    utilities: Sequence[UtilityMark] = (),
    fixed: Sequence[FixedMark] = (),
    largest_drawing: float = LARGEST_DRAWING,
    width: float = WIDTH,
    is_bare: bool = False,
) -> str:
    """Return the plan of all lines as one SVG element, or "" where there is nothing to draw.

    `units` rule the scale bar, and the lengths where `length_words` doesn't write them. A bare
    plan has neither legend nor scale bar, and may be narrower.
    """
    write = length_words or partial(long_length, units=units)
    lines = [line for line in lines if len(line.plan_points) > 1]
    if not lines:
        return ""
    entries = _entries(lines, utilities, fixed)
    frame = frame_for(
        lines, entries=len(entries), largest=largest_drawing, width=width, is_bare=is_bare
    )
    sheet = Sheet(
        scale=frame.scale,
        paper=Paper(width=frame.area_width, height=frame.area_height),
        length_words=write,
        posts={post.number: post for line in lines for post in line.posts},
        units=units,
    )
    if not frame.is_beside:
        sheet.paper.take(Spot(x=width - 28, y=30, radius=26))
    _draw(sheet, lines, utilities)
    for line in lines:
        for standing in fixed:
            if standing.line_id == line.line_id:
                draw_fixed(sheet, line, standing)
    _write(sheet, lines)
    return _svg(
        sheet,
        frame,
        surround(sheet, frame, entries),
        title=title,
        about=_about(lines, write),
        id_prefix=id_prefix,
    )


def _draw(sheet: Sheet, lines: Sequence[LineLayout], utilities: Sequence[UtilityMark]) -> None:
    for line in lines:
        draw_walls(sheet, line)
        _draw_run(sheet, line)
    for line in lines:
        for gate in line.gates:
            draw_gate(sheet, line, gate)
    for post in sheet.posts.values():
        _draw_post(sheet, post)
    for line in lines:
        for mark in utilities:
            if mark.line_id == line.line_id:
                draw_utility(sheet, line, mark)


def _write(sheet: Sheet, lines: Sequence[LineLayout]) -> None:
    for line in lines:
        dimension_legs(sheet, line)
    for line in lines:
        name_gates(sheet, line)
    for line in lines:
        if len(lines) > 1:
            name_line(sheet, line)
        _number_posts(sheet, line)


def _svg(
    sheet: Sheet, frame: Frame, surroundings: str, *, title: str, about: str, id_prefix: str
) -> str:
    body = "".join(sheet.parts) + "".join(sheet.labels) + surroundings
    height = marks.number(frame.height)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {marks.number(frame.width)}'
        f' {height}" role="img" class="plan"'
        f' aria-labelledby="{id_prefix}-title {id_prefix}-about">'
        f'<title id="{id_prefix}-title">{escape(title)}</title>'
        f'<desc id="{id_prefix}-about">{escape(about)}</desc>'
        f'<rect width="{marks.number(frame.width)}" height="{height}"'
        f' fill="{marks.PAPER}"/>{body}</svg>'
    )


def _about(lines: Sequence[LineLayout], length_words: Words) -> str:
    """Return the drawing in words, for people who can't see it."""
    told = []
    for line in lines:
        gates = "".join(
            f", gate {gate.id} {length_words(gate.clear_opening_in)} clear" for gate in line.gates
        )
        told.append(
            f"{line.name}: {length_words(line.length_in)}, "
            f"{how_many(len(line.posts), 'post')}{gates}."
        )
    return " ".join(told)


def _draw_run(sheet: Sheet, line: LineLayout) -> None:
    """Draw the fence itself and the ticks on its finished face."""
    drawn = [sheet.scale.at(*point) for point in line.plan_points]
    colour = marks.SOFT if line.scope == "removal" else marks.INK
    openings = [gate_ends(sheet, line, gate) for gate in line.gates]
    for start, end in pairwise(drawn):
        sheet.parts.append(
            marks.line(*start, *end, width=2.5, colour=colour, dashes=DASHES.get(line.scope, ""))
        )
        keep_words_off(sheet.paper, start, end)
        if line.scope == "whole_fence":
            sheet.parts += _face_ticks(start, end, line.finished_face, openings)


def _face_ticks(
    start: Point, end: Point, face: str, openings: Sequence[tuple[Point, Point]]
) -> list[str]:
    along, length = direction(start, end)
    aside = normal(along, face)
    count = max(1, int(length // 44))
    ticks = []
    for i in range(count):
        at = length * (i + 0.5) / count
        x, y = start[0] + along[0] * at, start[1] + along[1] * at
        if not any(_is_between((x, y), *opening) for opening in openings):
            ticks.append(marks.line(x, y, x + aside[0] * 6, y + aside[1] * 6))
    return ticks


def _is_between(point: Point, near: Point, far: Point) -> bool:
    _, opening = direction(near, far)
    return direction(point, near)[1] + direction(point, far)[1] < opening + 8


def _draw_post(sheet: Sheet, post: Post) -> None:
    x, y = sheet.scale.at(post.x_in, post.y_in)
    sheet.parts.append(marks.POST_MARKS[post.kind](x, y))
    sheet.paper.take(Spot(x=x, y=y, radius=6))
    if post.hand_dig:
        sheet.parts.append(marks.hand_dig(x, y))


def _number_posts(sheet: Sheet, line: LineLayout) -> None:
    """Number terminals first, then line posts as far as there is room."""
    drawn = [sheet.scale.at(*point) for point in line.plan_points]
    back = "left" if line.finished_face == "right" else "right"
    posts = sorted(line.posts, key=lambda post: (post.kind == "line", post.number))
    for post in posts:
        x, y = sheet.scale.at(post.x_in, post.y_in)
        along = leg_at((x, y), drawn)
        ways = [normal(along, back), normal(along, line.finished_face)]
        ways += [(0.7, -0.7), (-0.7, -0.7), (0.7, 0.7), (-0.7, 0.7), (0, -1), (0, 1), (1, 0)]
        candidates = [
            Label(text=str(post.number), size=NUMBER_SIZE, x=x + dx * distance, y=y + dy * distance)
            for distance in (14, 20)
            for dx, dy in ways
        ]
        label = sheet.paper.place(candidates)
        if label:
            sheet.labels.append(
                marks.words(label.text, label.x, label.y, size=NUMBER_SIZE, colour=marks.SOFT)
            )


def _entries(
    lines: Sequence[LineLayout], utilities: Sequence[UtilityMark], fixed: Sequence[FixedMark]
) -> list[Entry]:
    """Return what the legend explains: what is drawn and nothing else."""
    posts = [post for line in lines for post in line.posts]
    scopes = {line.scope for line in lines}
    kinds = {post.kind for post in posts}
    asked: list[tuple[bool, marks.Draw, str]] = [
        (kind in kinds, mark, marks.POST_WORDS[kind]) for kind, mark in marks.POST_MARKS.items()
    ]
    asked += [
        (any(post.hand_dig for post in posts), marks.hand_dig, "dig by hand"),
        (bool(utilities), marks.utility_sample, "marked utility"),
        (bool(fixed), fixed_sample, "standing already"),
        (has_wall(lines), marks.wall_sample, "wall"),
        ("whole_fence" in scopes, marks.finished_face, "finished face"),
        *(
            (scope in scopes, _scope_sample(DASHES[scope]), SCOPE_WORDS[scope])
            for scope in ("posts_only", "removal")
        ),
    ]
    return [(draw, words) for is_drawn, draw, words in asked if is_drawn]


def _scope_sample(dashes: str) -> marks.Draw:
    return lambda x, y: marks.line(x - 9, y, x + 9, y, width=2.5, dashes=dashes)
