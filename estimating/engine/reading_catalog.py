"""Reading fence systems, prices, rates and rules out of plain data."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from difflib import get_close_matches
from typing import Any, get_args

from estimating.engine.catalog import (
    Catalog,
    CutKind,
    Driver,
    FenceSystem,
    HoleRule,
    Material,
    Override,
    PostProduct,
    PriceItem,
    Rates,
    Role,
    Rules,
    Setting,
    TypedLine,
)
from estimating.engine.errors import EngineError
from estimating.engine.fields import Entry
from estimating.engine.reading_concrete import read_concrete
from estimating.engine.reading_gates import read_gate_hardware, read_post
from estimating.engine.reading_goods import read_goods
from estimating.engine.reading_once import reads_once
from estimating.engine.reading_pool import read_barrier, read_pool_rules
from estimating.engine.reading_wind import read_soil_bearing, read_wind

CATALOG_KEYS = ("fence_systems", "prices", "rates", "rules")
RATE_KINDS = ("hours", "swell_pct", "limits")
# What no row of the books may leave; the pages that take them hold to the same.
LEAST_PACK, MOST_PACK = 0.001, 1e6
LEAST_YIELD_FT3, MOST_YIELD_FT3 = 0.05, 100.0
MOST_SWELL_PCT = 200.0
PHASE_CREW = "setup.phase_crew"
MOST_MATERIALS = 200
MOST_TYPED_LINES = 200
NARROWEST_SPACING_IN = 12.0


def merge_catalog_data(base: Mapping[str, Any], override: Mapping[str, Any]) -> dict[str, Any]:
    """Return the base's data with the override's over it, key by key.

    A fence system or a price is replaced whole; hours, swell and rules one figure at a time.
    """
    merged: dict[str, Any] = {}
    for name in CATALOG_KEYS:
        under, over = _named(base, name), _named(override, name)
        merged[name] = {**under, **over}
    for name in (*RATE_KINDS, "since"):
        under = _named(_named(base, "rates"), name, "rates.")
        over = _named(_named(override, "rates"), name, "rates.")
        merged["rates"][name] = {**under, **over}
    for row in _rows_of(override):
        # The day belongs to the base's row, and another figure stands in its place.
        if row not in _named(_named(override, "rates"), "since"):
            merged["rates"]["since"].pop(row, None)
    return merged


def _rows_of(data: Mapping[str, Any]) -> list[str]:
    rates = _named(data, "rates")
    return [f"{kind}.{key}" for kind in RATE_KINDS for key in _named(rates, kind)]


def _named(data: Mapping[str, Any], name: str, path: str = "") -> Mapping[str, Any]:
    value = data.get(name)
    if value is None:
        return {}
    if not isinstance(value, Mapping):
        raise EngineError(f"{path}{name} must hold named fields.", field=f"{path}{name}")
    return value


def read_catalog(data: Mapping[str, Any], *, leave_out: bool = False) -> Catalog:
    """Return the catalog that plain data holds.

    With `leave_out` a fence system that can't be read is left out with its reason, so that lines
    of other systems can be worked out all the same.

    Raises:
        EngineError: a field is missing, unknown, of the wrong kind or out of range.
    """
    entry = Entry(data, "")
    unusable: dict[str, str] = {}
    catalog = Catalog(
        systems=entry.named("fence_systems", _system, refused=unusable if leave_out else None),
        prices=entry.named("prices", _price, most=20_000),
        rates=_rates(entry.entry("rates", {})),
        rules=_rules(entry.entry("rules")),
        unusable=unusable,
    )
    entry.finish()
    return catalog


def check_systems(catalog: Catalog, systems: Sequence[str]) -> None:
    """Refuse a line whose fence system isn't there; `systems` are those of the lines in order.

    Raises:
        EngineError: names the line's field, and a near match.
    """
    for i, key in enumerate(systems):
        if key not in catalog.systems:
            raise EngineError(no_system_words(catalog, key), field=f"lines[{i}].system")


def no_system_words(catalog: Catalog, key: str) -> str:
    """Return the sentence for a fence system that isn't there, with a near match."""
    near = get_close_matches(key, catalog.systems, n=1)
    hint = f" Did you mean '{near[0]}'?" if near else ""
    return f"There is no fence system '{key[:60]}'.{hint}"


