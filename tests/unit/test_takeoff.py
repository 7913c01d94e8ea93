"""Quantities: what scales with what, waste, packs, scopes and cuts."""

from dataclasses import replace
from typing import Any

import pytest

from estimating.engine.catalog import Catalog, FenceSystem, Material
from estimating.engine.cutting import cut_list, name_numbers
from estimating.engine.footings import dig
from estimating.engine.infill import boards_in_bay
from estimating.engine.result import LineLayout, Quantity
from estimating.engine.site import Conditions
from estimating.engine.takeoff import take_off
from tests.engine_cases import (
    CONCRETE,
    WOOD,
    catalog,
    gate,
    post,
    price,
    section,
    straight_line,
)


def with_materials(*materials: Material, **changes: Any) -> FenceSystem:
    return replace(WOOD, materials=materials, **changes)


def quantities(book: Catalog, *lines: LineLayout) -> dict[str, Quantity]:
    taken = take_off(lines, book, dig(lines, book, Conditions()))
    return {each.item: each for each in taken.quantities}


def amount_of(material: Material, line: LineLayout, **changes: Any) -> float:
    """The net amount of one material on one line, as a catalog of only that material gives it."""
    system = with_materials(material, **changes)
    found = quantities(catalog(system), replace(line, system=system.key))
    return found[material.item].net if material.item in found else 0.0


LINE = replace(
    straight_line(bays=3),
    sections=(
        section(1, 200.0, bays=2, from_kind="wall", to_kind="gate"),
        section(2, 100.0, bays=1, from_kind="gate", to_kind="corner"),
    ),
    posts=(post(1, "gate"), post(2, "gate"), post(3), post(4, "corner")),
    gates=(
        gate("G1", leaves=1, leaf_in=46.0, use="pool"),
        gate("G2", leaves=2, leaf_in=57.0, use="drive"),
    ),
)


@pytest.mark.parametrize(
    ("material", "amount"),
    [
        (Material(item="x", driver="post"), 4),
        (Material(item="x", driver="post", roles=("gate",), quantity=2), 4),
        (Material(item="x", driver="terminal"), 3),
        (Material(item="x", driver="corner"), 1),
        (Material(item="x", driver="bay", quantity=2), 6),
        (Material(item="x", driver="cut_bay"), 0),
        (Material(item="x", driver="section"), 2),
        (Material(item="x", driver="section_end"), 4),
        (Material(item="x", driver="section_end", roles=("gate",)), 2),
        (Material(item="x", driver="wall_end", quantity=3), 3),
        # Six feet of height less one, at each of four section ends.
        (Material(item="x", driver="height_ft", less=1), 20),
        (Material(item="x", driver="gate"), 2),
        (Material(item="x", driver="gate", uses=("pool",)), 1),
        (Material(item="x", driver="leaf"), 3),
        (Material(item="x", driver="leaf", leaves=(2,)), 2),
        # 46 in and 2 x 57 in: 160 / 12 ft.
        (Material(item="x", driver="leaf_ft"), 160 / 12),
        (Material(item="x", driver="job", quantity=2), 2),
        # 200 / 12 = 16.67 ft and 100 / 12 = 8.33 ft in pieces of 8 ft: 3 and 2.
        (Material(item="x", driver="rail_stock", usable_ft=8.0), 5),
        # One each 24 in of 300 in.
        (Material(item="x", driver="foot", quantity=0.5), 12.5),
    ],
)
def test_each_driver_counts_its_own(material: Material, amount: float) -> None:
    assert amount_of(material, LINE) == pytest.approx(amount)


def test_feet_are_not_rounded_section_by_section() -> None:
    wire = Material(item="wire", driver="foot", extra_ft=4.0)
    book = catalog(
        with_materials(wire),
        prices=[CONCRETE, price("post_4x4"), price("wire", unit="ft", pack=100.0)],
    )

    # 300 in = 25 ft, and 4 ft at each of two sections: 33 ft, a coil of 100.
    found = quantities(book, LINE)["wire"]

    assert found.net == pytest.approx(33.0)
    assert found.purchase_units == 1


def test_a_piece_serves_one_section_only() -> None:
    tie = Material(item="tie", driver="foot", quantity=0.5)

    # One each 24 in: 8.33 -> 9 in the first section and 4.17 -> 5 in the second.
    assert quantities(catalog(with_materials(tie)), LINE)["tie"].purchase_units == 14


