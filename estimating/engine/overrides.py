"""Figures set by hand, sorted by what they replace."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import get_args

from estimating.engine.catalog import Override
from estimating.engine.errors import EngineError
from estimating.engine.result import EstimateResult, Finding, Phase
from firm.measure.money import to_cents

KINDS = ("quantity", "unit_cost", "hours")
ITEM_KINDS = {"quantity": "quantity", "unit_cost": "unit cost"}


@dataclass(frozen=True, kw_only=True, slots=True)
class HandSet:
    """Overrides by target: quantities and unit costs by item, hours by phase, and the price."""

    quantities: Mapping[str, Override]
    unit_costs: Mapping[str, Override]
    hours: Mapping[str, Override]
    price: Override | None

    @property
    def hours_by_phase(self) -> dict[str, Decimal]:
        return {phase: override.value for phase, override in self.hours.items()}


def sort_overrides(overrides: Sequence[Override]) -> HandSet:
    """Sort overrides by what they replace; of two for one target the later counts."""
    by_kind: dict[str, dict[str, Override]] = {kind: {} for kind in KINDS}
    price = None
    for index, override in enumerate(overrides):
        _check(override, f"overrides[{index}]")
        if override.target == "price":
            price = override
        else:
            kind, _, name = override.target.partition(":")
            by_kind[kind][name] = override
    return HandSet(
        quantities=by_kind["quantity"],
        unit_costs=by_kind["unit_cost"],
        hours=by_kind["hours"],
        price=price,
    )


def _check(override: Override, path: str) -> None:
    if override.value < 0:
        raise EngineError("A figure set by hand can't be below 0.", field=f"{path}.value")
    if not override.reason.strip():
        raise EngineError("A figure set by hand needs a reason.", field=f"{path}.reason")
    kind, _, name = override.target.partition(":")
    if override.target != "price" and (kind not in KINDS or not name):
        raise EngineError(
            f"'{override.target}' is not a figure that can be set by hand: use quantity:ITEM, "
            "unit_cost:ITEM, hours:PHASE or price.",
            field=f"{path}.target",
        )
    if kind == "hours" and name not in get_args(Phase):
        raise EngineError(f"There is no phase '{name}'.", field=f"{path}.target")
    if kind == "quantity" and override.value != override.value.to_integral_value():
        raise EngineError("Items are bought in whole purchase units.", field=f"{path}.value")


def override_findings(overrides: Sequence[Override], names: Mapping[str, str]) -> list[Finding]:
    """Return a note for each figure set by hand, or a warning where nothing uses it any more.

    `names` holds the items that are used, by key.
    """
    findings = []
    for override in overrides:
        kind, _, name = override.target.partition(":")
        is_used = kind not in ITEM_KINDS or name in names
        place = _place(kind, names.get(name, name))
        findings.append(_used(override, place) if is_used else _unused(override, name, place))
    return findings


def _place(kind: str, name: str) -> str:
    if kind in ITEM_KINDS:
        return f"{ITEM_KINDS[kind]} of {name}"
    return f"hours, {name.replace('_', ' ')}" if kind == "hours" else "price before tax"


def _figure(override: Override) -> str:
    """Return the figure as it is read: an amount of money, hours, or a count."""
    kind = override.target.partition(":")[0]
    if kind in ("price", "unit_cost"):
        cents = to_cents(override.value)
        return f"${cents if cents == override.value else override.value.normalize():,f}"
    short = f"{override.value:f}"
    short = short.rstrip("0").rstrip(".") if "." in short else short
    return f"{short} h" if kind == "hours" else short


def _used(override: Override, place: str) -> Finding:
    return Finding(
        code="figure-set-by-hand",
        severity="note",
        message=f"Figure set by hand: {override.reason}",
        place=place,
        figure=_figure(override),
        action="Check that the reason still holds.",
    )


def _unused(override: Override, name: str, place: str) -> Finding:
    return Finding(
        code="hand-set-figure-unused",
        severity="warn",
        message=f"A figure was set by hand for '{name}', which this estimate no longer uses.",
        place=place,
        figure=_figure(override),
        action="Remove the figure, or check whether another item takes its place.",
    )


def that_still_fit(
    overrides: Sequence[Override], was: EstimateResult, now: EstimateResult
) -> list[Override]:
    """Return the figures set by hand for one estimate that hold for another one of the same site.

    `was` and `now` are both without any. A cost of one holds always; a quantity and hours where
    the engine's own figure is the same in both; a price never, since it was set for the whole.
    """
    return [each for each in overrides if _fits(each.target, was, now)]


def _fits(target: str, was: EstimateResult, now: EstimateResult) -> bool:
    kind, _, name = target.partition(":")
    if kind == "unit_cost":
        return any(each.item == name for each in now.quantities)
    figure = _own_quantity if kind == "quantity" else _own_hours
    old, new = figure(was, name), figure(now, name)
    return kind != "price" and None not in (old, new) and old == new


def _own_quantity(result: EstimateResult, item: str) -> float | None:
    return next((each.purchase_units for each in result.quantities if each.item == item), None)


def _own_hours(result: EstimateResult, phase: str) -> float | None:
    return next((round(each.labor_hours, 6) for each in result.hours if each.phase == phase), None)
