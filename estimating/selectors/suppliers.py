"""Who the firm buys from, and which of its items."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Count, Q, QuerySet

from estimating.models import PriceItem, Supplier


@dataclass(frozen=True, kw_only=True, slots=True)
class Source:
    """Where an item of the price book is bought; `supplier` is None where nobody said yet."""

    item_pk: int
    supplier: Supplier | None
    part_number: str


def suppliers_by_name() -> QuerySet[Supplier]:
    """Return all suppliers with how many items are bought there, those in use first."""
    counted = Supplier.objects.annotate(item_count=Count("items", filter=Q(items__is_active=True)))
    return counted.order_by("-is_active", "name")


def suppliers_for(item: PriceItem) -> QuerySet[Supplier]:
    """Return the suppliers an item may be bought from: those in use, and the one it has."""
    return Supplier.objects.filter(Q(is_active=True) | Q(pk=item.supplier_id)).order_by("name")


def sources_of(keys: Iterable[str]) -> Mapping[str, Source]:
    """Return where items are bought, by the item's short name; one query."""
    rows = PriceItem.objects.filter(key__in=set(keys)).select_related("supplier")
    return {
        row.key: Source(item_pk=row.pk, supplier=row.supplier, part_number=row.part_number)
        for row in rows
    }


def stocked_items() -> Mapping[str, tuple[str, str]]:
    """Return the material of the price book as short name to name and purchase unit."""
    rows = PriceItem.objects.filter(kind=PriceItem.Kind.MATERIAL, is_active=True).order_by("name")
    return {
        key: (name, unit) for key, name, unit in rows.values_list("key", "name", "purchase_unit")
    }


def cost_of(key: str) -> Decimal:
    """Return what one purchase unit of an item costs by the price book of today, 0 if unknown."""
    found = PriceItem.objects.filter(key=key).values_list("unit_cost", flat=True).first()
    return found or Decimal(0)
