"""Trees, drains and standing posts on a plan."""

import math

from estimating.drawing import marks
from estimating.drawing.dimensions import leg_at
from estimating.drawing.labels import Label, Spot
from estimating.drawing.sheet import FixedMark, Sheet, normal, point_at
from estimating.engine.result import LineLayout

SMALLEST_RADIUS = 4.0
NAME_SIZE = 11.0


def draw_fixed(sheet: Sheet, line: LineLayout, mark: FixedMark) -> None:
    """Draw what stands in the line: its own width, a dashed ring where no hole goes, its name.

    A post that carries the fence is drawn crossed.
    """
    x, y = sheet.scale.at(*point_at(line, mark.station_in))
    own = max(mark.width_in / 2 * sheet.scale.factor, SMALLEST_RADIUS)
    clear = (mark.width_in / 2 + mark.keep_clear_in) * sheet.scale.factor
    sheet.parts.append(_ring(x, y, own))
    if mark.is_used:
        sheet.parts.append(_cross(x, y, own))
    elif clear > own + 1:
        sheet.parts.append(_ring(x, y, clear, dashes="4 3"))
    sheet.paper.take(Spot(x=x, y=y, radius=own + 2))
    along = leg_at((x, y), [sheet.scale.at(*point) for point in line.plan_points])
    label = sheet.paper.place(
        [
            Label(
                text=mark.words,
                size=NAME_SIZE,
                x=x + normal(along, side)[0] * away,
                y=y + normal(along, side)[1] * away,
            )
            for away in (own + 12, own + 26, own + 40)
            for side in ("left", "right")
        ]
    )
    if label:
        sheet.labels.append(
            marks.words(label.text, label.x, label.y, size=NAME_SIZE, colour=marks.SOFT)
        )


def fixed_sample(x: float, y: float) -> str:
    """Return the legend's sample of what stands in the line."""
    return _ring(x, y, SMALLEST_RADIUS) + _ring(x, y, SMALLEST_RADIUS + 4, dashes="4 3")


def _ring(x: float, y: float, radius: float, *, dashes: str = "") -> str:
    dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
    return (
        f'<circle cx="{marks.number(x)}" cy="{marks.number(y)}" r="{marks.number(radius)}"'
        f' fill="none" stroke="{marks.STONE}" stroke-width="1.5"{dashed}/>'
    )


def _cross(x: float, y: float, radius: float) -> str:
    reach = radius * math.sqrt(0.5)
    return "".join(
        marks.line(x - reach, y - way * reach, x + reach, y + way * reach, colour=marks.STONE)
        for way in (-1, 1)
    )
