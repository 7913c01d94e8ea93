"""The lengths on a plan: each leg's, outside the gates that swing, with room for its words."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from estimating.drawing import marks
from estimating.drawing.gates import gate_ends, leaf_reach
from estimating.drawing.labels import LETTER_WIDTH, Label
from estimating.drawing.sheet import Point, Sheet, direction, keep_words_off, normal
from estimating.engine.result import LineLayout
from firm.measure.lengths import PER_INCH
from firm.measure.written import METRIC

SIZE = 12.0
NEAREST = 30.0
BESIDE_A_LEAF = 16.0
FARTHER = (0.0, 16.0, 32.0, 48.0, 64.0)
SHARES = (0.5, 0.35, 0.65, 0.2, 0.8)
# Words that are longer than their leg stand outside its dimension line instead of on it.
WORDS_OUTSIDE = 12.0
# Rather across the fence than this much farther out.
MUCH_FARTHER = 40.0
ON_THE_LEG = 2.0
OTHER = {"left": "right", "right": "left"}


@dataclass(frozen=True, kw_only=True, slots=True)
class _Leg:
    start: Point
    end: Point
    text: str
    sides: tuple[str, str]
    nearest: dict[str, float]

    @property
    def is_short(self) -> bool:
        _, length = direction(self.start, self.end)
        return len(self.text) * SIZE * LETTER_WIDTH > length - 8


def dimension_legs(sheet: Sheet, line: LineLayout) -> None:
    """Write each leg's length beside it, with a line from end to end."""
    middle = _middle([sheet.scale.at(*point) for point in line.plan_points])
    for start_in, end_in in pairwise(line.plan_points):
        start, end = sheet.scale.at(*start_in), sheet.scale.at(*end_in)
        nearest = _nearest(sheet, line, start, end)
        side = _label_side(line, start, end, middle)
        if nearest[side] > nearest[OTHER[side]] + MUCH_FARTHER:
            side = OTHER[side]
        text = sheet.length_words(_on_grid(math.dist(start_in, end_in), sheet.units))
        sides = (side, OTHER[side])
        _dimension(sheet, _Leg(start=start, end=end, text=text, sides=sides, nearest=nearest))


def _nearest(sheet: Sheet, line: LineLayout, start: Point, end: Point) -> dict[str, float]:
    """Return how near a dimension may come on either side: outside the leaves that open there."""
    nearest = {"left": NEAREST, "right": NEAREST}
    for gate in line.gates:
        near, far = gate_ends(sheet, line, gate)
        if _distance(((near[0] + far[0]) / 2, (near[1] + far[1]) / 2), start, end) < ON_THE_LEG:
            reach = leaf_reach(gate, direction(near, far)[1])
            nearest[gate.swing] = max(nearest[gate.swing], reach + BESIDE_A_LEAF)
    return nearest


def _distance(point: Point, start: Point, end: Point) -> float:
    along, length = direction(start, end)
    dx, dy = point[0] - start[0], point[1] - start[1]
    at = min(max(dx * along[0] + dy * along[1], 0.0), length)
    return math.hypot(dx - along[0] * at, dy - along[1] * at)


def leg_at(point: Point, drawn: Sequence[Point]) -> Point:
    """Return the direction of the leg nearest to a point."""
    legs = list(pairwise(drawn))
    if not legs:
        return (1.0, 0.0)
    return direction(*min(legs, key=lambda leg: _distance(point, *leg)))[0]


def _label_side(line: LineLayout, start: Point, end: Point, middle: Point) -> str:
    """Return the side for lengths: away from the middle of the line, or from its finished face."""
    along, _ = direction(start, end)
    left = normal(along, "left")
    lean = left[0] * ((start[0] + end[0]) / 2 - middle[0])
    lean += left[1] * ((start[1] + end[1]) / 2 - middle[1])
    if abs(lean) < 1.0:
        return OTHER[line.finished_face]
    return "left" if lean > 0 else "right"


def _middle(points: Sequence[Point]) -> Point:
    return (
        (min(x for x, _ in points) + max(x for x, _ in points)) / 2,
        (min(y for _, y in points) + max(y for _, y in points)) / 2,
    )


def upright_deg(along: Point) -> float:
    """Return the turn of words along a direction, never upside down."""
    angle = math.degrees(math.atan2(along[1], along[0]))
    if angle > 90.01:
        return angle - 180
    return angle + 180 if angle <= -89.99 else angle


def _on_grid(length_in: float, units: str) -> float:
    return length_in if units == METRIC else round(length_in * PER_INCH) / PER_INCH


def _dimension(sheet: Sheet, leg: _Leg) -> None:
    label = sheet.paper.place(_places(leg))
    if label is None:
        return
    along, _ = direction(leg.start, leg.end)
    ox, oy = _offset_of(label, leg.start, along)
    if leg.is_short:
        away = math.hypot(ox, oy)
        share = (away - WORDS_OUTSIDE) / away
        ox, oy = ox * share, oy * share
    _dimension_line(sheet, leg, (ox, oy))
    sheet.labels.append(
        marks.words(label.text, label.x, label.y, size=SIZE, angle_deg=label.angle_deg, bold=True)
    )


def _places(leg: _Leg) -> list[Label]:
    along, length = direction(leg.start, leg.end)
    outside = WORDS_OUTSIDE if leg.is_short else 0.0
    places = []
    for farther in FARTHER:
        for face in leg.sides:
            aside = normal(along, face)
            away = leg.nearest[face] + farther + outside
            for share in (0.5,) if leg.is_short else SHARES:
                x = leg.start[0] + along[0] * length * share + aside[0] * away
                y = leg.start[1] + along[1] * length * share + aside[1] * away
                angle = upright_deg(along)
                places.append(Label(text=leg.text, x=x, y=y, size=SIZE, angle_deg=angle))
    return places


def _offset_of(label: Label, start: Point, along: Point) -> Point:
    """Return the way from the fence to the label, square to the fence."""
    dx, dy = label.x - start[0], label.y - start[1]
    forward = dx * along[0] + dy * along[1]
    return dx - forward * along[0], dy - forward * along[1]


def _dimension_line(sheet: Sheet, leg: _Leg, offset: Point) -> None:
    ox, oy = offset
    pieces = [((leg.start[0] + ox, leg.start[1] + oy), (leg.end[0] + ox, leg.end[1] + oy))]
    pieces += [
        ((x + ox * 0.3, y + oy * 0.3), (x + ox * 1.12, y + oy * 1.12))
        for x, y in (leg.start, leg.end)
    ]
    for start, end in pieces:
        sheet.labels.append(marks.line(*start, *end, width=0.8, colour=marks.SOFT))
        keep_words_off(sheet.paper, start, end, radius=1.5)
