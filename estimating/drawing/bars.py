"""One bar of stock as a strip: its pieces side by side, and what is left over."""

from estimating.engine.saw_plan import CutBar

WIDTH, HEIGHT = 480, 20
LEAST_WIDTH = 1.5
PIECE, PIECE_EDGE = "#dfece7", "#0b4640"
KEPT, SCRAP, LEFT_EDGE = "#fffdf9", "#d8cfbb", "#7d7563"


def bar_svg(bar: CutBar) -> str:
    """Return the bar to its own scale; its words stand beside it, so it is hidden from readers."""
    scale = WIDTH / bar.stock_length_in
    at = 0.0
    parts = []
    for piece in bar.pieces:
        for _ in range(piece.pieces):
            width = piece.length_in * scale
            parts.append(_part(at, width, PIECE, PIECE_EDGE))
            at += width
    left = bar.offcut_in * scale
    if left > LEAST_WIDTH:
        parts.append(_part(WIDTH - left, left, KEPT if bar.is_kept else SCRAP, LEFT_EDGE))
    return (
        f'<svg class="bar" viewBox="0 0 {WIDTH} {HEIGHT}" preserveAspectRatio="none" '
        f'aria-hidden="true" focusable="false">{"".join(parts)}</svg>'
    )


def _part(at: float, width: float, fill: str, edge: str) -> str:
    return (
        f'<rect x="{at + 0.5:.1f}" y="0.5" width="{max(LEAST_WIDTH, width - 1):.1f}" '
        f'height="{HEIGHT - 1}" fill="{fill}" stroke="{edge}"/>'
    )
