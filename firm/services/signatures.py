"""Signatures drawn on a screen: strokes of points in thousandths of the field they were drawn in.

A typed name alone is a signature too; its strokes are an empty list.
"""

from collections.abc import Sequence

from firm.errors import Refusal

Strokes = Sequence[Sequence[Sequence[int]]]

STEPS = 1000
MOST_STROKES = 200
MOST_POINTS = 5000
# The field is wider than high, 5 to 2; drawn back it is 1000 wide.
DRAWN_HEIGHT = 400
AXES = 2
NOT_DRAWN = "This is no signature as our page draws it. Clear it and sign again."
TOO_LONG = "This signature has too many lines. Clear it and sign again."


def checked_strokes(strokes: object) -> list[list[list[int]]]:
    """Return strokes as they may be kept.

    Raises:
        Refusal: they are no lists of [x, y] from 0 to 1000, or too many.
    """
    if not isinstance(strokes, list) or not all(_is_stroke(stroke) for stroke in strokes):
        raise Refusal(NOT_DRAWN, field="strokes")
    if len(strokes) > MOST_STROKES or sum(map(len, strokes)) > MOST_POINTS:
        raise Refusal(TOO_LONG, field="strokes")
    return strokes


def _is_stroke(stroke: object) -> bool:
    return isinstance(stroke, list) and bool(stroke) and all(_is_point(point) for point in stroke)


def _is_point(point: object) -> bool:
    return (
        isinstance(point, list)
        and len(point) == AXES
        # A bool is an int to Python, and no place on a screen.
        and all(type(step) is int and 0 <= step <= STEPS for step in point)
    )


def signature_path(strokes: Strokes) -> str:
    """Return strokes as the path of an SVG, to be shown in `viewBox="0 0 1000 400"`."""
    return " ".join(_stroke_path(stroke) for stroke in strokes)


def _stroke_path(stroke: Sequence[Sequence[int]]) -> str:
    points = [f"{x} {y * DRAWN_HEIGHT / STEPS:g}" for x, y in stroke]
    # A dot is a line to where it began: its round ends are what is seen.
    rest = points[1:] or points
    return f"M{points[0]}" + "".join(f" L{point}" for point in rest)
