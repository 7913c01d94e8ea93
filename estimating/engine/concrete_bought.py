"""What is bought for a job's concrete: its bags, or what the firm's other way takes."""

from collections.abc import Sequence
from dataclasses import replace

from estimating.engine.catalog import Catalog
from estimating.engine.concrete import Concrete
from estimating.engine.footings import Footings, PostHole
from estimating.engine.result import Need, Quantity
from estimating.engine.trace import Step
from firm.measure.units import round_up


def needs_of_concrete(footings: Footings) -> tuple[Need, ...]:
    """Return each line's share of what is bought for concrete, in bags before waste."""
    concrete = footings.concrete
    if concrete.bags == 0:
        return ()
    by_line: dict[str, list[PostHole]] = {}
    for each in footings.post_holes:
        if each.hole.concrete_ft3 > 0:
            by_line.setdefault(each.line.line_id, []).append(each)
    ft3_by_line = {
        line_id: sum(each.hole.concrete_ft3 for each in holes) for line_id, holes in by_line.items()
    }
    return tuple(
        Need(
            item=item,
            driver="concrete",
            line_id=line_id,
            amount=ft3 / concrete.bag_yield_ft3,
            rule=f"{ft3:.2f} ft3 at {concrete.bag_yield_ft3:g} ft3 a bag",
            posts=tuple(each.post.number for each in by_line[line_id]),
        )
        for item in _items_of(concrete)
        for line_id, ft3 in ft3_by_line.items()
    )


def concrete_quantities(
    footings: Footings, catalog: Catalog, needs: Sequence[Need]
) -> list[Quantity]:
    """Return the quantities that are bought for concrete, each with its needs."""
    chosen = footings.concrete.chosen
    if chosen is None or chosen.kind == "bags":
        return [replace(_bag_quantity(footings, catalog), needs=tuple(needs))]
    line_ids = tuple(dict.fromkeys(need.line_id for need in needs))
    return [
        Quantity(
            item=buy.item,
            name=buy.name,
            driver="concrete",
            net=buy.units * catalog.prices[buy.item].pack,
            unit=catalog.prices[buy.item].unit,
            waste_pct=catalog.rules.concrete_waste_pct,
            purchase_units=buy.units,
            purchase_unit=buy.purchase_unit,
            line_ids=line_ids,
            trace=(Step(rule="the way of getting concrete", inputs=buy.rule),),
            needs=tuple(need for need in needs if need.item == buy.item),
        )
        for buy in chosen.buys
    ]


def _items_of(concrete: Concrete) -> list[str]:
    chosen = concrete.chosen
    if chosen is None or chosen.kind == "bags":
        return [concrete.bag_item]
    return [buy.item for buy in chosen.buys]


def _bag_quantity(footings: Footings, catalog: Catalog) -> Quantity:
    concrete = footings.concrete
    price = catalog.prices[concrete.bag_item]
    return Quantity(
        item=concrete.bag_item,
        name=price.name,
        driver="concrete",
        net=concrete.net_ft3 / concrete.bag_yield_ft3,
        unit=price.unit,
        waste_pct=catalog.rules.concrete_waste_pct,
        purchase_units=round_up(concrete.bags / price.pack),
        purchase_unit=price.purchase_unit,
        line_ids=tuple(dict.fromkeys(each.line.line_id for each in footings.post_holes)),
        trace=(
            Step(
                rule="rounded up once for the job; to the half bag a post where bags go in dry",
                inputs=(
                    f"{concrete.net_ft3:.2f} ft3 + {catalog.rules.concrete_waste_pct:g} % = "
                    f"{concrete.with_waste_ft3:.2f} ft3 at {concrete.bag_yield_ft3:g} ft3 a bag"
                ),
                source="common practice",
            ),
        ),
    )
