"""What is bought for cuts is what the saw list cuts up: by hand, from lines laid out by hand."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from estimating.engine.catalog import Catalog, FenceSystem, Material, Override, PriceItem
from estimating.engine.errors import EngineError
from estimating.engine.estimate import estimate_lines
from estimating.engine.reading import read_catalog
from estimating.engine.result import EstimateResult, LineLayout
from estimating.engine.saw_plan import CutPlan
from estimating.engine.site import Conditions
from estimating.starter import load_starter_data
from tests.engine_cases import CONCRETE, WOOD, bay, catalog, price, section, straight_line

RAIL = Material(
    item="rail_8", driver="bay", quantity=3.0, cut="bay_rail", other_lengths=("rail_16",)
)
CUT_WOOD = replace(WOOD, materials=(RAIL,))
EIGHT = price("rail_8", "7.40", stock_length_in=96.0)
SIXTEEN = price("rail_16", "15.60", stock_length_in=192.0)


def book(*items: PriceItem, system: FenceSystem = CUT_WOOD, **rules: Any) -> Catalog:
    return catalog(system, prices=[CONCRETE, price("post_4x4"), *items], **rules)


def estimated(line: LineLayout, book: Catalog, **more: Any) -> EstimateResult:
    return estimate_lines([line], book, Conditions(dig_method="skid_steer"), **more)


def bought(result: EstimateResult) -> dict[str, tuple[float, int]]:
    return {each.item: (each.net, each.purchase_units) for each in result.quantities}


def cut_up(plan: CutPlan) -> list[tuple[str, int, list[tuple[float, int]], float, bool]]:
    return [
        (
            bar.item,
            bar.bars,
            [(piece.length_in, piece.pieces) for piece in bar.pieces],
            bar.offcut_in,
            bar.is_kept,
        )
        for bar in plan.bars
    ]


def short_bays(*clear_in: float) -> LineLayout:
    """A line whose bays are so wide between their posts."""
    line = straight_line(bays=len(clear_in))
    return replace(
        line,
        bays=tuple(
            bay(number, spacer_in=clear, on_centre_in=clear + 3.5)
            for number, clear in enumerate(clear_in, 1)
        ),
    )


def test_a_bay_s_three_rails_come_out_of_one_long_length() -> None:
    # 3 x 60 + 2 / 8 = 180.25 of 192 for 15.60; of 8 ft each gives one: 22.20. 192 - 3 x 60.125
    # leaves 11.625.
    result = estimated(short_bays(60.0), book(EIGHT, SIXTEEN))

    assert bought(result)["rail_16"] == (3, 1)
    assert "rail_8" not in bought(result)
    [plan] = result.cut_plans
    assert cut_up(plan) == [("rail_16", 1, [(60.0, 3)], 11.625, False)]
    assert (plan.cost, plan.is_proven, plan.items) == (
        Decimal("15.60"),
        True,
        ("rail_8", "rail_16"),
    )


def test_bars_bought_are_bars_cut_and_spare_comes_on_top() -> None:
    # 3 x 90 and 3 x 60: 3 of 8 ft and 1 of 16 ft. Spare of 5 %: 3.15 -> 4 and 1.05 -> 2.
    spare = [replace(each, waste_pct=5.0) for each in (EIGHT, SIXTEEN)]
    result = estimated(short_bays(90.0, 60.0), book(*spare))

    assert [(bar.item, bar.bars) for bar in result.cut_plans[0].bars] == [
        ("rail_16", 1),
        ("rail_8", 3),
    ]
    assert bought(result)["rail_8"] == (3, 4)
    assert bought(result)["rail_16"] == (3, 2)


def test_the_cost_sheet_pays_for_the_bars() -> None:
    result = estimated(short_bays(90.0, 60.0), book(EIGHT, SIXTEEN))
    paid = {each.item: each.amount for each in result.cost_lines}

    assert paid["rail_8"] + paid["rail_16"] == result.cut_plans[0].cost == Decimal("37.80")


def test_lines_share_a_length() -> None:
    # Three rails of 40 in on each of two lines: 40 + 1/8 + 40 of 96, so 3 lengths, not 2 + 2.
    lines = [replace(short_bays(40.0), line_id=name) for name in ("A", "B")]
    result = estimate_lines(lines, book(EIGHT), Conditions(dig_method="skid_steer"))

    assert bought(result)["rail_8"] == (6, 3)
    assert result.quantities[1].line_ids == ("A", "B")
    assert sum(each.amount for each in result.price_lines) == result.money.price_before_tax


def test_what_is_left_is_kept_from_the_firm_s_length_on() -> None:
    line = short_bays(72.0)  # leaves 96 - 72.125 = 23.875

    [short] = estimated(line, book(EIGHT, keep_offcut_in=24.0)).cut_plans
    [useful] = estimated(line, book(EIGHT, keep_offcut_in=23.875)).cut_plans
    assert cut_up(short) == [("rail_8", 3, [(72.0, 1)], 23.875, False)]
    assert cut_up(useful) == [("rail_8", 3, [(72.0, 1)], 23.875, True)]


def test_a_thin_saw_gets_two_halves_of_a_length() -> None:
    line = short_bays(48.0)

    assert bought(estimated(line, book(EIGHT)))["rail_8"] == (3, 3)
    assert bought(estimated(line, book(EIGHT, saw_kerf_in=0.0)))["rail_8"] == (3, 2)


def test_an_item_without_a_stock_length_is_counted_as_before() -> None:
    result = estimated(short_bays(40.0), book(replace(EIGHT, stock_length_in=None)))

    assert bought(result)["rail_8"] == (3, 3)
    assert result.cut_plans == ()


def test_a_length_out_of_use_is_not_cut_from() -> None:
    result = estimated(short_bays(60.0), book(EIGHT))

    assert bought(result)["rail_8"] == (3, 3)
    assert result.cut_plans[0].items == ("rail_8",)


def test_a_cost_set_by_hand_moves_the_choice() -> None:
    # At 22.30 a long length is dearer than three short ones at 22.20.
    dear = Override(target="unit_cost:rail_16", value=Decimal("22.30"), reason="Sold out")
    result = estimated(short_bays(60.0), book(EIGHT, SIXTEEN), hand_set_figures=[dear])

    assert bought(result)["rail_8"] == (3, 3)


def test_a_piece_longer_than_every_length_stops_and_is_counted() -> None:
    result = estimated(short_bays(100.0, 60.0), book(EIGHT))
    [found] = [each for each in result.findings if each.code == "piece-longer-than-stock"]

    assert (found.severity, found.place) == ("stop", "line A, bay 1")
    assert (found.figure, found.limit) == ("100 in", "96 in")
    assert bought(result)["rail_8"] == (6, 6)


def test_pieces_sold_by_the_pack_are_bought_in_packs() -> None:
    packed = replace(EIGHT, pack=4.0, purchase_unit="bundle of 4", unit_cost=Decimal("28.00"))
    result = estimated(short_bays(90.0, 90.0), book(packed))

    assert bought(result)["rail_8"] == (6, 2)
    assert result.cut_plans[0].cost == Decimal("42.00")  # 6 at 7.00


WIRE = Material(item="coil", driver="foot", extra_ft=4.0, cut="run", kerf_in=0.0)
COIL = price("coil", "19.00", unit="ft", pack=100.0, stock_length_in=1200.0)


def sections(*lengths_in: float) -> LineLayout:
    line = straight_line(bays=1, system=CUT_WOOD)
    return replace(
        line,
        sections=tuple(section(n, each, bays=1) for n, each in enumerate(lengths_in, 1)),
    )


def test_wire_is_clipped_from_coils_section_by_section() -> None:
    # 552 + 48 = 600 and 552 + 48: both out of one coil of 1,200. 100 ft of 8.33 would not be more.
    system = replace(WOOD, materials=(WIRE,))
    result = estimated(sections(552.0, 552.0), book(COIL, system=system))

    assert bought(result)["coil"] == (100, 1)
    assert cut_up(result.cut_plans[0]) == [("coil", 1, [(600.0, 2)], 0.0, False)]


def test_a_run_longer_than_a_coil_is_spliced() -> None:
    # 1,752 + 48 = 1,800: a whole coil and 600 of a second.
    system = replace(WOOD, materials=(WIRE,))
    result = estimated(sections(1752.0), book(COIL, system=system))

    assert bought(result)["coil"] == (150, 2)
    assert [(cut.length_in, cut.pieces) for cut in result.cuts] == [(1200.0, 1), (600.0, 1)]


def test_pipe_that_is_joined_covers_less_than_its_length() -> None:
    # 36 ft: one of 21 covers 20.5, 15.5 ft = 186 in are left. 25 ft: 54 in. Both come out of one
    # more: 186.125 + 54 = 240.125 of 252, which leaves 11.75.
    rail = Material(item="pipe", driver="rail_stock", usable_ft=20.5, cut="run")
    pipe = price("pipe", stock_length_in=252.0)
    system = replace(WOOD, materials=(rail,))
    result = estimated(sections(432.0, 300.0), book(pipe, system=system))

    assert bought(result)["pipe"] == (4, 3)
    assert cut_up(result.cut_plans[0]) == [
        ("pipe", 2, [(252.0, 1)], 0.0, False),
        ("pipe", 1, [(186.0, 1), (54.0, 1)], 11.75, False),
    ]


def test_braces_span_the_first_and_the_last_bay() -> None:
    brace = Material(item="brace", driver="section_end", cut="end_bay")
    system = replace(WOOD, materials=(brace,))
    line = short_bays(80.0, 92.5, 60.0)
    result = estimated(line, book(price("brace", stock_length_in=240.0), system=system))

    assert [(cut.length_in, cut.pieces, cut.place) for cut in result.cuts] == [
        (80.0, 1, "line A, bay 1"),
        (60.0, 1, "line A, bay 3"),
    ]
    assert bought(result)["brace"] == (2, 1)


def test_pickets_of_one_length_come_out_of_boards() -> None:
    # 120 in of section at 3.5 + 2.5: (116.5 - 2.5) / 6 = 19 pickets of 46. Of 12 ft come three:
    # 3 x 46 + 2 / 8 = 138.25; so 7 boards, where 4 ft pickets would take 19.
    picket = Material(
        item="board", driver="bay_picket", width_in=3.5, gap_in=2.5, cut="piece", piece_in=46.0
    )
    system = replace(WOOD, materials=(picket,))
    line = short_bays(116.5)
    result = estimated(line, book(price("board", stock_length_in=144.0), system=system))

    assert bought(result)["board"] == (19, 7)


def test_a_piece_without_a_length_is_refused() -> None:
    data = load_starter_data()
    for material in data["fence_systems"]["wood_picket_4ft"]["materials"]:
        material.pop("piece_in", None)

    with pytest.raises(EngineError, match="piece_in is missing"):
        read_catalog(data)
