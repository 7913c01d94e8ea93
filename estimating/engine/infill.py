"""Boards along a run, pickets in a bay, and rails that run through their posts in rows."""

import math
from collections import Counter
from collections.abc import Sequence
from itertools import groupby, pairwise

from estimating.engine.catalog import FenceSystem, Material
from estimating.engine.result import Bay, LineLayout
from firm.measure.units import IN_PER_FT, round_up
from firm.measure.written import how_many

STOCK_TOLERANCE_IN = 1 / 32
STEP_IN = 1 / 24  # heights are chosen in sixteenths: less is no step


def materials_of(line: LineLayout, system: FenceSystem) -> list[Material]:
    """Return what a line is built of: its system's materials, less what it goes without."""
    return [m for m in system.materials if line.rail_stiffener or m.stiffens != "bottom_rail"]


def run_boards(material: Material, length_in: float) -> int:
    """Return the boards along a run: ceil((L - w) / (w - overlap)) + 1.

    Side by side (no overlap) it is ceil(L / w). Boards that alternate between two faces advance
    by the same w - overlap each, so they count like boards that lap on one face.
    """
    if length_in <= 0:
        return 0
    advance_in = material.width_in - material.overlap_in
    return max(0, round_up((length_in - material.width_in) / advance_in)) + 1


def pickets_in_bay(material: Material, clear_in: float) -> int:
    """Return the pickets that come nearest to the wanted gap, with equal gaps on both sides."""
    pitch_in = material.width_in + material.gap_in
    return max(0, math.floor((clear_in - material.gap_in) / pitch_in + 0.5))


def picket_gap_in(material: Material, clear_in: float) -> float:
    """Return the equal gap that a bay's pickets leave: (clear - n x w) / (n + 1)."""
    count = pickets_in_bay(material, clear_in)
    return (clear_in - count * material.width_in) / (count + 1)


def boards_in_bay(system: FenceSystem, spacer_in: float) -> int:
    """Return the boards that fill a bay: its clear width less the channels, by coverage."""
    if system.board_coverage_in <= 0:
        return 0
    return max(0, round_up((spacer_in - system.channel_allowance_in) / system.board_coverage_in))


def bays_by_section(line: LineLayout) -> list[list[Bay]]:
    """Return the bays of each section in their order."""
    return [list(bays) for _, bays in groupby(line.bays, key=lambda bay: bay.section)]


def bays_per_stock(material: Material, bays: Sequence[Bay]) -> int:
    """Return how many bays one rail spans: rails meet inside a post, so whole bays only."""
    longest_in = max(bay.on_centre_in for bay in bays)
    stock_in = (material.usable_ft or 0.0) * IN_PER_FT
    return max(1, math.floor((stock_in + STOCK_TOLERANCE_IN) / longest_in))


def stock_in_row(material: Material, bays: Sequence[Bay]) -> int:
    """Return the rails bought for one row of a section; terminals break every row.

    A row that starts with a part of a rail ends with the rest of it where the bays come out even,
    so a staggered row takes no more stock than one that starts with a whole rail.
    """
    return math.ceil(len(bays) / bays_per_stock(material, bays))


def row_pieces(material: Material, bays: Sequence[Bay], row: int) -> list[list[Bay]]:
    """Return the bays that each piece of a row spans; odd rows (0 is the first) start with one bay.

    So no post carries the joints of two rows that lie next to each other.
    """
    span = bays_per_stock(material, bays)
    first = 1 if row % 2 and span > 1 else span
    starts = [0, *range(first, len(bays), span)]
    return [list(bays[a:b]) for a, b in zip(starts, [*starts[1:], len(bays)], strict=True)]


def piece_in(piece: Sequence[Bay], section: Sequence[Bay], line_share_in: float) -> float:
    """Return a through rail's length: to the middle of a line post, into a terminal's face.

    `line_share_in` is what a rail that ends in a line post's face falls short of its middle.
    """
    if len(section) == 1:
        return section[0].panel_in
    total_in = sum(bay.on_centre_in for bay in piece)
    for bay in (section[0], section[-1]):
        if bay in (piece[0], piece[-1]):
            total_in -= bay.on_centre_in - bay.panel_in - line_share_in
    return total_in


def _runs_in(line: LineLayout) -> list[float]:
    """Return the lengths that boards run through: sections, parted where the fence steps."""
    runs: list[float] = []
    for bays in bays_by_section(line):
        runs.append(bays[0].on_centre_in)
        for before, bay in pairwise(bays):
            if abs(bay.base_start_in - before.base_end_in) > STEP_IN:
                runs.append(0.0)
            runs[-1] += bay.on_centre_in
    return runs


def board_rule(material: Material, system: FenceSystem, counts: Sequence[float]) -> str:
    """Return how boards or pickets are counted, down to bays or runs; nothing for other drivers."""
    if material.driver == "board":
        how = (
            f"a bay's clear width less {system.channel_allowance_in:g} in for its channels, "
            f"by {system.board_coverage_in:g} in that a board covers, rounded up"
        )
        return f"{_each_in(counts, 'bay')}: {how}"
    if material.driver == "bay_picket":
        how = f"pickets of {material.width_in:g} in at gaps nearest to {material.gap_in:g} in"
        return f"{_each_in(counts, 'bay')}: {how}"
    if material.driver == "run_board":
        advance_in = material.width_in - material.overlap_in
        how = f"1, and one for each {advance_in:g} in that the run goes on, rounded up"
        return f"{_each_in(counts, 'run')}: {how}"
    return ""


def _each_in(counts: Sequence[float], noun: str) -> str:
    """Return counts with how often each comes: 8 in each of 10 bays, 6 in 1 bay."""
    grouped = Counter(round(count) for count in counts)
    return ", ".join(
        f"{count} in {'each of ' if times > 1 else ''}{how_many(times, noun)}"
        for count, times in sorted(grouped.items(), reverse=True)
    )


def counted_pieces(material: Material, line: LineLayout) -> list[float]:
    """Return the boards of each run that no step breaks, or the pickets of each bay."""
    if material.driver == "run_board":
        return [float(run_boards(material, length_in)) for length_in in _runs_in(line)]
    if material.driver == "bay_picket":
        return [float(pickets_in_bay(material, bay.spacer_in)) for bay in line.bays]
    return []
