"""What a plan shows beside the fence: walls, marked utilities, and the lines' names."""

import math
from collections.abc import Sequence

from estimating.drawing import marks
from estimating.drawing.dimensions import leg_at, upright_deg
from estimating.drawing.frame import longest_leg
from estimating.drawing.labels import Label, Spot
from estimating.drawing.sheet import (
    Point,
    Sheet,
    UtilityMark,
    direction,
    keep_words_off,
    normal,
    point_at,
)
from estimating.engine.result import LineLayout

BAND_REACH = 30.0
NARROWEST_BAND = 7.0
LONGEST_NAME = 28
NAME_SIZE = 11.0


def has_wall(lines: Sequence[LineLayout]) -> bool:
    """Return whether any line starts or ends at a wall."""
    return any("wall" in _end_kinds(line) for line in lines)


def _end_kinds(line: LineLayout) -> tuple[str, str]:
    return (line.sections[0].from_kind, line.sections[-1].to_kind) if line.sections else ("", "")


def draw_walls(sheet: Sheet, line: LineLayout) -> None:
    """Draw a piece of the wall where the line starts or ends at one."""
    drawn = [sheet.scale.at(*point) for point in line.plan_points]
    ends = zip(_end_kinds(line), ((drawn[0], drawn[1]), (drawn[-1], drawn[-2])), strict=True)
    for kind, (end, inward) in ends:
        if kind == "wall":
            along, _ = direction(inward, end)
            sheet.parts.append(marks.wall(end, along))
            for way in (-12, 0, 12):
                sheet.paper.take(
                    Spot(x=end[0] - along[1] * way, y=end[1] + along[0] * way, radius=7)
                )


def draw_utility(sheet: Sheet, line: LineLayout, mark: UtilityMark) -> None:
    """Draw a utility's mark as a dashed band across the fence, with its name."""
    drawn = [sheet.scale.at(*point) for point in line.plan_points]
    x, y = sheet.scale.at(*point_at(line, mark.station_in))
    along = leg_at((x, y), drawn)
    turn = math.radians(mark.crossing_deg)
    across = (
        along[0] * math.cos(turn) - along[1] * math.sin(turn),
        along[0] * math.sin(turn) + along[1] * math.cos(turn),
    )
    half = max(mark.width_in * sheet.scale.factor, NARROWEST_BAND) / 2
    for side in ("left", "right"):
        aside = normal(across, side)
        start, end = (
            (
                x + aside[0] * half + across[0] * reach,
                y + aside[1] * half + across[1] * reach,
            )
            for reach in (-BAND_REACH, BAND_REACH)
        )
        sheet.parts.append(marks.line(*start, *end, width=1, colour=marks.STOP, dashes="6 3"))
        keep_words_off(sheet.paper, start, end, radius=1.5)
    _name_utility(sheet, mark, (x, y), across)


def _name_utility(sheet: Sheet, mark: UtilityMark, at: Point, across: Point) -> None:
    text = _shortened(mark.utility.replace("_", " ") or "utility")
    label = sheet.paper.place(
        [
            Label(
                text=text,
                size=NAME_SIZE,
                x=at[0] + across[0] * reach + shift,
                y=at[1] + across[1] * reach,
            )
            for reach in (BAND_REACH + 9, -BAND_REACH - 9, BAND_REACH + 22, -BAND_REACH - 22)
            for shift in (0, 30, -30)
        ]
    )
    if label:
        sheet.labels.append(
            marks.words(label.text, label.x, label.y, size=NAME_SIZE, colour=marks.STOP)
        )


def name_line(sheet: Sheet, line: LineLayout) -> None:
    """Write a line's name along its longest leg."""
    start, end = (sheet.scale.at(*point) for point in longest_leg(line))
    along, length = direction(start, end)
    label = sheet.paper.place(
        [
            Label(
                text=_shortened(line.name),
                size=NAME_SIZE,
                x=start[0] + along[0] * length * share + normal(along, side)[0] * away,
                y=start[1] + along[1] * length * share + normal(along, side)[1] * away,
                angle_deg=upright_deg(along),
            )
            for away in (16, 46, 60, 76)
            for side in ("left", "right")
            for share in (0.5, 0.3, 0.7, 0.15, 0.85)
        ]
    )
    if label:
        sheet.labels.append(
            marks.words(
                label.text, label.x, label.y, size=NAME_SIZE, angle_deg=label.angle_deg, bold=True
            )
        )


def _shortened(text: str) -> str:
    return text if len(text) <= LONGEST_NAME else f"{text[: LONGEST_NAME - 1].rstrip()}…"
