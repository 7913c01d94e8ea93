"""Lines laid out by hand and a small catalog, for tests of what comes after the layout."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Any

from estimating.engine.catalog import (
    Catalog,
    FenceSystem,
    GateHardware,
    HoleRule,
    Material,
    PostProduct,
    PriceItem,
    Rates,
    Rules,
)
from estimating.engine.result import Bay, GateLayout, LineLayout, Post, PostKind, Section

HARDWARE = GateHardware(hinge_gap_in=1.0, latch_gap_in=1.0, centre_gap_in=1.0)

# Wood as its own system: 4x4 posts, three rails a bay, boards of 5.5 in side by side.
WOOD = FenceSystem(
    key="wood",
    name="Wood, side by side",
    family="panel",
    height_in=72.0,
    max_on_centre_in=96.0,
    min_clear_in=12.0,
    spacing="level",
    division="equal",
    setting="pour_around",
    posts={
        "end": PostProduct(
            item="post_4x4",
            width_in=3.5,
            length_in=108.0,
            displaces={"pour_around": "solid"},
            hole_diameter_in=12.0,
        )
    },
    hole=HoleRule(base_depth_in=36.0, concrete_top_in=0.0),
    materials=(
        Material(item="cap", driver="post"),
        Material(item="rail", driver="bay", quantity=3.0, cut="bay_rail"),
        Material(item="board", driver="foot", quantity=12 / 5.5),
    ),
    gate=HARDWARE,
    labor={"set_line": "set.line", "set_end": "set.end", "hang_bay": "hang.bay"},
)


def price(key: str, unit_cost: str = "1.00", **changes: Any) -> PriceItem:
    fields = {"name": key, "kind": "material", "unit": "each"} | changes
    return PriceItem(key=key, unit_cost=Decimal(unit_cost), **fields)


CONCRETE = price("concrete_80lb", "6.00", unit="bag", purchase_unit="bag", yield_ft3=0.6)

RULES = Rules(
    crew_rate=Decimal(62),
    crew_size=3,
    hours_per_day=8.0,
    overhead_method="per_crew_day",
    overhead_rate=Decimal(900),
    target_margin_pct=Decimal(12),
    hole_floor_in=24.0,
)

RATES = Rates(
    hours={
        "layout.job": 1.0,
        "layout.foot": 0.01,
        "dig.normal.skid_steer": 0.35,
        "dig.normal.two_man_auger": 0.9,
        "dig.normal.hand": 1.6,
        "set.line": 0.25,
        "set.end": 0.35,
        "set.gate": 0.6,
        "mix.bag": 0.07,
        "mix.long_barrow_factor": 1.5,
        "mix.dry_pack_bag": 0.03,
        "hang.bay": 0.5,
        "gate.walk": 1.25,
        "setup.phase": 1.5,
        "clean_up.yard_load": 1.0,
        "spoil.spread_yd3": 1.0,
        "removal.foot": 0.05,
        "removal.footing": 0.4,
    },
    swell_pct={"normal": 25.0},
)


def catalog(
    system: FenceSystem = WOOD,
    *,
    prices: Sequence[PriceItem] | None = None,
    rates: Rates = RATES,
    **rules: Any,
) -> Catalog:
    if prices is None:
        items = [m.item for m in system.materials] + [p.item for p in system.posts.values()]
        prices = [CONCRETE, *(price(item) for item in dict.fromkeys(items))]
    return Catalog(
        systems={system.key: system},
        prices={item.key: item for item in prices},
        rates=rates,
        rules=replace(RULES, **rules),
    )


def post(number: int, kind: PostKind = "line", **changes: Any) -> Post:
    fields: dict[str, Any] = {
        "line_id": "A",
        "routing": "line",
        "product": "post_4x4",
        "width_in": 3.5,
        "length_in": 108.0,
        "station_in": 0.0,
        "x_in": 0.0,
        "y_in": 0.0,
        "elevation_in": 0.0,
    }
    return Post(number=number, kind=kind, **(fields | changes))


def bay(number: int, *, spacer_in: float, on_centre_in: float, is_cut: bool = False) -> Bay:
    return Bay(
        number=number,
        line_id="A",
        section=1,
        from_post=number,
        to_post=number + 1,
        start_station_in=0.0,
        on_centre_in=on_centre_in,
        spacer_in=spacer_in,
        panel_in=spacer_in,
        is_cut=is_cut,
    )


def section(
    number: int, length_in: float, *, bays: int, from_kind: str = "end", to_kind: str = "end"
) -> Section:
    return Section(
        number=number,
        line_id="A",
        start_station_in=0.0,
        length_in=length_in,
        bays=bays,
        max_on_centre_in=96.0,
        from_kind=from_kind,
        to_kind=to_kind,
    )


def gate(gate_id: str = "G1", **changes: Any) -> GateLayout:
    fields: dict[str, Any] = {
        "line_id": "A",
        "from_post": 1,
        "to_post": 2,
        "station_in": 100.0,
        "clear_opening_in": 48.0,
        "on_centre_in": 51.5,
        "leaf_in": 46.0,
        "leaves": 1,
        "use": "walk",
        "hinge_side": "start",
        "swing": "left",
        "latch": "standard",
    }
    return GateLayout(id=gate_id, **(fields | changes))


def straight_line(
    *,
    bays: int,
    on_centre_in: float = 96.0,
    system: FenceSystem = WOOD,
    line_id: str = "A",
    scope: str = "whole_fence",
    post_changes: Mapping[str, Any] | None = None,
    gates: Sequence[GateLayout] = (),
    is_cut: bool = False,
) -> LineLayout:
    """A line between two end posts, all bays alike; its gates hang on posts of their own."""
    product = system.posts["end"]
    length_in = bays * on_centre_in
    spacer_in = on_centre_in - product.width_in
    fields = {"product": product.item, "width_in": product.width_in} | dict(post_changes or {})
    line_posts: list[PostKind] = ["line"] * (bays - 1)
    kinds: list[PostKind] = ["end", *line_posts, "end"]
    return LineLayout(
        line_id=line_id,
        name="",
        system=system.key,
        scope=scope,
        finished_face="left",
        length_in=length_in + sum(each.on_centre_in for each in gates),
        fence_ft=length_in / 12,
        plan_points=((0.0, 0.0), (length_in, 0.0)),
        sections=(section(1, length_in, bays=bays),),
        posts=tuple(
            post(number, kind, line_id=line_id, **fields) for number, kind in enumerate(kinds, 1)
        ),
        bays=tuple(
            bay(number, spacer_in=spacer_in, on_centre_in=on_centre_in, is_cut=is_cut)
            for number in range(1, bays + 1)
        ),
        gates=tuple(gates),
    )
