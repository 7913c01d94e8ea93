"""Gates on a plan: the opening, the leaves, and the arcs they swing through."""

import math

from estimating.drawing import marks
from estimating.drawing.labels import Label, Spot
from estimating.drawing.sheet import Point, Sheet, direction, keep_words_off, normal, point_at
from estimating.engine.result import GateLayout, LineLayout

# A sliding leaf runs beside the fence: far enough off it to be seen, in the drawing's units.
SLIDES_ASIDE = 8.0


def gate_ends(sheet: Sheet, line: LineLayout, gate: GateLayout) -> tuple[Point, Point]:
    """Return the drawn near and far end of a gate's clear opening."""
    centres = [
        sheet.scale.at(sheet.posts[post].x_in, sheet.posts[post].y_in)
        if post in sheet.posts
        else sheet.scale.at(*point_at(line, station))
        for post, station in (
            (gate.from_post, gate.station_in),
            (gate.to_post, gate.station_in + gate.clear_opening_in),
        )
    ]
    along, length = direction(*centres)
    inset = max(0.0, (length - gate.clear_opening_in * sheet.scale.factor) / 2)
    near = (centres[0][0] + along[0] * inset, centres[0][1] + along[1] * inset)
    far = (centres[1][0] - along[0] * inset, centres[1][1] - along[1] * inset)
    return near, far


def leaf_reach(gate: GateLayout, opening: float) -> float:
    """Return how far a gate reaches out of the line in the drawing: its widest leaf, open."""
    if gate.kind == "slide":
        return SLIDES_ASIDE * 2
    return opening * max(gate.widths_in) / gate.all_leaves_in


def draw_gate(sheet: Sheet, line: LineLayout, gate: GateLayout) -> None:
    """Draw the opening, and each leaf standing open with the arc it swings through."""
    near, far = gate_ends(sheet, line, gate)
    sheet.parts.append(marks.line(*near, *far, width=6, colour=marks.PAPER))
    if gate.kind == "slide":
        _draw_slide(sheet, gate, near, far)
        return
    along, opening = direction(near, far)
    aside = normal(along, gate.swing)
    if gate.leaves == 2:
        first = opening * gate.widths_in[0] / gate.all_leaves_in
        meet = (near[0] + along[0] * first, near[1] + along[1] * first)
        leaves = [(near, meet), (far, meet)]
    else:
        leaves = [(far, near)] if gate.hinge_side == "end" else [(near, far)]
    for hinge, closed in leaves:
        sheet.parts.append(_leaf(hinge, closed, aside))
        _keep_words_off_leaf(sheet, hinge, closed, aside)
    reach = leaf_reach(gate, opening)
    middle = ((near[0] + far[0]) / 2, (near[1] + far[1]) / 2)
    sheet.paper.take(
        Spot(
            x=middle[0] + aside[0] * reach / 2,
            y=middle[1] + aside[1] * reach / 2,
            radius=max(4.0, min(opening, reach) / 2),
        )
    )


def _draw_slide(sheet: Sheet, gate: GateLayout, near: Point, far: Point) -> None:
    """Draw a slide gate's leaf closed with its tail, and dashed where it stands open."""
    along, _ = direction(near, far)
    aside = normal(along, gate.swing)
    # Away from the opening, the way the leaf goes.
    way = 1.0 if gate.hinge_side == "end" else -1.0
    rollers, latch = (far, near) if gate.hinge_side == "end" else (near, far)
    factor = sheet.scale.factor
    lap_in = gate.leaf_in - gate.tail_in - gate.clear_opening_in
    tail = _moved(rollers, along, way * gate.tail_in * factor)
    nose = _moved(latch, along, -way * lap_in * factor)
    closed = (_moved(nose, aside, SLIDES_ASIDE), _moved(tail, aside, SLIDES_ASIDE))
    stored = _moved(rollers, along, way * gate.leaf_in * factor)
    opened = (_moved(rollers, aside, SLIDES_ASIDE * 2), _moved(stored, aside, SLIDES_ASIDE * 2))
    sheet.parts.append(
        marks.line(*opened[0], *opened[1], width=1, colour=marks.SOFT, dashes="4 3")
        + marks.line(*closed[0], *closed[1], width=2)
    )
    for start, end in (closed, opened):
        keep_words_off(sheet.paper, start, end, radius=3.0)


def _moved(point: Point, along: Point, by: float) -> Point:
    return (point[0] + along[0] * by, point[1] + along[1] * by)


def _keep_words_off_leaf(sheet: Sheet, hinge: Point, closed: Point, aside: Point) -> None:
    along, reach = direction(hinge, closed)
    tip = (hinge[0] + aside[0] * reach, hinge[1] + aside[1] * reach)
    keep_words_off(sheet.paper, hinge, tip, radius=2.0)
    for turn in (math.radians(step) for step in range(0, 90, 15)):
        sheet.paper.take(
            Spot(
                x=hinge[0] + reach * (along[0] * math.cos(turn) + aside[0] * math.sin(turn)),
                y=hinge[1] + reach * (along[1] * math.cos(turn) + aside[1] * math.sin(turn)),
                radius=2.0,
            )
        )


def _leaf(hinge: Point, closed: Point, aside: Point) -> str:
    _, reach = direction(hinge, closed)
    tip = (hinge[0] + aside[0] * reach, hinge[1] + aside[1] * reach)
    # The sign of the cross product says which way round the arc runs (SVG's y points down).
    cross = (tip[0] - hinge[0]) * (closed[1] - hinge[1]) - (tip[1] - hinge[1]) * (
        closed[0] - hinge[0]
    )
    sweep = 1 if cross > 0 else 0
    radius = marks.number(reach)
    arc = (
        f'<path d="M {marks.number(tip[0])} {marks.number(tip[1])} A {radius} {radius} 0 0 {sweep}'
        f' {marks.number(closed[0])} {marks.number(closed[1])}" fill="none" stroke="{marks.SOFT}"'
        ' stroke-width="1" stroke-dasharray="4 3"/>'
    )
    return arc + marks.line(*hinge, *tip, width=2)


def name_gates(sheet: Sheet, line: LineLayout) -> None:
    """Write each gate's mark and clear opening where there is room near it."""
    for gate in line.gates:
        label = sheet.paper.place(_name_places(sheet, line, gate))
        if label:
            sheet.labels.append(marks.words(label.text, label.x, label.y, size=11, bold=True))


def _name_places(sheet: Sheet, line: LineLayout, gate: GateLayout) -> list[Label]:
    """Return where a gate's words may stand: rather its bare mark near it than all far off."""
    near, far = gate_ends(sheet, line, gate)
    along, opening = direction(near, far)
    x, y = (near[0] + far[0]) / 2, (near[1] + far[1]) / 2
    reach = leaf_reach(gate, opening)
    other = "left" if gate.swing == "right" else "right"
    whole = f"{gate.id} {sheet.length_words(gate.clear_opening_in)}"
    close = ((other, 16.0), (other, 24.0), (gate.swing, reach + 14))
    distant = ((other, 46.0), (other, 62.0), (gate.swing, reach + 40))
    return [
        Label(
            text=text,
            size=11,
            x=x + normal(along, side)[0] * distance + along[0] * shift,
            y=y + normal(along, side)[1] * distance + along[1] * shift,
        )
        for text, places, shifts in (
            (whole, close, (0, 24, -24, 40, -40)),
            (gate.id, close, (0, 12, -12)),
            (whole, distant, (0, 24, -24)),
        )
        for side, distance in places
        for shift in shifts
    ]