def check_items(catalog: Catalog, systems: Collection[str]) -> None:
    """Refuse an item that a fence system uses and the price book doesn't have.

    Raises:
        EngineError: names the field where the unknown item stands, and a near match.
    """
    for key in systems:
        system = catalog.systems.get(key)
        if system is None:
            continue
        for role, post in system.posts.items():
            _check_item(post.item, catalog, f"fence_systems.{key}.posts.{role}.item")
            for item in post.longer:
                _check_item(item, catalog, f"fence_systems.{key}.posts.{role}.longer")
        for field, post in _gate_posts(system):
            for item in (post.item, *post.longer):
                _check_item(item, catalog, f"fence_systems.{key}.gate.{field}.post.item")
        for i, material in enumerate(system.materials):
            _check_item(material.item, catalog, f"fence_systems.{key}.materials[{i}].item")


def _gate_posts(system: FenceSystem) -> Iterator[tuple[str, PostProduct]]:
    """Yield the posts of the gate hardware, each with its field."""
    for i, heavier in enumerate(system.gate.heavier_posts):
        yield f"heavier_posts[{i}]", heavier.post
    if system.gate.slide is not None:
        yield "slide", system.gate.slide.post


def _check_item(item: str, catalog: Catalog, field: str) -> None:
    if item not in catalog.prices:
        near = get_close_matches(item, catalog.prices, n=1)
        hint = f" Did you mean '{near[0]}'?" if near else ""
        raise EngineError(
            f"{field} names '{item}', which is not in the price book.{hint}", field=field
        )


def check_overrides(catalog: Catalog, overrides: Sequence[Override]) -> None:
    """Refuse a figure set by hand for an item that the price book doesn't have.

    Raises:
        EngineError: names the field where the unknown item stands, and a near match.
    """
    for i, override in enumerate(overrides):
        kind, _, item = override.target.partition(":")
        if kind in ("quantity", "unit_cost"):
            _check_item(item, catalog, f"overrides[{i}].target")


def read_typed_lines(document: Mapping[str, Any]) -> tuple[TypedLine, ...]:
    """Return the lines that the office typed, from a document's `typed_lines`."""
    entries = Entry(document, "").entries("typed_lines", most=MOST_TYPED_LINES)
    return tuple(_typed_line(each) for each in entries)


def read_overrides(document: Mapping[str, Any]) -> tuple[Override, ...]:
    """Return the figures set by hand, from a document's `overrides`."""
    entries = Entry(document, "").entries("overrides", most=MOST_TYPED_LINES)
    return tuple(_override(each) for each in entries)


def _typed_line(entry: Entry) -> TypedLine:
    line = TypedLine(
        key=entry.text("key", longest=80),
        description=entry.text("description", longest=200),
        quantity=entry.amount("quantity", "1"),
        unit=entry.text("unit", "each", longest=20),
        unit_cost=entry.amount("unit_cost", "0"),
        # A price below zero is a discount.
        price=entry.amount("price", low="-10000000") if entry.has_value("price") else None,
        is_optional=entry.flag("is_optional"),
        labor_hours=entry.number("labor_hours", 0.0, high=10_000),
    )
    entry.has("price")
    entry.finish()
    return line


def _override(entry: Entry) -> Override:
    override = Override(
        target=entry.text("target", longest=100),
        value=entry.amount("value"),
        reason=entry.text("reason", longest=200),
    )
    entry.finish()
    return override


@reads_once(most=500)
def _system(key: str, entry: Entry) -> FenceSystem:
    pull_every_in = entry.number("pull_every_in", None, low=NARROWEST_SPACING_IN)
    system = FenceSystem(
        key=key,
        name=entry.text("name"),
        family=entry.choice("family", ("panel", "fabric")),
        height_in=entry.positive("height_in", high=600),
        max_on_centre_in=entry.number("max_on_centre_in", low=NARROWEST_SPACING_IN, high=600),
        min_clear_in=entry.number("min_clear_in", high=600),
        spacing=entry.choice("spacing", ("level", "along_grade")),
        division=entry.choice("division", ("equal", "full_and_short")),
        setting=entry.choice("setting", get_args(Setting)),
        posts=_posts(entry),
        hole=_hole(entry.entry("hole")),
        materials=tuple(
            _material(each) for each in entry.entries("materials", most=MOST_MATERIALS)
        ),
        gate=read_gate_hardware(entry.entry("gate")),
        labor=entry.texts("labor"),
        rail_insertion_in=entry.number("rail_insertion_in", 0.0, high=12),
        channel_allowance_in=entry.number("channel_allowance_in", 0.0, high=12),
        board_coverage_in=entry.number("board_coverage_in", 0.0, high=120),
        ground_gap_in=entry.number("ground_gap_in", 2.0, high=24),
        max_rack_in=entry.number("max_rack_in", 0.0, high=120),
        rails=entry.choice("rails", ("cut_on_site", "fixed"), "cut_on_site"),
        largest_gap_in=entry.number("largest_gap_in", 8.0, high=120),
        height_tolerance_in=entry.number("height_tolerance_in", 6.0, high=120),
        ease_in=entry.number("ease_in", 1.5, high=24),
        corner_turn_deg=entry.number("corner_turn_deg", 5.0, high=90),
        pull_every_in=pull_every_in,
        rail_sags_over_in=entry.number("rail_sags_over_in", 0.0, high=600),
        wind=read_wind(entry.entry("wind")) if entry.has_value("wind") else None,
        barrier=read_barrier(entry.entry("barrier")) if entry.has_value("barrier") else None,
    )
    entry.has("wind")
    entry.has("barrier")
    entry.finish()
    return system


