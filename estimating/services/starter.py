"""Fills an empty catalog with the starter data, once; the firm's own rows are never touched."""

import datetime as dt
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.utils import timezone

from estimating.models import FenceSystem, PriceItem, ProductionRate, UncertainRow
from estimating.starter import load_starter_data, load_starter_risks
from firm.measure.sold import BY_THE_METRE, feet_by_the_metre
from firm.measure.written import FEET_WORDS, METRIC
from firm.models import FirmProfile

STARTER_PRICE_FIELDS = frozenset(
    {
        "name",
        "kind",
        "unit",
        "purchase_unit",
        "pack",
        "waste_pct",
        "yield_ft3",
        "stock_length_in",
        "part_number",
    }
)


@transaction.atomic
def load_starter_rows(*, today: dt.date) -> int:
    """Add the starter's rows that are missing; return how many were added."""
    data = load_starter_data()
    return (
        _load_systems(data["fence_systems"], today)
        + _load_prices(data["prices"], today)
        + _load_rates(data["rates"], today)
        + _load_risks(load_starter_risks())
    )


def load_starter_for_new_firm(today: dt.date) -> int:
    """Give a firm that is being set up its first catalog.

    Where the starter's rows lie there already, since before anybody said how the firm measures, a
    metric firm buys them by the metre from now on: nothing is counted in feet yet.
    """
    if _is_metric():
        for item in PriceItem.objects.filter(purchase_unit__in=FEET_WORDS):
            item.unit_cost, item.pack = feet_by_the_metre(item.unit_cost, item.pack)
            item.purchase_unit = BY_THE_METRE
            item.save(update_fields=["unit_cost", "pack", "purchase_unit"])
    return load_starter_rows(today=today)


def _is_metric() -> bool:
    # Read anew: the page of the first run asked for the units before there was a firm.
    return FirmProfile.objects.filter(units=METRIC).exists()


def _load_systems(systems: dict[str, Any], today: dt.date) -> int:
    known = set(FenceSystem.objects.values_list("key", flat=True))
    noon = timezone.make_aware(dt.datetime.combine(today, dt.time(12)))
    rows = [
        FenceSystem(
            key=key,
            name=fields["name"],
            definition={name: value for name, value in fields.items() if name != "name"},
            changed_at=noon,
        )
        for key, fields in systems.items()
        if key not in known
    ]
    return len(FenceSystem.objects.bulk_create(rows))


def _load_prices(prices: dict[str, Any], today: dt.date) -> int:
    is_metric = _is_metric()
    known = set(PriceItem.objects.values_list("key", flat=True))
    rows = [
        PriceItem(
            key=key,
            checked_on=today,
            **_by_the_metre(fields) if is_metric else _as_it_stands(fields),
        )
        for key, fields in prices.items()
        if key not in known
    ]
    return len(PriceItem.objects.bulk_create(rows))


def _as_it_stands(fields: Mapping[str, Any]) -> dict[str, Any]:
    kept = {name: value for name, value in fields.items() if name in STARTER_PRICE_FIELDS}
    return {**kept, "unit_cost": Decimal(str(fields["unit_cost"]))}


def _by_the_metre(fields: Mapping[str, Any]) -> dict[str, Any]:
    """Return a row as a metric firm buys it: by the metre what the starter sells by the foot."""
    row = _as_it_stands(fields)
    if row.get("purchase_unit") not in FEET_WORDS:
        return row
    cost, pack = feet_by_the_metre(row["unit_cost"], row.get("pack", 1.0))
    return row | {"purchase_unit": BY_THE_METRE, "unit_cost": cost, "pack": pack}


def _load_rates(rates: dict[str, dict[str, float]], today: dt.date) -> int:
    known = set(ProductionRate.objects.values_list("kind", "key"))
    rows = [
        ProductionRate(kind=kind, key=key, value=value, effective_from=today)
        for kind, values in rates.items()
        for key, value in values.items()
        if (kind, key) not in known
    ]
    return len(ProductionRate.objects.bulk_create(rows))


def _load_risks(risks: dict[str, Any]) -> int:
    known = set(UncertainRow.objects.values_list("key", flat=True))
    rows = [UncertainRow(key=key, **fields) for key, fields in risks.items() if key not in known]
    return len(UncertainRow.objects.bulk_create(rows))
