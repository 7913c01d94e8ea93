"""The buying list: what the jobs of a range of days need, by supplier, and what is to be bought."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from estimating.selectors.suppliers import Source, sources_of
from firm.measure.money import to_cents
from scheduling.engine.buying import last_day_to_order
from scheduling.models import FenceJob, PurchaseOrder
from scheduling.selectors.material import ByHand, NeedRow, material_standing

NOTHING = Decimal(0)


@dataclass(frozen=True, kw_only=True, slots=True)
class ItemRow:
    """One item over all jobs of the range; counts are whole purchase units.

    `first_day` is when the first of them is needed, `order_by` the last day to order what is
    still to be bought: that counts from the first job that waits for it.
    """

    item: str
    name: str
    unit: str
    item_pk: int | None
    part_number: str
    uses: tuple[NeedRow, ...]
    first_day: dt.date | None
    order_by: dt.date | None
    is_late: bool

    @property
    def needed(self) -> int:
        """What is not loaded yet."""
        return sum(use.covered.need.count for use in self.uses)

    @property
    def in_yard(self) -> int:
        """What of it lies in the yard."""
        return sum(use.covered.from_yard for use in self.uses)

    @property
    def at_site(self) -> int:
        """What of it lies at the sites."""
        return sum(use.covered.at_site for use in self.uses)

    @property
    def on_order(self) -> int:
        """What of it is on its way."""
        return sum(use.covered.on_order for use in self.uses)

    @property
    def to_buy(self) -> int:
        """What nothing covers."""
        return sum(use.covered.to_buy for use in self.uses)

    @property
    def cost(self) -> Decimal:
        """What is to be bought comes to."""
        return to_cents(sum((use.cost_to_buy for use in self.uses), NOTHING))

    @property
    def unit_cost(self) -> Decimal:
        """What one costs by the newest of the estimates."""
        return max(self.uses, key=lambda use: (use.job.signed_at, use.job.pk)).item.unit_cost


@dataclass(frozen=True, kw_only=True, slots=True)
class SupplierGroup:
    """What comes from one supplier; None for items that have no supplier yet."""

    source: Source | None
    rows: tuple[ItemRow, ...]
    draft: PurchaseOrder | None

    @property
    def key(self) -> str:
        """The supplier's key as a form sends it."""
        return str(self.source.supplier.pk) if self.source and self.source.supplier else ""

    @property
    def name(self) -> str:
        """The supplier's name."""
        return self.source.supplier.name if self.source and self.source.supplier else ""

    @property
    def to_buy(self) -> int:
        """How many of all items are to be bought."""
        return sum(row.to_buy for row in self.rows)

    @property
    def cost(self) -> Decimal:
        """What is to be bought comes to."""
        return sum((row.cost for row in self.rows), NOTHING)

    @property
    def sites(self) -> Sequence[FenceJob]:
        """The jobs with a site to which what is to be bought could be delivered."""
        jobs = {
            use.job.pk: use.job
            for row in self.rows
            for use in row.uses
            if use.covered.to_buy and use.job.site_id
        }
        return sorted(jobs.values(), key=lambda job: job.number)


@dataclass(frozen=True, kw_only=True, slots=True)
class BuyingList:
    """What is needed from a first to a last day, and for jobs that have no day yet."""

    groups: tuple[SupplierGroup, ...]
    by_hand: tuple[ByHand, ...]

    @property
    def cost(self) -> Decimal:
        """What is to be bought comes to."""
        return sum((group.cost for group in self.groups), NOTHING)


def buying_list(
    *, first: dt.date, last: dt.date, with_unplaced: bool, today: dt.date
) -> BuyingList:
    """Return what jobs with crew days in a range need, by supplier.

    What jobs outside the range take before is off the yard already. Jobs without a day need
    their material promised before they can be placed.
    """
    material = material_standing()

    def is_asked(days: NeedRow | ByHand) -> bool:
        if days.days is None:
            return with_unplaced
        return days.days.first <= last and days.days.last >= first

    rows = [row for row in material.rows if row.covered.need.count and is_asked(row)]
    sources = sources_of(row.item.item for row in rows)
    by_supplier: dict[int | None, dict[str, list[NeedRow]]] = defaultdict(lambda: defaultdict(list))
    for row in rows:
        source = sources.get(row.item.item)
        supplier = source.supplier.pk if source and source.supplier else None
        by_supplier[supplier][row.item.item].append(row)
    drafts = {
        order.supplier_id: order
        for order in PurchaseOrder.objects.filter(state=PurchaseOrder.State.DRAFT)
    }
    groups = [
        _group(items, sources, drafts.get(supplier) if supplier else None, today)
        for supplier, items in by_supplier.items()
    ]
    return BuyingList(
        # Items without a supplier stand last.
        groups=tuple(sorted(groups, key=lambda group: (not group.name, group.name.lower()))),
        by_hand=tuple(each for each in material.by_hand if is_asked(each)),
    )


def _group(
    items: Mapping[str, Sequence[NeedRow]],
    sources: Mapping[str, Source],
    draft: PurchaseOrder | None,
    today: dt.date,
) -> SupplierGroup:
    found = [_item_row(key, uses, sources.get(key), today) for key, uses in items.items()]
    return SupplierGroup(
        source=sources.get(next(iter(items))),
        rows=tuple(sorted(found, key=lambda row: (row.first_day or dt.date.max, row.name))),
        draft=draft,
    )


def _item_row(key: str, uses: Sequence[NeedRow], source: Source | None, today: dt.date) -> ItemRow:
    lead_days = source.supplier.lead_days if source and source.supplier else 0
    to_buy = _first_day(use for use in uses if use.covered.to_buy)
    order_by = last_day_to_order(to_buy, lead_days=lead_days) if to_buy else None
    return ItemRow(
        item=key,
        name=uses[0].item.name,
        unit=uses[0].item.unit,
        item_pk=source.item_pk if source else None,
        part_number=source.part_number if source else "",
        uses=tuple(uses),
        first_day=_first_day(uses),
        order_by=order_by,
        is_late=order_by is not None and order_by < today,
    )


def _first_day(uses: Iterable[NeedRow]) -> dt.date | None:
    return min((use.days.first for use in uses if use.days), default=None)
