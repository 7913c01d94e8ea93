"""The cut list: rails and stiffeners by length, and the last board of each bay by width."""

from collections.abc import Iterable, Mapping, Sequence

from estimating.engine.catalog import FenceSystem, Material
from estimating.engine.infill import bays_by_section, piece_in, row_pieces
from estimating.engine.products import product_for
from estimating.engine.result import Bay, Cut, LineLayout
from estimating.engine.takeoff import boards_in_bay
from firm.measure.units import ROUND_UP_TOLERANCE


def cut_list(lines: Sequence[LineLayout], systems: Mapping[str, FenceSystem]) -> tuple[Cut, ...]:
    """Return what is cut for the bays of every line that gets its whole fence."""
    return tuple(
        cut
        for line in lines
        if line.scope == "whole_fence"
        for material in systems[line.system].materials
        if material.cut
        for cut in _cuts_of(material, line, systems[line.system])
    )


def last_board_in(system: FenceSystem, bay: Bay) -> float:
    """Return the width that is left for a bay's last board."""
    boards = boards_in_bay(system, bay.spacer_in)
    clear_in = bay.spacer_in - system.channel_allowance_in
    return clear_in - (boards - 1) * system.board_coverage_in


def _cuts_of(material: Material, line: LineLayout, system: FenceSystem) -> Iterable[Cut]:
    if material.cut == "bay_rail":
        pieces = max(1, round(material.quantity))
        return _grouped(material, line, [(bay, bay.panel_in) for bay in line.bays], pieces)
    if material.cut == "rail_row":
        return _row_cuts(material, line, system)
    ripped = [
        (bay, width_in)
        for bay in line.bays
        for width_in in (last_board_in(system, bay),)
        if 0 < width_in < system.board_coverage_in - ROUND_UP_TOLERANCE
    ]
    return _grouped(material, line, ripped, 1)


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
        Cut(
            item=material.item,
            length_in=length_in,
            pieces=pieces,
            place=f"line {line.line_id}, {name_numbers(numbers)}",
        )
        for (length_in, numbers), pieces in sorted(places.items(), reverse=True)
    ]


def _grouped(
    material: Material, line: LineLayout, sized: Sequence[tuple[Bay, float]], pieces: int
) -> Iterable[Cut]:
    bays_by_size: dict[float, list[int]] = {}
    for bay, length_in in sized:
        bays_by_size.setdefault(length_in, []).append(bay.number)
    return [
        Cut(
            item=material.item,
            length_in=length_in,
            pieces=pieces * len(numbers),
            place=f"line {line.line_id}, {name_numbers(numbers)}",
        )
        for length_in, numbers in sorted(bays_by_size.items(), reverse=True)
    ]


def name_numbers(numbers: Sequence[int]) -> str:
    """Return bay numbers with runs drawn together: bays 1-4, 7."""
    runs: list[list[int]] = []
    for number in sorted(numbers):
        if runs and number == runs[-1][1] + 1:
            runs[-1][1] = number
        else:
            runs.append([number, number])
    text = ", ".join(f"{a}" if a == b else f"{a}-{b}" for a, b in runs)
    return f"{'bay' if len(numbers) == 1 else 'bays'} {text}"
