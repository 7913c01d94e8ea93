"""The site plan, to scale: fence lines with lengths, posts, gates with their swing, north."""

import math
from collections.abc import Sequence
from html import escape
from itertools import pairwise

from estimating.drawing import marks
from estimating.drawing.gates import draw_gate, name_gates
from estimating.drawing.labels import Label, Paper, Spot
from estimating.drawing.sheet import MARGIN, Point, Scale, Sheet, Words, direction, normal
from estimating.engine.result import LineLayout, Post
from firm.measure.lengths import format_ft_in

WIDTH = 720.0
LARGEST_DRAWING = 460.0
SMALLEST_DRAWING = 50.0
FOOT_HEIGHT = 62.0
SCALE_STEPS_FT = (1, 2, 5, 10, 20, 25, 50, 100, 200, 250, 500, 1000)
DASHES = {"whole_fence": "", "posts_only": "9 5", "removal": "2 5"}
SCOPE_WORDS = {"posts_only": "posts only", "removal": "old fence to remove"}


def plan_svg(
    lines: Sequence[LineLayout],
    *,
    title: str,
    length_words: Words = format_ft_in,
    id_prefix: str = "plan",
) -> str:
    """Return the plan of all lines as one SVG element, or "" where there is nothing to draw."""
    points = [point for line in lines for point in line.plan_points]
    if not points:
        return ""
    scale, height = _scale_for(points)
    sheet = Sheet(
        scale=scale,
        paper=Paper(width=WIDTH, height=height - FOOT_HEIGHT),
        length_words=length_words,
        posts={post.number: post for line in lines for post in line.posts},
    )
    sheet.paper.take(Spot(x=WIDTH - 28, y=30, radius=26))
    for line in lines:
        _draw_run(sheet, line)
    for line in lines:
        for gate in line.gates:
            draw_gate(sheet, line, gate)
    for post in sheet.posts.values():
        _draw_post(sheet, post)
    for line in lines:
        _dimension_legs(sheet, line)
    for line in lines:
        name_gates(sheet, line)
        _number_posts(sheet, line)
    foot = _foot(sheet, lines, height)
    return _svg(
        sheet,
        foot,
        title=title,
        about=_about(lines, length_words),
        height=height,
        id_prefix=id_prefix,
    )


def _svg(sheet: Sheet, foot: str, *, title: str, about: str, height: float, id_prefix: str) -> str:
    body = "".join(sheet.parts) + "".join(sheet.labels) + foot
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {marks.number(WIDTH)}'
        f' {marks.number(height)}" role="img" class="plan"'
        f' aria-labelledby="{id_prefix}-title {id_prefix}-about">'
        f'<title id="{id_prefix}-title">{escape(title)}</title>'
        f'<desc id="{id_prefix}-about">{escape(about)}</desc>'
        f'<rect width="{marks.number(WIDTH)}" height="{marks.number(height)}"'
        f' fill="{marks.PAPER}"/>{body}</svg>'
    )


def _about(lines: Sequence[LineLayout], length_words: Words) -> str:
    """Return the drawing in words, for people who can't see it."""
    told = []
    for line in lines:
        count = len(line.posts)
        gates = f", gates {', '.join(gate.id for gate in line.gates)}" if line.gates else ""
        told.append(f"{line.name}: {length_words(line.length_in)}, {count} posts{gates}.")
    return " ".join(told)


def _scale_for(points: Sequence[Point]) -> tuple[Scale, float]:
    xs, ys = [x for x, _ in points], [y for _, y in points]
    wide, high = max(xs) - min(xs), max(ys) - min(ys)
    room = WIDTH - 2 * MARGIN
    factor = min(room / max(wide, 1.0), LARGEST_DRAWING / max(high, 1.0))
    drawn = max(high * factor, SMALLEST_DRAWING)
    scale = Scale(
        factor=factor,
        left_in=min(xs),
        # A flat line stands in the middle of the smallest drawing.
        top_in=max(ys) + (drawn / factor - high) / 2,
        offset=MARGIN + (room - wide * factor) / 2,
    )
    return scale, drawn + 2 * MARGIN + FOOT_HEIGHT


