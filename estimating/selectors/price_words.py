"""The words of a line of the price, its measures in the firm's units."""

from estimating.engine.result import EstimateResult
from estimating.engine.sums import PriceLine
from firm.measure.units import IN_PER_FT
from firm.measure.written import exact_in, length_words


def price_words(
    description: str,
    units: str,
    *,
    fence_ft: float = 0.0,
    has_gates: bool = False,
    opening_in: float = 0.0,
) -> str:
    """Return the words with a fence's length as the scope writes it, and a gate's clear opening.

    The engine writes tenths of a foot and inches; here they come from the figures themselves. The
    length of a line of the price leaves its gates out, which have lines of their own: so it says.
    """
    in_tenths = f"{fence_ft:,.1f} ft of "
    if fence_ft and in_tenths in description:
        length = length_words(fence_ft * IN_PER_FT, units)
        description = description.replace(in_tenths, f"{length} of ", 1)
        description += ", without its gates" if has_gates else ""
    if opening_in:
        opening = f"{exact_in(opening_in, units)} clear opening"
        description = description.replace(f"{opening_in:g} in clear opening", opening, 1)
    return description


def part_words(part: PriceLine, result: EstimateResult, units: str) -> str:
    """Return what a part of the price is for, its measures in these units."""
    lines = {f"line:{line.line_id}": line for line in result.lines}
    openings = {
        f"gate:{line.line_id}:{gate.id}": gate.clear_opening_in
        for line in result.lines
        for gate in line.gates
    }
    line = lines.get(part.key)
    return price_words(
        part.description,
        units,
        fence_ft=line.fence_ft if line else 0.0,
        has_gates=bool(line and line.gates),
        opening_in=openings.get(part.key, 0.0),
    )