def test_boards_fill_the_clear_width_less_the_channels() -> None:
    system = replace(WOOD, board_coverage_in=11.0, channel_allowance_in=1.0)

    # (91 - 1) / 11 = 8.2 -> 9; (89 - 1) / 11 = 8 exactly.
    assert boards_in_bay(system, 91.0) == 9
    assert boards_in_bay(system, 89.0) == 8


def test_waste_is_added_to_the_count_before_packs_are_filled() -> None:
    clip = Material(item="clip", driver="bay", quantity=8.0)
    system = with_materials(clip)
    book = catalog(
        system,
        prices=[CONCRETE, price("post_4x4"), price("clip", pack=10.0, waste_pct=5.0)],
    )

    # 12 x 8 = 96, + 5 % = 100.8 -> 101 clips -> 11 bags of 10.
    assert quantities(book, straight_line(bays=12))["clip"].purchase_units == 11


def test_two_lines_share_a_pack_but_not_a_rail() -> None:
    rail = Material(item="pipe", driver="rail_stock", usable_ft=20.5)
    tie = Material(item="tie", driver="bay", quantity=30.0)
    system = with_materials(rail, tie)
    book = catalog(
        system,
        prices=[CONCRETE, price("post_4x4"), price("pipe"), price("tie", pack=100.0)],
    )
    # Twice 8 ft: a piece for each section; 60 ties from one bag.
    found = quantities(book, straight_line(bays=1), straight_line(bays=1, line_id="B", system=WOOD))

    assert found["pipe"].purchase_units == 2
    assert found["tie"].purchase_units == 1
    assert found["tie"].line_ids == ("A", "B")


def test_posts_only_buys_what_goes_on_the_posts() -> None:
    tie = Material(item="tie", driver="post", infill=True)
    system = replace(WOOD, materials=(*WOOD.materials, tie))
    found = quantities(catalog(system), straight_line(bays=3, scope="posts_only"))

    assert set(found) == {"post_4x4", "cap", "concrete_80lb"}
    assert found["post_4x4"].purchase_units == 4


def test_removal_buys_nothing() -> None:
    assert quantities(catalog(), straight_line(bays=3, scope="removal")) == {}


def test_an_item_without_a_price_is_counted_and_found() -> None:
    book = catalog(prices=[CONCRETE, price("post_4x4"), price("cap"), price("board")])
    line = straight_line(bays=2)
    taken = take_off([line], book, dig([line], book, Conditions()))

    assert [(f.code, f.severity, f.place) for f in taken.findings] == [
        ("missing-price", "stop", "prices.rail")
    ]
    assert {each.item: each.purchase_units for each in taken.quantities}["rail"] == 6


def test_every_quantity_says_how_it_came_about() -> None:
    found = quantities(catalog(), straight_line(bays=2))

    assert found["rail"].trace[0].inputs == "line A: 6"
    assert found["rail"].trace[0].rule == "3 x 2 bay"
    assert all(each.trace for each in found.values())


def test_rails_are_cut_to_the_clear_width_and_what_goes_into_the_posts() -> None:
    line = straight_line(bays=3)
    reaching = tuple(replace(each, panel_in=each.spacer_in + 2 * 1.5) for each in line.bays)
    cuts = cut_list([replace(line, bays=reaching)], {"wood": WOOD})

    # 96 - 3.5 = 92.5 clear, + 2 x 1.5; three rails in each of three bays.
    assert [(c.item, c.length_in, c.pieces, c.place) for c in cuts] == [
        ("rail", 95.5, 9, "line A, bays 1-3")
    ]


def test_the_last_board_is_cut_to_what_is_left() -> None:
    board = Material(item="plank", driver="board", cut="bay_board")
    system = with_materials(board, board_coverage_in=11.0, channel_allowance_in=1.0)

    # 92.5 - 1 = 91.5; eight boards of 11 are 88, which leaves 3.5.
    assert [c.length_in for c in cut_list([straight_line(bays=2)], {"wood": system})] == [3.5]
    # 80.5 - 3.5 = 77 = 7 x 11: nothing to cut.
    full = straight_line(bays=2, on_centre_in=81.5)
    assert cut_list([full], {"wood": system}) == ()


def test_posts_only_has_nothing_to_cut() -> None:
    assert cut_list([straight_line(bays=3, scope="posts_only")], {"wood": WOOD}) == ()


def test_runs_of_bays_are_named_together() -> None:
    assert name_numbers([1, 2, 3, 7, 9, 10]) == "bays 1-3, 7, 9-10"
    assert name_numbers([4]) == "bay 4"
