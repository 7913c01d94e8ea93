"""Counts of boards, pickets and rails that run through, by the trade's formulas.

Common practice, no source, unless a test says otherwise.
"""

import pytest

from estimating.engine.catalog import Material
from estimating.engine.errors import EngineError
from estimating.engine.infill import (
    board_rule,
    picket_gap_in,
    pickets_in_bay,
    row_pieces,
    run_boards,
)
from estimating.engine.reading import read_catalog
from estimating.starter import load_starter_data
from tests.engine_cases import bay
from tests.starter_cases import starter_catalog


def board(overlap_in: float) -> Material:
    return Material(item="board", driver="run_board", width_in=5.5, overlap_in=overlap_in)


@pytest.mark.parametrize(
    ("length_in", "overlap_in", "count"),
    [
        (96.0, 1.5, 24),  # (96 - 5.5) / 4 = 22.6 -> 23, + 1
        (600.0, 0.0, 110),  # 600 / 5.5 = 109.1
        (66.0, 0.0, 12),  # 66 / 5.5 = 12 exactly
        (5.5, 1.5, 1),
        (0.0, 1.5, 0),
    ],
)
def test_boards_along_a_run(length_in: float, overlap_in: float, count: int) -> None:
    assert run_boards(board(overlap_in), length_in) == count


def test_pickets_have_equal_gaps_near_the_wanted_one() -> None:
    # (80 - 2.5) / 6 = 12.9 -> 13; (80 - 13 x 3.5) / 14 = 34.5 / 14.
    picket = Material(item="picket", driver="bay_picket", width_in=3.5, gap_in=2.5)

    assert pickets_in_bay(picket, 80.0) == 13
    assert picket_gap_in(picket, 80.0) == pytest.approx(34.5 / 14)
    assert pickets_in_bay(picket, 1.0) == 0


def test_rows_next_to_each_other_share_no_joint() -> None:
    # A supplier's guide: 16 ft rails run through and are staggered.
    rail = Material(item="rail", driver="rail_row", quantity=3.0, usable_ft=16.0)
    bays = [bay(n, spacer_in=91.0, on_centre_in=96.0) for n in range(1, 8)]
    joints = [{piece[-1].number for piece in row_pieces(rail, bays, row)[:-1]} for row in range(3)]

    assert joints[0] == {2, 4, 6}
    assert joints[1] == {1, 3, 5}
    assert joints[2] == joints[0]


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"width_in": 0.0}, "width_in"),
        ({"overlap_in": 5.5}, "overlap_in"),
        ({"driver": "rail_row"}, "usable_ft"),
    ],
)
def test_a_material_that_covers_nothing_is_refused(changes: dict[str, object], field: str) -> None:
    data = load_starter_data()
    materials = data["fence_systems"]["wood_privacy_lapped_6ft"]["materials"]
    index = next(i for i, each in enumerate(materials) if each["item"] == "wood_board_6ft")
    materials[index] |= changes

    with pytest.raises(EngineError) as refused:
        read_catalog(data)
    assert refused.value.field == (
        f"fence_systems.wood_privacy_lapped_6ft.materials[{index}].{field}"
    )


def test_count_of_boards_is_told_down_to_bays_and_runs() -> None:
    fence = starter_catalog().systems["vinyl_privacy_6ft"]
    tongues = Material(item="board", driver="board")
    # (91 - 1) / 11.3 = 7.96 -> 8 in each of three bays, (62 - 1) / 11.3 = 5.4 -> 6 in the cut one.
    assert board_rule(tongues, fence, [8.0, 8.0, 8.0, 6.0]) == (
        "8 in each of 3 bays, 6 in 1 bay: a bay's clear width less 1 in for its channels, "
        "by 11.3 in that a board covers, rounded up"
    )
    assert board_rule(board(1.5), fence, [24.0]) == (
        "24 in 1 run: 1, and one for each 4 in that the run goes on, rounded up"
    )
    assert board_rule(Material(item="clip", driver="bay"), fence, [1.0]) == ""
