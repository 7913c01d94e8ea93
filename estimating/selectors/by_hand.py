"""Figures set by hand, as the firm measures: what is sold by the foot is told by the metre."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

from estimating.engine.result import EstimateResult, Finding
from estimating.models import EstimateOverride
from firm.measure import sold
from firm.measure.money import format_money
from firm.measure.units import to_decimal


@dataclass(frozen=True, kw_only=True, slots=True)
class HandSetRow:
    """A figure set by hand beside the engine's own; `value` and `unit` as the firm measures."""

    override: EstimateOverride
    words: str
    own: str
    value: Decimal
    unit: str = ""


def target_units(result: EstimateResult) -> dict[str, str]:
    """Return what items are bought by, for what can be set by hand of them."""
    return {
        f"{kind}:{each.item}": each.purchase_unit
        for each in result.quantities
        for kind in ("quantity", "unit_cost")
    }


def as_measured(row: EstimateOverride, unit: str, units: str) -> dict[str, Any]:
    """Return what a figure is set to and its unit: metres of what is sold by the foot."""
    if row.target.startswith("unit_cost:"):
        return {"value": sold.cost_shown(row.value, unit, units)}
    if sold.metric_in_one(unit, units) == 1:
        return {"value": row.value}
    return {"value": sold.count_shown(row.value, unit, units), "unit": sold.unit_words(unit, units)}


def findings_shown(findings: Iterable[Finding], rows: Iterable[HandSetRow]) -> list[Finding]:
    """Return findings, what was set by hand of goods sold by the foot as the firm measures."""
    shown = {
        f"{row.words[:1].lower()}{row.words[1:].replace(': ', ' of ', 1)}": _told(row)
        for row in rows
        if row.value != row.override.value
    }
    return [
        replace(each, figure=shown[each.place])
        if each.code == "figure-set-by-hand" and each.place in shown
        else each
        for each in findings
    ]


def _told(row: HandSetRow) -> str:
    if row.unit:
        return f"{row.value} {row.unit}"
    cents = to_decimal(float(row.value), 2)
    return format_money(cents) if cents == row.value else f"${row.value.normalize():,f}"