def _draw_run(sheet: Sheet, line: LineLayout) -> None:
    """Draw the fence itself and the ticks on its finished face."""
    drawn = [sheet.scale.at(*point) for point in line.plan_points]
    colour = marks.SOFT if line.scope == "removal" else marks.INK
    sheet.parts += [
        marks.line(*start, *end, width=2.5, colour=colour, dashes=DASHES.get(line.scope, ""))
        for start, end in pairwise(drawn)
    ]
    for start, end in pairwise(drawn):
        _keep_words_off(sheet.paper, start, end)
    if line.scope == "whole_fence":
        for start, end in pairwise(drawn):
            sheet.parts += _face_ticks(start, end, line.finished_face)


def _keep_words_off(paper: Paper, start: Point, end: Point) -> None:
    along, length = direction(start, end)
    for i in range(int(length // 8) + 1):
        paper.take(Spot(x=start[0] + along[0] * i * 8, y=start[1] + along[1] * i * 8, radius=3))


def _face_ticks(start: Point, end: Point, face: str) -> list[str]:
    along, length = direction(start, end)
    aside = normal(along, face)
    count = max(1, int(length // 44))
    ticks = []
    for i in range(count):
        at = length * (i + 0.5) / count
        x, y = start[0] + along[0] * at, start[1] + along[1] * at
        ticks.append(marks.line(x, y, x + aside[0] * 6, y + aside[1] * 6))
    return ticks


def _draw_post(sheet: Sheet, post: Post) -> None:
    x, y = sheet.scale.at(post.x_in, post.y_in)
    sheet.parts.append(marks.POST_MARKS[post.kind](x, y))
    sheet.paper.take(Spot(x=x, y=y, radius=6))
    if post.hand_dig:
        sheet.parts.append(marks.hand_dig(x, y))


def _label_side(line: LineLayout, start: Point, end: Point, middle: Point) -> str:
    """Return the side for lengths: away from the middle of the line, or from its finished face."""
    along, _ = direction(start, end)
    left = normal(along, "left")
    lean = left[0] * ((start[0] + end[0]) / 2 - middle[0])
    lean += left[1] * ((start[1] + end[1]) / 2 - middle[1])
    if abs(lean) < 1.0:
        return "right" if line.finished_face == "left" else "left"
    return "left" if lean > 0 else "right"


def _middle(points: Sequence[Point]) -> Point:
    return (
        (min(x for x, _ in points) + max(x for x, _ in points)) / 2,
        (min(y for _, y in points) + max(y for _, y in points)) / 2,
    )


def _upright_deg(along: Point) -> float:
    angle = math.degrees(math.atan2(along[1], along[0]))
    if angle > 90.01:
        return angle - 180
    return angle + 180 if angle <= -89.99 else angle


def _dimension_legs(sheet: Sheet, line: LineLayout) -> None:
    """Write each leg's length beside it, with a line from end to end."""
    middle = _middle([sheet.scale.at(*point) for point in line.plan_points])
    for start_in, end_in in pairwise(line.plan_points):
        start, end = sheet.scale.at(*start_in), sheet.scale.at(*end_in)
        text = sheet.length_words(_on_grid(math.dist(start_in, end_in)))
        side = _label_side(line, start, end, middle)
        _dimension(sheet, start, end, text=text, side=side)


def _on_grid(length_in: float) -> float:
    return round(length_in * 16) / 16


def _dimension(sheet: Sheet, start: Point, end: Point, *, text: str, side: str) -> None:
    along, length = direction(start, end)
    angle = _upright_deg(along)
    other = "left" if side == "right" else "right"
    candidates = []
    for face, offset in ((side, 30), (side, 46), (other, 46), (side, 62), (other, 62)):
        aside = normal(along, face)
        for share in (0.5, 0.35, 0.65, 0.2, 0.8):
            x = start[0] + along[0] * length * share + aside[0] * offset
            y = start[1] + along[1] * length * share + aside[1] * offset
            candidates.append(Label(text=text, x=x, y=y, size=12, angle_deg=angle))
    label = sheet.paper.place(candidates)
    if label is None:
        return
    away = _offset_of(label, start, along)
    sheet.labels.append(_dimension_line(start, end, away))
    sheet.labels.append(marks.words(text, label.x, label.y, size=12, angle_deg=angle, bold=True))


def _offset_of(label: Label, start: Point, along: Point) -> Point:
    """Return the way from the fence to the label, square to the fence."""
    dx, dy = label.x - start[0], label.y - start[1]
    forward = dx * along[0] + dy * along[1]
    return dx - forward * along[0], dy - forward * along[1]


def _dimension_line(start: Point, end: Point, offset: Point) -> str:
    (sx, sy), (ex, ey) = start, end
    ox, oy = offset
    parts = marks.line(sx + ox, sy + oy, ex + ox, ey + oy, width=0.8, colour=marks.SOFT)
    for x, y in (start, end):
        parts += marks.line(
            x + ox * 0.3, y + oy * 0.3, x + ox * 1.12, y + oy * 1.12, width=0.8, colour=marks.SOFT
        )
    return parts


def _number_posts(sheet: Sheet, line: LineLayout) -> None:
    """Number terminals first, then line posts as far as there is room."""
    drawn = [sheet.scale.at(*point) for point in line.plan_points]
    back = "left" if line.finished_face == "right" else "right"
    posts = sorted(line.posts, key=lambda post: (post.kind == "line", post.number))
    for post in posts:
        x, y = sheet.scale.at(post.x_in, post.y_in)
        along = _leg_at((x, y), drawn)
        ways = [normal(along, back), normal(along, line.finished_face)]
        ways += [(0.7, -0.7), (-0.7, -0.7), (0.7, 0.7), (-0.7, 0.7), (0, -1), (0, 1), (1, 0)]
        candidates = [
            Label(text=str(post.number), size=10, x=x + dx * distance, y=y + dy * distance)
            for distance in (14, 20)
            for dx, dy in ways
        ]
        label = sheet.paper.place(candidates)
        if label:
            sheet.labels.append(
                marks.words(label.text, label.x, label.y, size=10, colour=marks.SOFT)
            )


def _leg_at(point: Point, drawn: Sequence[Point]) -> Point:
    """Return the direction of the leg nearest to a point."""

    def distance(leg: tuple[Point, Point]) -> float:
        along, length = direction(*leg)
        dx, dy = point[0] - leg[0][0], point[1] - leg[0][1]
        at = min(max(dx * along[0] + dy * along[1], 0.0), length)
        return math.hypot(dx - along[0] * at, dy - along[1] * at)

    legs = list(pairwise(drawn))
    return direction(*min(legs, key=distance))[0] if legs else (1.0, 0.0)


def _foot(sheet: Sheet, lines: Sequence[LineLayout], height: float) -> str:
    kinds = {post.kind for post in sheet.posts.values()}
    entries: list[tuple[marks.Draw, str]] = [
        (mark, marks.POST_WORDS[kind]) for kind, mark in marks.POST_MARKS.items() if kind in kinds
    ]
    if any(post.hand_dig for post in sheet.posts.values()):
        entries.append((marks.hand_dig, "dig by hand"))
    scopes = {line.scope for line in lines}
    if "whole_fence" in scopes:
        entries.append((marks.finished_face, "finished face"))
    entries += [
        (_scope_sample(DASHES[scope]), SCOPE_WORDS[scope])
        for scope in ("posts_only", "removal")
        if scope in scopes
    ]
    top = height - FOOT_HEIGHT
    return (
        marks.north_arrow(WIDTH - 28, 30)
        + _scale_bar(sheet, top + 26)
        + marks.legend(entries, x=206, y=top + 24, right=WIDTH - 4)
    )


def _scope_sample(dashes: str) -> marks.Draw:
    return lambda x, y: marks.line(x - 9, y, x + 9, y, width=2.5, dashes=dashes)


def _scale_bar(sheet: Sheet, y: float) -> str:
    per_ft = 12 * sheet.scale.factor
    fitting = [step for step in SCALE_STEPS_FT if step * per_ft <= 130]
    step = fitting[-1] if fitting else SCALE_STEPS_FT[0]
    return marks.scale_bar(24, y, length=step * per_ft, text=f"{step} ft")
