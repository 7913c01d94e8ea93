"""Ways of getting a job's concrete, with what each costs to buy, mix and place.

In bags of each size; as loose cement, sand and gravel in a mixer, batch by batch; or by truck,
with a least load and a charge for a short one. Dry mix that goes into its holes as it is stays in
bags whatever the rest comes as.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from estimating.engine.catalog import Catalog, PriceItem
from estimating.engine.concrete import ConcreteBuy, ConcreteWay, ConcreteWayKind
from estimating.engine.footings import Footings, Mixing, bag_mixing, bags_of
from estimating.engine.result import Finding
from estimating.engine.site import Conditions
from firm.measure.money import to_cents
from firm.measure.units import CUBIC_FT_PER_CUBIC_YD, round_up, to_decimal

HOUR_PLACES = 6
LONG_WAY = "mix.long_barrow_factor"


@dataclass(frozen=True, kw_only=True, slots=True)
class _Offer:
    """A way with the work that it takes, and the bags where it comes in those."""

    way: ConcreteWay
    mixing: tuple[Mixing, ...]
    bags: int = 0
    dry_bags: float = 0.0
    yield_ft3: float = 0.0


@dataclass(frozen=True, kw_only=True, slots=True)
class _Job:
    """What every way is worked out from."""

    dug: Footings
    catalog: Catalog
    conditions: Conditions
    costs: Mapping[str, Decimal]

    @property
    def wet_yd3(self) -> float:
        return self.dug.wet_ft3 / CUBIC_FT_PER_CUBIC_YD

    def price(self, item: str) -> PriceItem | None:
        return self.catalog.prices.get(item)

    def buy(self, price: PriceItem, wanted: float, rule: str) -> ConcreteBuy:
        """Buy whole purchase units of what is wanted in the item's own unit."""
        units = round_up(wanted / price.pack)
        return ConcreteBuy(
            item=price.key,
            name=price.name,
            units=units,
            purchase_unit=price.purchase_unit,
            amount=to_cents(units * self.costs.get(price.key, price.unit_cost)),
            rule=rule,
        )

    def hours(self, mixing: Iterable[Mixing]) -> float:
        rates = self.catalog.rates.hours
        long_way = rates.get(LONG_WAY, 1.0) if self.conditions.long_barrow else 1.0
        return sum(
            each.count * rates.get(each.rate, 0.0) * (long_way if each.is_wheeled else 1.0)
            for each in mixing
        )

    def offer(
        self,
        kind: ConcreteWayKind,
        item: str,
        buys: Sequence[ConcreteBuy],
        mixing: Sequence[Mixing],
    ) -> _Offer:
        hours = self.hours(mixing)
        material = sum((each.amount for each in buys), Decimal(0))
        labor = to_cents(to_decimal(hours, HOUR_PLACES) * self.catalog.rules.crew_rate)
        way = ConcreteWay(
            kind=kind,
            item=item,
            buys=tuple(buys),
            hours=hours,
            material=material,
            labor=labor,
            total=material + labor,
        )
        return _Offer(way=way, mixing=tuple(mixing))


def with_way(
    dug: Footings, catalog: Catalog, conditions: Conditions, costs: Mapping[str, Decimal]
) -> Footings:
    """Return the footings with every way compared, and the firm's way taken.

    `costs` are unit costs that a person set, by item. Where the firm's way can't be priced its own
    bags are taken, with a finding.
    """
    job = _Job(dug=dug, catalog=catalog, conditions=conditions, costs=costs)
    if dug.concrete.bags == 0:
        return dug
    rules = catalog.rules
    bags = [
        offer
        for item in dict.fromkeys((rules.bag_item, *rules.concrete.bag_items))
        for offer in _in_bags(job, item)
    ]
    by_kind = {"mixer": _in_batches(job), "ready_mix": _by_truck(job)}
    offers = [*bags, *by_kind["mixer"], *by_kind["ready_mix"]]
    if not offers:
        return dug
    cheapest = min(offers, key=lambda offer: offer.way.total)
    way = rules.concrete.way
    wanted = [cheapest] if way == "cheapest" else by_kind.get(way, bags)
    chosen = (wanted or bags or offers)[0]
    return _taken(dug, offers, chosen, cheapest, is_missing=not wanted)


def _in_bags(job: _Job, item: str) -> list[_Offer]:
    price = job.price(item)
    if price is None or not price.yield_ft3:
        return []
    rules = job.catalog.rules
    bags, dry_bags = bags_of(
        job.dug.post_holes,
        factor=1 + rules.concrete_waste_pct / 100,
        yield_ft3=price.yield_ft3,
    )
    buy = job.buy(price, bags, f"{job.dug.concrete.with_waste_ft3:.2f} ft3 / {price.yield_ft3:g}")
    own_yield_ft3 = job.dug.concrete.bag_yield_ft3
    mixing = bag_mixing(
        bags, dry_bags, yield_ft3=price.yield_ft3, own_yield_ft3=own_yield_ft3, rules=rules
    )
    offer = job.offer("bags", item, [buy], mixing)
    return [replace(offer, bags=bags, dry_bags=dry_bags, yield_ft3=price.yield_ft3)]


