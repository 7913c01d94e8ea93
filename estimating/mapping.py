"""Between rows, plain JSON and the engine's dataclasses."""

import datetime as dt
import types
import typing
from collections.abc import Iterable, Mapping
from dataclasses import fields, is_dataclass
from decimal import Decimal
from functools import cache
from typing import Any, TypeVar

from estimating.engine.catalog import Override, TypedLine
from estimating.engine.result import EstimateResult
from estimating.engine.uncertain import Uncertain
from estimating.models import (
    Estimate,
    EstimateLine,
    EstimateOverride,
    FenceSystem,
    PriceItem,
    ProductionRate,
    UncertainRow,
)
from estimating.starter import load_starter_data
from firm.models import FirmProfile
from firm.selectors.profile import firm_profile

T = TypeVar("T")

PRICE_FIELDS = ("name", "kind", "unit", "purchase_unit", "pack", "waste_pct")
MONEY_RULES = (
    "crew_rate",
    "overhead_rate",
    "target_margin_pct",
    "commission_pct",
    "sales_tax_pct",
    "purchase_tax_pct",
    "minimum_charge",
    "travel_per_trip",
    "ticket_fee",
)
TEXT_RULES = ("overhead_method", "sales_tax_base")
NUMBER_RULES = (
    "hours_per_day",
    "hole_floor_in",
    "concrete_waste_pct",
    "saw_kerf_in",
    "keep_offcut_in",
    "gate_move_limit_in",
    "end_move_limit_in",
)
UNCERTAIN_FIELDS = tuple(field.name for field in fields(Uncertain))


def firm_catalog_data(*, today: dt.date) -> dict[str, Any]:
    """Return the firm's systems, price book, rates and rules as the engine's reader takes them."""
    return {
        "fence_systems": {
            row.key: {**row.definition, "name": row.name}
            for row in FenceSystem.objects.filter(is_active=True)
        },
        "prices": {row.key: price_data(row) for row in PriceItem.objects.filter(is_active=True)},
        "rates": rates_data(ProductionRate.objects.filter(effective_from__lte=today)),
        "rules": rules_data(firm_profile()),
    }


def price_data(row: PriceItem) -> dict[str, Any]:
    """Return one row of the price book as the engine's reader takes it."""
    data = {name: getattr(row, name) for name in PRICE_FIELDS}
    data["unit_cost"] = str(row.unit_cost)
    for name in ("yield_ft3", "stock_length_in"):
        if (value := getattr(row, name)) is not None:
            data[name] = value
    if row.checked_on is not None:
        data["checked_on"] = row.checked_on.isoformat()
    return data


def rates_data(rows: Iterable[ProductionRate]) -> dict[str, dict[str, Any]]:
    """Return the newest rate of each key among `rows`, and since when it holds."""
    data: dict[str, dict[str, Any]] = {kind: {} for kind in ProductionRate.Kind.values}
    data["since"] = {}
    for row in sorted(rows, key=lambda row: row.effective_from):
        data[row.kind][row.key] = row.value
        data["since"][f"{row.kind}.{row.key}"] = row.effective_from.isoformat()
    return data


def rules_data(profile: FirmProfile) -> dict[str, Any]:
    """Return the firm's rules; what the profile has no field for keeps the starter's value."""
    data = dict(_starter_rules())
    data |= {name: str(getattr(profile, name)) for name in MONEY_RULES}
    data |= {name: str(getattr(profile, name)) for name in TEXT_RULES}
    data |= {name: float(getattr(profile, name)) for name in NUMBER_RULES}
    data["crew_size"] = profile.crew_size
    data["goods"] = goods_data(profile)
    chosen = {**data.get("soil_bearing", {}), **profile.soil_bearing}
    data["soil_bearing"] = {soil: bearing for soil, bearing in chosen.items() if bearing}
    data |= _concrete(profile.concrete_way, data["concrete"])
    return data


def goods_data(profile: FirmProfile) -> dict[str, str | None]:
    """Return how the firm sells material that it does not build."""
    tax = profile.goods_sales_tax_pct
    return {
        "margin_pct": str(profile.goods_margin_pct),
        "delivery_charge": str(profile.goods_delivery_charge),
        "sales_tax_pct": None if tax is None else str(tax),
    }


def _concrete(way: str, rules: Mapping[str, Any]) -> dict[str, Any]:
    """Return the firm's way for concrete; its bags are the price book's of that weight."""
    kind, _, size = way.partition("_")
    if kind == "bags":
        return {"concrete": {**rules, "way": kind}, "bag_item": f"concrete_{size}"}
    return {"concrete": {**rules, "way": way}}


@cache
def _starter_rules() -> dict[str, Any]:
    """Return the starter's rules; reading its files takes longer than a page's other work."""
    rules: dict[str, Any] = load_starter_data()["rules"]
    return rules


def typed_lines(rows: Iterable[EstimateLine]) -> list[TypedLine]:
    """Return the office's lines as the engine takes them."""
    return [
        TypedLine(
            key=f"typed-{row.pk}",
            description=row.description,
            quantity=row.quantity,
            unit=row.unit,
            unit_cost=row.unit_cost,
            price=row.price,
            is_optional=row.is_optional,
            labor_hours=float(row.labor_hours),
        )
        for row in rows
    ]


def overrides(rows: Iterable[EstimateOverride]) -> list[Override]:
    """Return the figures set by hand as the engine takes them."""
    return [Override(target=row.target, value=row.value, reason=row.reason) for row in rows]


def uncertain(row: UncertainRow) -> Uncertain:
    """Return a row that the firm is not sure of as the engine takes it.

    Raises:
        EngineError: its figures make no sense together; the error names the field.
    """
    # The columns' choices are the engine's own words.
    return Uncertain(**{name: getattr(row, name) for name in UNCERTAIN_FIELDS})


def result_of(estimate: Estimate) -> EstimateResult | None:
    """Return what the engine said when the estimate was last priced."""
    return from_plain(EstimateResult, estimate.result) if estimate.result else None


def to_plain(value: Any) -> Any:
    """Return dataclasses as JSON can hold them: Decimals as text, tuples as lists."""
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: to_plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, Decimal):
        return str(value)
    if isinstance(value, list | tuple):
        return [to_plain(item) for item in value]
    if isinstance(value, Mapping):
        return {key: to_plain(item) for key, item in value.items()}
    return value


def from_plain(kind: type[T], data: Mapping[str, Any]) -> T:
    """Return the dataclass `kind` from what `to_plain` made of one."""
    of_kind: Any = kind
    hints = _hints(of_kind)
    return kind(**{name: _value(hints[name], data[name]) for name in hints if name in data})


@cache
def _hints(kind: Any) -> dict[str, Any]:
    return typing.get_type_hints(kind)


def _value(hint: Any, value: Any) -> Any:
    """Return one field's value, made again from JSON by its annotation."""
    if value is None:
        return None
    origin = typing.get_origin(hint)
    if origin is tuple:
        return _tuple(typing.get_args(hint), value)
    if origin is types.UnionType:
        return _value(next(part for part in typing.get_args(hint) if part is not type(None)), value)
    if hint is Decimal:
        return Decimal(value)
    is_class = is_dataclass(hint) and isinstance(hint, type)
    return from_plain(hint, value) if is_class else value


def _tuple(inner: tuple[Any, ...], values: Any) -> tuple[Any, ...]:
    if inner[-1] is Ellipsis:
        return tuple(_value(inner[0], item) for item in values)
    return tuple(_value(part, item) for part, item in zip(inner, values, strict=True))
