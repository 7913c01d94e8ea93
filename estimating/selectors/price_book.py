"""The price book, production rates and fence systems, as pages list them."""

import datetime as dt
from dataclasses import dataclass
from typing import Any

from django.db.models import Q

from estimating.models import PriceItem, ProductionRate
from firm.measure.written import METRIC, cubic_feet, feet_of_fence, short_length

UNITS = ("in", "ft", "deg", "pct", "ft3")
METRIC_WORDS = {"in": short_length, "ft": feet_of_fence, "ft3": cubic_feet}
# A price nobody looked at for a quarter of a year is named stale; common practice, no source.
STALE_AFTER = dt.timedelta(days=90)


@dataclass(frozen=True, kw_only=True, slots=True)
class ListedPrice:
    """One row of the price book, and whether its price is old."""

    item: PriceItem
    is_stale: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class ListedRate:
    """The rate that rules today, and the next one that waits for its day."""

    current: ProductionRate
    label: str
    next: ProductionRate | None


def is_stale(item: PriceItem, *, today: dt.date) -> bool:
    """Return whether the price was never checked, or not within the last 90 days."""
    return item.checked_on is None or today - item.checked_on > STALE_AFTER


def listed_prices(
    *, today: dt.date, words: str = "", kind: str = "", only_stale: bool = False
) -> list[ListedPrice]:
    """Return the rows that match, materials first."""
    items = PriceItem.objects.order_by("-is_active", "-kind", "name")
    if words:
        items = items.filter(
            Q(name__icontains=words)
            | Q(key__icontains=words)
            | Q(supplier__icontains=words)
            | Q(part_number__icontains=words)
        )
    if kind:
        items = items.filter(kind=kind)
    listed = [ListedPrice(item=item, is_stale=is_stale(item, today=today)) for item in items]
    return [row for row in listed if row.is_stale and row.item.is_active] if only_stale else listed


def listed_rates(*, today: dt.date) -> list[ListedRate]:
    """Return one row per kind and key."""
    by_key: dict[tuple[str, str], list[ProductionRate]] = {}
    for rate in ProductionRate.objects.order_by("kind", "key", "effective_from"):
        by_key.setdefault((rate.kind, rate.key), []).append(rate)
    listed = []
    for (_kind, key), rates in by_key.items():
        past = [rate for rate in rates if rate.effective_from <= today]
        later = [rate for rate in rates if rate.effective_from > today]
        listed.append(
            ListedRate(
                current=past[-1] if past else later[0],
                label=rate_label(key),
                next=later[0] if past and later else None,
            )
        )
    return listed


def rate_label(key: str) -> str:
    """Return a rate's key in words: dig.normal.hand as "Dig: normal, hand"."""
    first, *rest = (part.replace("_", " ") for part in key.split("."))
    return f"{first.capitalize()}: {', '.join(rest)}" if rest else first.capitalize()


def figure_in_words(name: str, value: Any, units: str) -> tuple[str, Any]:
    """Return a figure's name and the figure; for a metric firm lengths are written in metres."""
    words, _, unit = name.rpartition("_")
    write = METRIC_WORDS.get(unit)
    if units != METRIC or not words or write is None or not isinstance(value, int | float):
        return in_words(name), value
    return words.replace("_", " "), write(float(value), units)


def in_words(name: str) -> str:
    """Return a field's name in words, its unit in brackets: `height_in` as "height (in)"."""
    words, _, unit = name.rpartition("_")
    if words and unit in UNITS:
        return f"{words.replace('_', ' ')} ({unit})"
    return name.replace("_", " ")
