"""Alternates: one measured site with another fence system or another gate in places."""

from collections.abc import Mapping, Sequence
from copy import deepcopy
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from estimating.engine.catalog import Catalog, Override, TypedLine
from estimating.engine.errors import EngineError
from estimating.engine.estimate import estimate
from estimating.engine.overrides import that_still_fit
from estimating.engine.reading import check_items, read_site
from estimating.engine.result import EstimateResult


@dataclass(frozen=True, kw_only=True, slots=True)
class Swap:
    """One thing that is otherwise: a line's fence system, or a gate's clear opening.

    Without a `gate_id` it is of the line. A gate keeps the near face of its opening.
    """

    line_id: str
    gate_id: str = ""
    system: str = ""
    opening_in: float | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class Alternate:
    """A way of building that is named, and what is otherwise in it."""

    key: str
    name: str
    swaps: tuple[Swap, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class AlternatePrice:
    """An alternate estimated whole, or why it can't be. Changes are against the estimate."""

    alternate: Alternate
    result: EstimateResult | None
    kept: tuple[Override, ...] = ()
    price_change: Decimal = Decimal(0)
    cost_change: Decimal = Decimal(0)
    hours_change: float = 0.0
    new_stops: tuple[str, ...] = ()
    problem: str = ""


def substituted(document: Mapping[str, Any], swaps: Sequence[Swap]) -> dict[str, Any]:
    """Return a site document with the swaps made; the one given stays as it is.

    Raises:
        EngineError: a line or a gate is not there any more.
    """
    changed = deepcopy(dict(document))
    lines = {str(line.get("id")): line for line in changed.get("lines", ())}
    for swap in swaps:
        line = lines.get(swap.line_id)
        if line is None:
            raise EngineError(f"The site has no line '{swap.line_id}' any more.", field="lines")
        if not swap.gate_id:
            line["system"] = swap.system
            continue
        gates = {str(gate.get("id")): gate for gate in line.get("gates", ())}
        if swap.gate_id not in gates:
            raise EngineError(
                f"Line '{swap.line_id}' has no gate '{swap.gate_id}' any more.", field="lines"
            )
        gates[swap.gate_id]["clear_opening_in"] = swap.opening_in
    return changed


def price_alternates(
    document: Mapping[str, Any],
    catalog: Catalog,
    alternates: Sequence[Alternate],
    *,
    typed: Sequence[TypedLine] = (),
    overrides: Sequence[Override] = (),
) -> tuple[AlternatePrice, ...]:
    """Estimate the alternates of one site document with the same prices and typed lines.

    Figures set by hand hold where the engine's own is the same, a price never. One that can't be
    worked with says why; the others are still estimated.

    Raises:
        EngineError: the document itself can't be worked with.
    """
    site = read_site(document)
    bare = estimate(site, catalog, typed=typed)
    whole = estimate(site, catalog, typed=typed, overrides=overrides) if overrides else bare
    priced = []
    for each in alternates:
        try:
            priced.append(
                _priced(each, document, catalog, bare, whole, typed=typed, overrides=overrides)
            )
        except EngineError as error:
            priced.append(AlternatePrice(alternate=each, result=None, problem=str(error)))
    return tuple(priced)


def _priced(
    alternate: Alternate,
    document: Mapping[str, Any],
    catalog: Catalog,
    bare: EstimateResult,
    whole: EstimateResult,
    *,
    typed: Sequence[TypedLine],
    overrides: Sequence[Override],
) -> AlternatePrice:
    site = read_site(substituted(document, alternate.swaps))
    check_items(catalog, {line.system for line in site.lines})
    own = estimate(site, catalog, typed=typed)
    kept = that_still_fit(overrides, bare, own)
    result = estimate(site, catalog, typed=typed, overrides=kept) if kept else own
    known = {(each.code, each.place) for each in whole.findings if each.severity == "stop"}
    return AlternatePrice(
        alternate=alternate,
        result=result,
        kept=tuple(kept),
        price_change=result.money.price - whole.money.price,
        cost_change=result.money.direct_cost - whole.money.direct_cost,
        hours_change=result.total_hours - whole.total_hours,
        new_stops=tuple(
            dict.fromkeys(
                each.message
                for each in result.findings
                if each.severity == "stop" and (each.code, each.place) not in known
            )
        ),
    )
