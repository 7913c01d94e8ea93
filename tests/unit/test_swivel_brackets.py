"""Panel brackets at corners: square ones, and swivel ones where the corner is not square."""

from dataclasses import replace

import pytest

from tests.starter_cases import estimate_line, fence_line


@pytest.mark.parametrize(
    ("turn_deg", "square", "swivel"),
    # Two legs of 20 ft: 98 + 98 + 44, so 6 bays and 12 ends, 2 rails at each. At the corner 2 ends.
    [(90.0, 24, None), (-90.0, 24, None), (60.0, 20, 4), (45.0, 20, 4), (88.0, 24, None)],
)
def test_both_ends_at_an_odd_corner_swivel(
    turn_deg: float, square: int, swivel: int | None
) -> None:
    fence = fence_line("steel_panel_4ft", [20.0, 20.0])
    fence = replace(fence, legs=(fence.legs[0], replace(fence.legs[1], turn_deg=turn_deg)))
    bought = {row.item: row.purchase_units for row in estimate_line(fence).quantities}

    assert bought["steel_bracket"] == square
    assert bought.get("steel_swivel_bracket") == swivel