def _posts(entry: Entry) -> dict[str, PostProduct]:
    posts = entry.named("posts", read_post)
    for role in posts:
        if role not in get_args(Role):
            allowed = ", ".join(get_args(Role))
            raise entry.refuse(f"posts.{role}", f"is no post's role; roles are {allowed}.")
    if "end" not in posts:
        raise entry.refuse("posts.end", "is missing: it serves any role that has no post.")
    return posts


def _hole(entry: Entry) -> HoleRule:
    hole = HoleRule(
        base_depth_in=entry.number("base_depth_in", high=240),
        base_height_in=entry.number("base_height_in", 0.0, high=600),
        extra_depth_per_ft_in=entry.number("extra_depth_per_ft_in", 0.0, high=48),
        times_width=entry.positive("times_width", 3.0, high=20),
        times_width_up_to_in=entry.number("times_width_up_to_in", 4.0, high=48),
        times_width_above=entry.positive("times_width_above", 3.0, high=20),
        concrete_top_in=entry.number("concrete_top_in", -2.0, low=-48, high=12),
        gravel_in=entry.number("gravel_in", 0.0, high=48),
        gate_extra_depth_in=entry.number("gate_extra_depth_in", 0.0, high=120),
        bell_diameter_in=entry.number("bell_diameter_in", 0.0, high=120),
        bell_height_in=entry.number("bell_height_in", 0.0, high=120),
    )
    if (hole.bell_diameter_in > 0) != (hole.bell_height_in > 0):
        raise entry.refuse("bell_height_in", "and bell_diameter_in make a bell only together.")
    entry.finish()
    return hole


def _material(entry: Entry) -> Material:
    material = Material(
        item=entry.text("item", longest=80),
        driver=entry.choice("driver", get_args(Driver)),
        quantity=entry.number("quantity", 1.0),
        less=entry.number("less", 0.0),
        roles=_each(entry, "roles", str),
        leaves=_each(entry, "leaves", int),
        uses=_each(entry, "uses", str),
        kinds=_each(entry, "kinds", str) or ("swing",),
        gate_posts=_each(entry, "gate_posts", str),
        infill=entry.flag("infill"),
        usable_ft=entry.positive("usable_ft", None, high=1000),
        extra_ft=entry.number("extra_ft", 0.0, high=1000),
        cut=entry.choice("cut", get_args(CutKind), ""),
        other_lengths=_each(entry, "other_lengths", str),
        kerf_in=entry.number("kerf_in", None, high=12),
        piece_in=entry.number("piece_in", 0.0, high=1200),
        width_in=entry.number("width_in", 0.0, high=120),
        overlap_in=entry.number("overlap_in", 0.0, high=120),
        gap_in=entry.number("gap_in", 0.0, high=120),
        reach=entry.choice("reach", ("", "full_depth", "above_ground"), ""),
        stiffens=entry.choice("stiffens", ("", "bottom_rail"), ""),
        section_in2=entry.number("section_in2", 0.0, high=400),
        hung=entry.flag("hung"),
        offcut_serves=entry.flag("offcut_serves"),
    )
    entry.finish()
    _check_width(entry, material)
    return material


