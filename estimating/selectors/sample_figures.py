"""What a page shows of a sample line: its figures in words, and how they differ from before."""

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from estimating.engine.result import EstimateResult, Finding, LineLayout
from estimating.selectors.system_words import ROLES
from firm.measure import loads
from firm.measure.money import format_money
from firm.measure.written import short_length

NOTHING = "none"
DIFFERS = "differs"


@dataclass(frozen=True, kw_only=True, slots=True)
class Span:
    """The least and the most of some lengths in inches, or of some weights in pounds."""

    least: float
    most: float
    is_weight: bool = False

    def written(self, figure: float, units: str) -> str:
        """Return one of its figures as the firm measures."""
        write = loads.WEIGHT.written if self.is_weight else short_length
        return write(figure, units)


Figure = Decimal | Span | str
MONEY = frozenset({"Price before tax", "Direct cost", "Material"})


@dataclass(frozen=True, kw_only=True, slots=True)
class SampleRow:
    """One figure before and now, in words, and by how much it differs."""

    name: str
    before: str
    now: str
    change: str
    is_same: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class SampleFinding:
    """A finding of the sample line; `state` is "new", "gone" or "stays"."""

    finding: Finding
    state: str


def figures_of(result: EstimateResult, units: str) -> dict[str, Figure]:
    """Return the figures of a sample line by their names, the most useful first."""
    line, money = result.lines[0], result.money
    material = (row.amount for row in result.cost_lines if row.kind == "material")
    found: dict[str, Figure | None] = {
        "Posts": Decimal(len(line.posts)),
        "Bays": Decimal(len(line.bays)),
        "Gate posts": Decimal(sum(post.kind == "gate" for post in line.posts)),
        "Bags of concrete": Decimal(result.concrete.bags),
        "Labour hours": Decimal(str(round(result.total_hours, 2))),
        "Material": sum(material, Decimal(0)),
        "Direct cost": money.direct_cost,
        "Price before tax": money.price_before_tax,
        "Bay, post to post": _span(bay.on_centre_in for bay in line.bays),
        "Clear between posts": _span(bay.spacer_in for bay in line.bays),
        "Gate leaf": _span(width for gate in line.gates for width in gate.leaf_widths_in),
        "Leaf, weight": _span((gate.leaf_lb for gate in line.gates), is_weight=True),
        "Gap under the fence": _span(_gaps(line)),
        "Hole, across": _span(hole.diameter_in for hole in result.holes),
        "Hole, deep": _span(hole.depth_in for hole in result.holes),
        **_posts(line, units),
        "Rail or panel, long": _span(bay.panel_in for bay in line.bays),
        "Pieces to cut": _span(cut.length_in for cut in result.cuts),
    }
    return {name: figure for name, figure in found.items() if figure is not None}


def rows_of(
    before: Mapping[str, Figure], now: Mapping[str, Figure], *, is_compared: bool, units: str
) -> list[SampleRow]:
    """Return a row for each figure that is in either; `before` holds none where none compares."""
    names = [*now, *(name for name in before if name not in now)]
    return [
        _row(name, before.get(name), now.get(name), is_compared=is_compared, units=units)
        for name in names
    ]


def findings_of(before: Sequence[Finding], now: Sequence[Finding]) -> list[SampleFinding]:
    """Return the findings: those that are new first, then those that are gone, then the rest."""
    new = [SampleFinding(finding=one, state="new") for one in now if one not in before]
    gone = [SampleFinding(finding=one, state="gone") for one in before if one not in now]
    rest = [SampleFinding(finding=one, state="stays") for one in now if one in before]
    return new + gone + rest


def _row(
    name: str, before: Figure | None, now: Figure | None, *, is_compared: bool, units: str
) -> SampleRow:
    return SampleRow(
        name=name,
        before=_words(name, before, units),
        now=_words(name, now, units),
        change=_change(name, before, now, units) if is_compared else NOTHING,
        is_same=is_compared and before == now,
    )


def _words(name: str, figure: Figure | None, units: str) -> str:
    if figure is None:
        return NOTHING
    if isinstance(figure, Span):
        least, most = (figure.written(each, units) for each in (figure.least, figure.most))
        return least if least == most else f"{least} to {most}"
    if isinstance(figure, Decimal) and name in MONEY:
        return format_money(figure)
    return str(figure)


def _change(name: str, before: Figure | None, now: Figure | None, units: str) -> str:
    """Return by how much a figure differs; where that is no one figure, that it does."""
    if before == now:
        return "0"
    if isinstance(before, Decimal) and isinstance(now, Decimal):
        return _words(name, now - before, units)
    if isinstance(before, Span) and isinstance(now, Span):
        least, most = now.least - before.least, now.most - before.most
        if math.isclose(least, most, abs_tol=1e-9):
            return now.written(most, units)
    return DIFFERS


def _span(figures: Iterable[float], *, is_weight: bool = False) -> Span | None:
    known = sorted(figures)
    return Span(least=known[0], most=known[-1], is_weight=is_weight) if known else None


def _gaps(line: LineLayout) -> Iterator[float]:
    for bay in line.bays:
        yield bay.least_gap_in
        yield bay.largest_gap_in


def _posts(line: LineLayout, units: str) -> dict[str, str]:
    """Return how many posts of which length there are, by their kind."""
    found: dict[str, str] = {}
    for role, words in ROLES.items():
        lengths = Counter(post.length_in for post in line.posts if post.kind == role)
        if lengths:
            found[f"{words}s, long"] = ", ".join(
                f"{count} of {short_length(length, units)}"
                for length, count in sorted(lengths.items())
            )
    return found
