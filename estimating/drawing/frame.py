"""How a plan lies on its sheet: its scale, and where the legend, north and the scale bar go."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from estimating.drawing import marks
from estimating.drawing.gates import leaf_reach
from estimating.drawing.sheet import MARGIN, Point, Scale, Sheet, direction, normal, point_at
from estimating.engine.result import LineLayout
from firm.measure.lengths import MM_PER_IN, MM_PER_M
from firm.measure.units import IN_PER_FT
from firm.measure.written import METRIC

WIDTH = 720.0
# On the screen, and on paper: with its margins two fifths of a letter page.
LARGEST_DRAWING = 460.0
LARGEST_PRINTED = 250.0
SMALLEST_DRAWING = 50.0
# Two units to the inch: a gate fills no more than a hand's width of the sheet.
LARGEST_FACTOR = 2.0
# A drawing at least this high for its width has its legend beside it, others below.
HIGH = 0.5
BESIDE_WIDTH = 152.0
ROW = 18.0
COLUMN = 124.0
FOOT_LEFT = 206.0
NORTH_ROOM = 66.0
BAR_ROOM = 46.0
LONGEST_BAR = 130.0
SCALE_STEPS_FT = (1, 2, 5, 10, 20, 25, 50, 100, 200, 250, 500, 1000)
SCALE_STEPS_M = (0.2, 0.5, 1, 2, 5, 10, 20, 25, 50, 100, 200, 250)

Entry = tuple[marks.Draw, str]


@dataclass(frozen=True, kw_only=True, slots=True)
class Frame:
    """The sheet's parts: the drawing's own area, the whole height, and the legend's place."""

    scale: Scale
    area_width: float
    area_height: float
    height: float
    is_beside: bool
    width: float = WIDTH
    is_bare: bool = False


def frame_for(
    lines: Sequence[LineLayout],
    *,
    entries: int,
    largest: float,
    width: float = WIDTH,
    is_bare: bool = False,
) -> Frame:
    """Return the largest frame in which all lines and open gates fit; a bare one has no legend."""
    points = _extent(lines)
    xs, ys = [x for x, _ in points], [y for _, y in points]
    wide, high = max(xs) - min(xs), max(ys) - min(ys)
    is_beside = not is_bare and high > HIGH * wide
    area = width - (BESIDE_WIDTH if is_beside else 0.0)
    room = area - 2 * MARGIN
    factor = min(room / max(wide, 1.0), largest / max(high, 1.0), LARGEST_FACTOR)
    drawn = max(high * factor, SMALLEST_DRAWING)
    if is_beside:
        drawn = max(drawn, NORTH_ROOM + entries * ROW + BAR_ROOM - 2 * MARGIN)
    scale = Scale(
        factor=factor,
        left_in=min(xs),
        # A drawing lower than its room stands in the middle of it.
        top_in=max(ys) + (drawn / factor - high) / 2,
        offset=MARGIN + (room - wide * factor) / 2,
    )
    area_height = drawn + 2 * MARGIN
    foot = 0.0 if is_beside or is_bare else _foot_height(entries)
    return Frame(
        scale=scale,
        area_width=area,
        area_height=area_height,
        height=area_height + foot,
        is_beside=is_beside,
        width=width,
        is_bare=is_bare,
    )


def _columns() -> int:
    return int((WIDTH - FOOT_LEFT) // COLUMN)


def _foot_height(entries: int) -> float:
    return BAR_ROOM + ROW * max(0, -(-entries // _columns()) - 1)


def _extent(lines: Sequence[LineLayout]) -> list[Point]:
    """Return the corners of all lines, and how far each gate swings out of them."""
    points = [point for line in lines for point in line.plan_points]
    for line in lines:
        for gate in line.gates:
            if gate.kind == "slide":
                points += [point_at(line, station_in) for station_in in gate.stored_between_in]
            near = point_at(line, gate.station_in)
            far = point_at(line, gate.station_in + gate.clear_opening_in)
            along, opening = direction(near, far)
            # On the ground y points north, so left and right change places.
            aside = normal(along, "left" if gate.swing == "right" else "right")
            reach = leaf_reach(gate, opening)
            points += [(x + aside[0] * reach, y + aside[1] * reach) for x, y in (near, far)]
    return points


def surround(sheet: Sheet, frame: Frame, entries: Sequence[Entry]) -> str:
    """Return the north arrow, the scale bar and the legend; of a bare frame the arrow alone."""
    if frame.is_bare:
        return marks.north_arrow(frame.width - 28, 30)
    if frame.is_beside:
        left = frame.area_width + 4
        return (
            marks.north_arrow(left + 12, 30)
            + _scale_bar(sheet, left + 4, frame.height - 20)
            + marks.legend(entries, x=left, y=NORTH_ROOM, columns=1, step=(COLUMN, ROW))
        )
    top = frame.area_height + 22
    return (
        marks.north_arrow(WIDTH - 28, 30)
        + _scale_bar(sheet, 24, top)
        + marks.legend(entries, x=FOOT_LEFT, y=top, columns=_columns(), step=(COLUMN, ROW))
    )


def _scale_bar(sheet: Sheet, x: float, y: float) -> str:
    is_metric = sheet.units == METRIC
    steps, unit = (SCALE_STEPS_M, "m") if is_metric else (SCALE_STEPS_FT, "ft")
    per_unit = sheet.scale.factor * (MM_PER_M / MM_PER_IN if is_metric else IN_PER_FT)
    fitting = [step for step in steps if step * per_unit <= LONGEST_BAR]
    step = fitting[-1] if fitting else steps[0]
    return marks.scale_bar(x, y, length=step * per_unit, text=f"{step:g} {unit}")


def longest_leg(line: LineLayout) -> tuple[Point, Point]:
    """Return the two corners of a line's longest leg."""
    return max(pairwise(line.plan_points), key=lambda leg: direction(*leg)[1])