def _check_width(entry: Entry, material: Material) -> None:
    """Refuse pieces that cover nothing: no number of them would fill a fence."""
    if material.driver in ("run_board", "bay_picket") and material.width_in <= 0:
        raise entry.refuse("width_in", "must be above 0 for boards and pickets.")
    if material.driver == "run_board" and material.overlap_in >= material.width_in:
        raise entry.refuse("overlap_in", "must be less than the board's width.")
    if material.driver == "rail_row" and not material.usable_ft:
        raise entry.refuse("usable_ft", "is missing: the length of one rail.")
    if material.cut == "piece" and material.piece_in <= 0:
        raise entry.refuse("piece_in", "is missing: the length of one piece.")


def _each(entry: Entry, name: str, kind: type) -> tuple[Any, ...]:
    values = entry.items(name, most=20)
    for i, value in enumerate(values):
        if type(value) is not kind:
            wanted = "text" if kind is str else "a whole number"
            raise entry.refuse(f"{name}[{i}]", f"must be {wanted}.")
    return tuple(values)


@reads_once(most=5000)
def _price(key: str, entry: Entry) -> PriceItem:
    price = PriceItem(
        key=key,
        name=entry.text("name"),
        kind=entry.choice("kind", ("material", "equipment", "fee"), "material"),
        unit=entry.text("unit", "each", longest=40),
        unit_cost=entry.amount("unit_cost"),
        pack=entry.number("pack", 1.0, low=LEAST_PACK),
        purchase_unit=entry.text("purchase_unit", "each", longest=40),
        waste_pct=entry.number("waste_pct", 0.0, high=100),
        yield_ft3=entry.number("yield_ft3", None, low=LEAST_YIELD_FT3, high=MOST_YIELD_FT3),
        checked_on=entry.text("checked_on", "", longest=10),
        stock_length_in=entry.positive("stock_length_in", None, high=100_000),
    )
    entry.finish()
    return price


def _rates(entry: Entry) -> Rates:
    rates = Rates(
        hours=entry.numbers("hours"),
        swell_pct=entry.numbers("swell_pct", high=MOST_SWELL_PCT),
        limits=entry.numbers("limits"),
        since=entry.texts("since", most=5000),
    )
    if rates.limits.get(PHASE_CREW, 1.0) < 1:
        raise entry.refuse(f"limits.{PHASE_CREW}", "can't be less than one person.")
    entry.finish()
    return rates


def _rules(entry: Entry) -> Rules:
    rules = Rules(
        crew_rate=entry.amount("crew_rate"),
        crew_size=entry.whole("crew_size", low=1, high=100),
        hours_per_day=entry.positive("hours_per_day", high=24),
        overhead_method=entry.choice(
            "overhead_method", ("per_crew_day", "per_labor_hour", "percent_of_direct")
        ),
        overhead_rate=entry.amount("overhead_rate"),
        target_margin_pct=entry.amount("target_margin_pct", high="95"),
        commission_pct=entry.amount("commission_pct", "0", high="95"),
        sales_tax_base=entry.choice("sales_tax_base", ("none", "material", "all"), "none"),
        sales_tax_pct=entry.amount("sales_tax_pct", "0", high="100"),
        purchase_tax_pct=entry.amount("purchase_tax_pct", "0", high="100"),
        minimum_charge=entry.amount("minimum_charge", "0"),
        hole_floor_in=entry.number("hole_floor_in", 30.0, high=240),
        concrete_waste_pct=entry.number("concrete_waste_pct", 10.0, high=100),
        saw_kerf_in=entry.number("saw_kerf_in", 0.125, high=1),
        keep_offcut_in=entry.number("keep_offcut_in", 24.0, high=1000),
        bag_item=entry.text("bag_item", "concrete_80lb", longest=80),
        concrete=read_concrete(entry.entry("concrete", {})),
        travel_per_trip=entry.amount("travel_per_trip", "0"),
        ticket_fee=entry.amount("ticket_fee", "0"),
        equipment=entry.texts("equipment"),
        price_rounding=entry.amount("price_rounding", "0.01", low="0.01", high="1000"),
        soil_bearing=read_soil_bearing(entry),
        pool=read_pool_rules(entry.entry("pool", {})),
        spoil_load_yd3=entry.number("spoil_load_yd3", 0.0, high=100),
        permit_free_height_in=entry.number("permit_free_height_in", 0.0, high=600),
        gate_move_limit_in=entry.number("gate_move_limit_in", 3.0, high=120),
        end_move_limit_in=entry.number("end_move_limit_in", 6.0, high=120),
        goods=read_goods(entry),
    )
    entry.finish()
    return rules
