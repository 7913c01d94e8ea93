"""Alternates of an estimate, worked out together from its own document and prices."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from estimating import mapping
from estimating.engine.alternates import Alternate, AlternatePrice, Swap, price_alternates
from estimating.engine.reading import read_catalog
from estimating.models import Estimate, EstimateAlternate
from firm.measure.written import short_length
from firm.selectors.profile import firm_units


@dataclass(frozen=True, kw_only=True, slots=True)
class GatePlace:
    """A gate that an alternate may make wider or narrower."""

    line_id: str
    gate_id: str
    opening_in: float


@dataclass(frozen=True, kw_only=True, slots=True)
class LinePlace:
    """A line that an alternate may build in another system, and its gates."""

    line_id: str
    name: str
    system: str
    system_name: str
    gates: tuple[GatePlace, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class AlternateRow:
    """One alternate with what is otherwise, in words."""

    pk: int
    priced: AlternatePrice
    differs: tuple[str, ...]

    @property
    def posts(self) -> int:
        """The posts of the alternate."""
        lines = self.priced.result.lines if self.priced.result else ()
        return sum(len(line.posts) for line in lines)


def key_of(alternate: EstimateAlternate) -> str:
    """Return the key that an alternate is known by in the engine and in a proposal."""
    return f"alternate:{alternate.pk}"


def places(estimate: Estimate) -> list[LinePlace]:
    """Return the lines that are built, and their gates."""
    names = system_names(estimate)
    return [
        LinePlace(
            line_id=str(line["id"]),
            name=str(line.get("name") or f"Line {line['id']}"),
            system=str(line["system"]),
            system_name=names.get(str(line["system"]), str(line["system"])),
            gates=tuple(
                GatePlace(
                    line_id=str(line["id"]),
                    gate_id=str(gate["id"]),
                    opening_in=float(gate["clear_opening_in"]),
                )
                for gate in line.get("gates", ())
            ),
        )
        for line in estimate.document.get("lines", ())
        if line.get("scope", "whole_fence") != "removal"
    ]


def system_names(estimate: Estimate) -> dict[str, str]:
    """Return the names of the fence systems that the estimate was priced with, by key."""
    systems: Mapping[str, Any] = estimate.catalog.get("fence_systems", {})
    return {key: str(system.get("name", key)) for key, system in systems.items()}


def priced_alternates(estimate: Estimate) -> tuple[AlternatePrice, ...]:
    """Return the estimate's alternates, each estimated whole.

    Raises:
        EngineError: the estimate's own document can't be worked with any more.
    """
    alternates = [_alternate(row) for row in estimate.alternates.prefetch_related("swaps")]
    if not alternates:
        return ()
    return price_alternates(
        estimate.document,
        read_catalog(estimate.catalog),
        alternates,
        typed=mapping.typed_lines(estimate.typed_lines.all()),
        overrides=mapping.overrides(estimate.overrides.all()),
    )


def alternate_rows(estimate: Estimate) -> list[AlternateRow]:
    """Return the estimate's alternates with what is otherwise in each.

    Raises:
        EngineError: the estimate's own document can't be worked with any more.
    """
    names, units = system_names(estimate), firm_units()
    lines = {each.line_id: each.name for each in places(estimate)}
    return [
        AlternateRow(
            pk=int(priced.alternate.key.partition(":")[2]),
            priced=priced,
            differs=tuple(
                swap_words(swap, names=names, lines=lines, units=units)
                for swap in priced.alternate.swaps
            ),
        )
        for priced in priced_alternates(estimate)
    ]


def swap_words(
    swap: Swap, *, names: Mapping[str, str], lines: Mapping[str, str], units: str
) -> str:
    """Return what is otherwise, as it is read: Back line: vinyl privacy, 6 ft."""
    place = lines.get(swap.line_id, f"Line {swap.line_id}")
    if swap.gate_id:
        return f"{place}, gate {swap.gate_id}: {short_length(swap.opening_in or 0.0, units)} clear"
    return f"{place}: {names.get(swap.system, swap.system)}"


def _alternate(row: EstimateAlternate) -> Alternate:
    return Alternate(
        key=key_of(row),
        name=row.name,
        swaps=tuple(
            Swap(
                line_id=each.line_id,
                gate_id=each.gate_id,
                system=each.system,
                opening_in=each.opening_in,
            )
            for each in row.swaps.all()
        ),
    )
