"""The small parts of a plan as SVG: post marks, north arrow, scale bar, legend."""

from collections.abc import Callable, Iterable
from html import escape

INK = "#1b1a16"
SOFT = "#48443a"
PAPER = "#ffffff"
STOP = "#85170f"
STONE = "#8a8474"
FONT = "Liberation Sans, DejaVu Sans, sans-serif"

Draw = Callable[[float, float], str]


def number(value: float) -> str:
    """Return a coordinate to a hundredth, without trailing zeros."""
    return f"{value:.2f}".rstrip("0").rstrip(".")


def line(
    x1: float,
    y1: float,
    x2: float,
    y2: float,
    *,
    width: float = 1,
    colour: str = INK,
    dashes: str = "",
) -> str:
    """Return a straight line."""
    dash = f' stroke-dasharray="{dashes}"' if dashes else ""
    return (
        f'<line x1="{number(x1)}" y1="{number(y1)}" x2="{number(x2)}" y2="{number(y2)}"'
        f' stroke="{colour}" stroke-width="{number(width)}"{dash}/>'
    )


def words(
    text: str,
    x: float,
    y: float,
    *,
    size: float,
    angle_deg: float = 0.0,
    colour: str = INK,
    anchor: str = "middle",
    bold: bool = False,
) -> str:
    """Return words centred on the height of `y`, on a white edge so that lines don't cross them."""
    turn = f' transform="rotate({number(angle_deg)} {number(x)} {number(y)})"' if angle_deg else ""
    weight = ' font-weight="700"' if bold else ""
    return (
        f'<text x="{number(x)}" y="{number(y + size * 0.35)}" font-family="{FONT}"'
        f' font-size="{number(size)}" fill="{colour}" text-anchor="{anchor}"{weight}'
        f' stroke="{PAPER}" stroke-width="3" stroke-linejoin="round" paint-order="stroke"{turn}>'
        f"{escape(text)}</text>"
    )


def _square(x: float, y: float) -> str:
    return f'<rect x="{number(x - 4)}" y="{number(y - 4)}" width="8" height="8" fill="{INK}"/>'


def _diamond(x: float, y: float) -> str:
    points = f"{number(x)},{number(y - 6)} {number(x + 6)},{number(y)}"
    points += f" {number(x)},{number(y + 6)} {number(x - 6)},{number(y)}"
    return f'<polygon points="{points}" fill="{INK}"/>'


def _framed_square(x: float, y: float) -> str:
    return (
        f'<rect x="{number(x - 4.5)}" y="{number(y - 4.5)}" width="9" height="9"'
        f' fill="{PAPER}" stroke="{INK}" stroke-width="2.5"/>'
    )


def _triangle(x: float, y: float) -> str:
    points = f"{number(x)},{number(y - 6)} {number(x + 5.5)},{number(y + 4)}"
    points += f" {number(x - 5.5)},{number(y + 4)}"
    return f'<polygon points="{points}" fill="{PAPER}" stroke="{INK}" stroke-width="1.8"/>'


def _ring(x: float, y: float) -> str:
    return (
        f'<circle cx="{number(x)}" cy="{number(y)}" r="3" fill="{PAPER}" stroke="{INK}"'
        ' stroke-width="1.5"/>'
    )


def hand_dig(x: float, y: float) -> str:
    """Return the ring around a post that is dug by hand."""
    return (
        f'<circle cx="{number(x)}" cy="{number(y)}" r="9" fill="none" stroke="{STOP}"'
        ' stroke-width="1.5" stroke-dasharray="3 2"/>'
    )


POST_MARKS: dict[str, Draw] = {
    "end": _square,
    "corner": _diamond,
    "gate": _framed_square,
    "pull": _triangle,
    "line": _ring,
}
POST_WORDS = {
    "end": "end post",
    "corner": "corner post",
    "gate": "gate post",
    "pull": "pull post",
    "line": "line post",
}


def finished_face(x: float, y: float) -> str:
    """Return the legend's sample of the ticks on the finished face."""
    ticks = "".join(line(x + step, y + 2, x + step, y - 4) for step in (-6, 0, 6))
    return line(x - 9, y + 2, x + 9, y + 2, width=2.5) + ticks


def north_arrow(x: float, y: float) -> str:
    """Return an arrow to the north, which is up on every plan, 34 high around x, y."""
    head = f"{number(x)},{number(y - 17)} {number(x + 6)},{number(y + 3)} {number(x)},{number(y)}"
    return (
        f'<polygon points="{head} {number(x - 6)},{number(y + 3)}" fill="{INK}"/>'
        + line(x, y, x, y + 10, width=1.5)
        + words("N", x, y + 17, size=12, bold=True)
    )


def scale_bar(x: float, y: float, *, length: float, text: str) -> str:
    """Return a bar of two halves, black and white, with the length it stands for."""
    half = length / 2
    return (
        f'<rect x="{number(x)}" y="{number(y)}" width="{number(length)}" height="5"'
        f' fill="{PAPER}" stroke="{INK}" stroke-width="1"/>'
        f'<rect x="{number(x)}" y="{number(y)}" width="{number(half)}" height="5" fill="{INK}"/>'
        + words("0", x, y - 8, size=10)
        + words(text, x + length, y - 8, size=10)
    )


def wall(end: tuple[float, float], along: tuple[float, float]) -> str:
    """Return a piece of wall square to a fence that ends there; `along` points into the wall."""
    x, y = end[0] + along[0] * 3.5, end[1] + along[1] * 3.5
    return line(
        x - along[1] * 18,
        y + along[0] * 18,
        x + along[1] * 18,
        y - along[0] * 18,
        width=7,
        colour=STONE,
    )


def wall_sample(x: float, y: float) -> str:
    """Return the legend's sample of a wall."""
    return line(x - 8, y, x + 8, y, width=7, colour=STONE)


def utility_sample(x: float, y: float) -> str:
    """Return the legend's sample of a marked utility."""
    return "".join(
        line(x - 9, y + way, x + 9, y + way, colour=STOP, dashes="6 3") for way in (-3, 3)
    )


def legend(
    entries: Iterable[tuple[Draw, str]],
    *,
    x: float,
    y: float,
    columns: int,
    step: tuple[float, float],
) -> str:
    """Return marks with their words in rows of even columns."""
    parts = []
    for i, (draw, text) in enumerate(entries):
        left = x + (i % columns) * step[0]
        top = y + (i // columns) * step[1]
        parts.append(draw(left + 10, top))
        parts.append(words(text, left + 26, top, size=11, anchor="start", colour=SOFT))
    return "".join(parts)
