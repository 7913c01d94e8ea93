"""Boards are counted by the run where the fence runs through, by the bay where it steps.

Common practice, no source.
"""

from dataclasses import replace

import pytest

from estimating.engine.catalog import Material
from estimating.engine.infill import counted_pieces
from estimating.engine.result import LineLayout
from tests.engine_cases import straight_line

BOARDS = Material(item="board", driver="run_board", width_in=5.5)


def standing(*heights_in: tuple[float, float]) -> LineLayout:
    """Bays of 80 in, each from one height at its start to another at its end."""
    line = straight_line(bays=len(heights_in), on_centre_in=80.0)
    return replace(
        line,
        bays=tuple(
            replace(bay, base_start_in=start_in, base_end_in=end_in)
            for bay, (start_in, end_in) in zip(line.bays, heights_in, strict=True)
        ),
    )


@pytest.mark.parametrize(
    ("heights_in", "boards"),
    [
        # One run of 240: 43.6 -> 44, level or raked.
        (((0, 0), (0, 0), (0, 0)), [44]),
        (((0, 6), (6, 12), (12, 18)), [44]),
        # Each bay by itself: 80 / 5.5 = 14.5 -> 15.
        (((0, 0), (6, 6), (12, 12)), [15, 15, 15]),
        # One step: 80, then 160 / 5.5 = 29.1 -> 30.
        (((0, 0), (6, 6), (6, 6)), [15, 30]),
    ],
)
def test_a_step_parts_the_run(
    heights_in: tuple[tuple[float, float], ...], boards: list[int]
) -> None:
    assert counted_pieces(BOARDS, standing(*heights_in)) == boards
