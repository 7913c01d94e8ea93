"""The cut list: rails, pipe, wire and pickets by length, a bay's last board by its width."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from estimating.engine.catalog import FenceSystem, Material, PriceItem
from estimating.engine.geometry import PER_INCH, to_grid
from estimating.engine.infill import (
    bays_by_section,
    boards_in_bay,
    counted_pieces,
    materials_of,
    piece_in,
    row_pieces,
)
from estimating.engine.products import product_for
from estimating.engine.result import Bay, Cut, LineLayout
from firm.measure.units import IN_PER_FT, ROUND_UP_TOLERANCE, round_up

SHORTEST_CUT_IN = 1 / PER_INCH
NO_PRICES: Mapping[str, PriceItem] = {}


@dataclass(frozen=True, kw_only=True, slots=True)
class MaterialCuts:
    """What is cut of one material for one line."""

    material: Material
    line_id: str
    cuts: tuple[Cut, ...]


def cut_list(
    lines: Sequence[LineLayout],
    systems: Mapping[str, FenceSystem],
    prices: Mapping[str, PriceItem] = NO_PRICES,
) -> tuple[Cut, ...]:
    """Return what is cut for every line that gets its whole fence."""
    return tuple(cut for each in cuts_by_material(lines, systems, prices) for cut in each.cuts)


def cuts_by_material(
    lines: Sequence[LineLayout],
    systems: Mapping[str, FenceSystem],
    prices: Mapping[str, PriceItem],
) -> list[MaterialCuts]:
    """Return the cuts of each material of each line that gets its whole fence.

    Between posts that stand in each other's place nothing is cut; that is a finding.
    """
    return [
        MaterialCuts(
            material=material,
            line_id=line.line_id,
            cuts=tuple(
                cut
                for cut in _cuts_of(material, line, systems[line.system], prices)
                if cut.length_in >= SHORTEST_CUT_IN
            ),
        )
        for line in lines
        if line.scope == "whole_fence"
        for material in materials_of(line, systems[line.system])
        if material.cut
    ]


def last_board_in(system: FenceSystem, bay: Bay) -> float:
    """Return the width that is left for a bay's last board."""
    boards = boards_in_bay(system, bay.spacer_in)
    clear_in = bay.spacer_in - system.channel_allowance_in
    return clear_in - (boards - 1) * system.board_coverage_in


def _cuts_of(
    material: Material,
    line: LineLayout,
    system: FenceSystem,
    prices: Mapping[str, PriceItem],
) -> Iterable[Cut]:
    if material.cut == "rail_row":
        return _row_cuts(material, line, system)
    if material.cut == "run":
        price = prices.get(material.item)
        stock_in = price.stock_length_in if price else None
        return _run_cuts(material, line, stock_in) if stock_in else []
    if material.cut == "piece":
        return _piece_cuts(material, line)
    sized = {
        "bay_rail": _rails,
        "end_bay": _end_bays,
        "bay_board": _ripped_boards,
    }[material.cut](line, system)
    pieces = 1 if material.cut == "bay_board" else max(1, round(material.quantity))
    return _grouped(material, line, sized, pieces)


Sized = Sequence[tuple[Bay, float]]


def _rails(line: LineLayout, _system: FenceSystem) -> Sized:
    return [(bay, bay.panel_in) for bay in line.bays]


def _end_bays(line: LineLayout, _system: FenceSystem) -> Sized:
    """Return the first and the last bay of each section: what braces a terminal spans it."""
    return [(bay, bay.spacer_in) for bays in bays_by_section(line) for bay in (bays[0], bays[-1])]


def _ripped_boards(line: LineLayout, system: FenceSystem) -> Sized:
    return [
        (bay, width_in)
        for bay in line.bays
        for width_in in (last_board_in(system, bay),)
        if 0 < width_in < system.board_coverage_in - ROUND_UP_TOLERANCE
    ]


def _run_cuts(material: Material, line: LineLayout, stock_in: float) -> Iterable[Cut]:
    """Return the lengths that are joined along each section: whole ones, and the last as needed.

    A length joined to the next covers `usable_ft` of it, the last one all of its own.
    """
    covers_in = (material.usable_ft or stock_in / IN_PER_FT) * IN_PER_FT
    places: dict[float, list[int]] = {}
    for section in line.sections:
        run_in = section.length_in + material.extra_ft * IN_PER_FT
        whole = max(0, round_up(run_in / covers_in) - 1)
        last_in = to_grid(run_in - whole * covers_in)
        for length_in in [stock_in] * whole + [last_in]:
            places.setdefault(length_in, []).extend([section.number] * round(material.quantity))
    return [
        _cut(material, line, length_in, len(numbers), name_numbers(numbers, "section"))
        for length_in, numbers in sorted(places.items(), reverse=True)
    ]


def _piece_cuts(material: Material, line: LineLayout) -> Iterable[Cut]:
    """Return the boards or pickets that are all cut to one length."""
    pieces = round(sum(material.quantity * each for each in counted_pieces(material, line)))
    return [_cut(material, line, material.piece_in, pieces, "all")] if pieces else []


def _row_cuts(material: Material, line: LineLayout, system: FenceSystem) -> Iterable[Cut]:
    """Return the pieces of every row of rails; rows next to each other break at other posts."""
    line_share_in = product_for(system, "line").width_in / 2 - system.rail_insertion_in
    places: dict[tuple[float, tuple[int, ...]], int] = {}
    for section in bays_by_section(line):
        for row in range(max(1, round(material.quantity))):
            for piece in row_pieces(material, section, row):
                length_in = piece_in(piece, section, line_share_in)
                key = (length_in, tuple(bay.number for bay in piece))
                places[key] = places.get(key, 0) + 1
    return [
        _cut(material, line, length_in, pieces, name_numbers(numbers))
        for (length_in, numbers), pieces in sorted(places.items(), reverse=True)
    ]


def _grouped(material: Material, line: LineLayout, sized: Sized, pieces: int) -> Iterable[Cut]:
    bays_by_size: dict[float, list[int]] = {}
    for bay, length_in in sized:
        bays_by_size.setdefault(length_in, []).append(bay.number)
    return [
        _cut(material, line, length_in, pieces * len(numbers), name_numbers(numbers))
        for length_in, numbers in sorted(bays_by_size.items(), reverse=True)
    ]


def _cut(material: Material, line: LineLayout, length_in: float, pieces: int, where: str) -> Cut:
    return Cut(
        item=material.item,
        length_in=length_in,
        pieces=pieces,
        place=f"line {line.line_id}, {where}",
    )


def name_numbers(numbers: Sequence[int], what: str = "bay") -> str:
    """Return the numbers of bays with runs drawn together: bays 1-4, 7."""
    runs: list[list[int]] = []
    for number in sorted(set(numbers)):
        if runs and number == runs[-1][1] + 1:
            runs[-1][1] = number
        else:
            runs.append([number, number])
    text = ", ".join(f"{a}" if a == b else f"{a}-{b}" for a, b in runs)
    return f"{what if len(set(numbers)) == 1 else what + 's'} {text}"