def _in_batches(job: _Job) -> list[_Offer]:
    """Return what loose cement, sand and gravel cost, with a mixer for the days that it takes."""
    rules, wet_yd3 = job.catalog.rules.concrete, job.wet_yd3
    cement, aggregate, mixer = (
        job.price(item) for item in (rules.cement_item, rules.aggregate_item, rules.mixer_item)
    )
    if not (cement and aggregate and mixer and rules.batch_ft3 and wet_yd3):
        return []
    batches = round_up(job.dug.wet_ft3 / rules.batch_ft3)
    mixing = (Mixing(rate="mix.batch", count=batches, unit="batch"), *_dry_mixing(job))
    firm = job.catalog.rules
    days = max(1, round_up(job.hours(mixing) / (firm.crew_size * firm.hours_per_day)))
    buys = [
        job.buy(cement, wet_yd3 * rules.cement_per_yd3, f"{rules.cement_per_yd3:g} a yd3"),
        job.buy(aggregate, wet_yd3 * rules.aggregate_per_yd3, f"{rules.aggregate_per_yd3:g} a yd3"),
        job.buy(mixer, days, f"{batches} batches of {rules.batch_ft3:g} ft3"),
        *_dry_bags(job),
    ]
    return [job.offer("mixer", mixer.key, buys, mixing)]


def _by_truck(job: _Job) -> list[_Offer]:
    """Return what ready-mix costs: the least load at least, and each short load's charge."""
    rules, wet_yd3 = job.catalog.rules.concrete, job.wet_yd3
    ready_mix, short_load = job.price(rules.ready_mix_item), job.price(rules.short_load_item)
    if not (ready_mix and rules.truck_yd3 and wet_yd3) or (rules.short_load_yd3 and not short_load):
        return []
    order = job.buy(
        ready_mix,
        max(wet_yd3, rules.least_load_yd3),
        f"{wet_yd3:.2f} yd3, at least {rules.least_load_yd3:g}",
    )
    buys = [order]
    # Every truck but the last is full.
    last_yd3 = order.units * ready_mix.pack % rules.truck_yd3 or rules.truck_yd3
    if short_load and last_yd3 < rules.short_load_yd3:
        buys.append(
            job.buy(short_load, 1, f"a load of {last_yd3:g} yd3, under {rules.short_load_yd3:g}")
        )
    mixing = (Mixing(rate="mix.ready_mix_yd3", count=wet_yd3, unit="yd3"), *_dry_mixing(job))
    return [job.offer("ready_mix", ready_mix.key, [*buys, *_dry_bags(job)], mixing)]


def _dry_bags(job: _Job) -> list[ConcreteBuy]:
    price = job.price(job.dug.concrete.bag_item)
    if price is None or not job.dug.dry_bags:
        return []
    return [job.buy(price, job.dug.dry_bags, "dry, into their holes")]


def _dry_mixing(job: _Job) -> tuple[Mixing, ...]:
    own_yield_ft3 = job.dug.concrete.bag_yield_ft3
    _, dry = bag_mixing(
        0,
        job.dug.dry_bags,
        yield_ft3=own_yield_ft3,
        own_yield_ft3=own_yield_ft3,
        rules=job.catalog.rules,
    )
    return (dry,)


def _taken(
    dug: Footings, offers: Sequence[_Offer], chosen: _Offer, cheapest: _Offer, *, is_missing: bool
) -> Footings:
    concrete = replace(
        dug.concrete,
        ways=tuple(
            replace(each.way, is_cheapest=each is cheapest, is_chosen=each is chosen)
            for each in offers
        ),
    )
    if chosen.way.kind == "bags" and chosen.way.item != concrete.bag_item:
        concrete = replace(
            concrete,
            bag_item=chosen.way.item,
            bags=chosen.bags,
            bag_yield_ft3=chosen.yield_ft3,
        )
    return replace(
        dug,
        concrete=concrete,
        mixing=chosen.mixing,
        dry_bags=chosen.dry_bags if chosen.bags else dug.dry_bags,
        findings=(*dug.findings, *([_not_priced()] if is_missing else [])),
    )


def _not_priced() -> Finding:
    return Finding(
        code="concrete-way-not-priced",
        severity="warn",
        message="The firm's way of getting concrete has no price, so it is counted in bags.",
        place="rules.concrete",
        action="Add its items to the price book, or choose another way in the settings.",
    )
