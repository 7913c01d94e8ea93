"""The price book and the figures of fence systems, as pages list them."""

import datetime as dt
from dataclasses import dataclass
from typing import Any

from django.db.models import Q

from estimating.models import PriceItem
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


def is_stale(item: PriceItem, *, today: dt.date) -> bool:
    """Return whether the price was never checked, or not within the last 90 days."""
    return item.checked_on is None or today - item.checked_on > STALE_AFTER


def listed_prices(
    *, today: dt.date, words: str = "", kind: str = "", only_stale: bool = False
) -> list[ListedPrice]:
    """Return the rows that match, materials first."""
    items = PriceItem.objects.select_related("supplier").order_by("-is_active", "-kind", "name")
    if words:
        items = items.filter(
            Q(name__icontains=words)
            | Q(key__icontains=words)
            | Q(supplier__name__icontains=words)
            | Q(part_number__icontains=words)
        )
    if kind:
        items = items.filter(kind=kind)
    listed = [ListedPrice(item=item, is_stale=is_stale(item, today=today)) for item in items]
    return [row for row in listed if row.is_stale and row.item.is_active] if only_stale else listed


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
