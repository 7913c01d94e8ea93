"""Concrete in bags, from a mixer or by truck: what each costs, by hand."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from estimating.engine.catalog import (
    Catalog,
    ConcreteRules,
    FenceSystem,
    HoleRule,
    Material,
    Override,
    PostProduct,
)
from estimating.engine.concrete import Concrete, ConcreteWay
from estimating.engine.errors import EngineError
from estimating.engine.estimate import estimate_lines
from estimating.engine.footings import hole_depth_in, hole_for
from estimating.engine.hole_volumes import displaced_ft3
from estimating.engine.reading import read_catalog
from estimating.engine.result import EstimateResult
from estimating.engine.site import Conditions
from estimating.starter import load_starter_data
from tests.engine_cases import CONCRETE, RATES, WOOD, catalog, post, price, straight_line

HOURS = {**RATES.hours, "mix.batch": 0.5, "mix.ready_mix_yd3": 1.8}
WAYS = ConcreteRules(
    bag_items=("concrete_60lb",),
    mix_rate_yield_ft3=0.6,
    cement_item="cement",
    cement_per_yd3=6.0,
    aggregate_item="aggregate",
    aggregate_per_yd3=1.15,
    mixer_item="mixer",
    batch_ft3=3.0,
    ready_mix_item="ready_mix",
    short_load_item="short_load",
    short_load_yd3=4.0,
    least_load_yd3=1.0,
    truck_yd3=9.0,
)
PRICES = [
    CONCRETE,  # 6.00 for 0.6 ft3
    price("concrete_60lb", "4.80", unit="bag", yield_ft3=0.45),
    price("cement", "15.00", unit="bag"),
    price("aggregate", "24.00", unit="yd3", pack=0.5),
    price("mixer", "75.00", unit="day", kind="equipment"),
    price("ready_mix", "43.75", unit="yd3", pack=0.25),
    price("short_load", "225.00", unit="load", kind="fee"),
    price("post_4x4"),
]
BARE = replace(WOOD, materials=())


def book(system: FenceSystem = BARE, *, way: str = "bags", **rules: Any) -> Catalog:
    return catalog(
        system,
        prices=PRICES,
        rates=replace(RATES, hours=HOURS),
        concrete=replace(WAYS, **({"way": way} | rules)),
    )


def estimated(posts: int, book: Catalog, *, long_barrow: bool = False) -> EstimateResult:
    line = straight_line(bays=posts - 1, system=book.systems["wood"])
    conditions = Conditions(dig_method="skid_steer", long_barrow=long_barrow)
    return estimate_lines([line], book, conditions)


def way_of(concrete: Concrete, item: str) -> ConcreteWay:
    return next(way for way in concrete.ways if way.item == item)


# 48 holes 12 x 36 less a solid post: 48 x 2.100986 = 100.847 ft3; + 10 % = 110.932 ft3, 4.1086 yd3.
@pytest.fixture(scope="module")
def large() -> Concrete:
    return estimated(48, book()).concrete


class TestFourWays:
    def test_bags_of_the_firm_s_size(self, large: Concrete) -> None:
        # 184.9 -> 185 x 6.00 = 1,110.00; 185 x 0.07 h x 62.00 = 802.90.
        way = way_of(large, "concrete_80lb")

        assert (way.material, way.labor, way.total) == (
            Decimal("1110.00"),
            Decimal("802.90"),
            Decimal("1912.90"),
        )

    def test_smaller_bags_take_less_mixing_each(self, large: Concrete) -> None:
        # 246.5 -> 247 x 4.80 = 1,185.60; 247 x 0.75 x 0.07 = 12.9675 h, x 62.00 = 803.985 -> 803.99
        way = way_of(large, "concrete_60lb")

        assert (way.material, way.labor) == (Decimal("1185.60"), Decimal("803.99"))

    def test_batches_of_a_mixer(self, large: Concrete) -> None:
        # 110.932 / 3 = 36.98 -> 37 batches, 18.5 h: 24 h are a crew's day, 1 mixer. Cement 24.65
        # -> 25 x 15.00 = 375.00; aggregate 4.725 yd3 -> 10 halves x 24.00 = 240.00; 75.00. Labour
        # 18.5 x 62.00 = 1,147.00.
        way = way_of(large, "mixer")

        assert {buy.item: buy.units for buy in way.buys} == {
            "cement": 25,
            "aggregate": 10,
            "mixer": 1,
        }
        assert (way.material, way.labor) == (Decimal("690.00"), Decimal("1147.00"))

    def test_a_truck_of_more_than_a_short_load(self, large: Concrete) -> None:
        # 4.1086 yd3 -> 17 quarters, 4.25: no short load. 17 x 43.75 = 743.75; 4.1086 x 1.8 h x
        # 62.00 = 7.39548 x 62 = 458.52.
        way = way_of(large, "ready_mix")

        assert {buy.item: buy.units for buy in way.buys} == {"ready_mix": 17}
        assert way.material == Decimal("743.75")
        assert way.labor == Decimal("458.52")

    def test_the_cheapest_is_marked_and_the_firm_s_is_taken(self, large: Concrete) -> None:
        # Bags 1,912.90 and 1,989.59, mixer 1,837.00, truck 1,202.27.
        assert [way.item for way in large.ways if way.is_cheapest] == ["ready_mix"]
        assert [way.item for way in large.ways if way.is_chosen] == ["concrete_80lb"]


def test_a_small_job_pays_for_the_least_load_and_the_short_one() -> None:
    # 4 x 2.100986 x 1.1 = 9.2443 ft3, 0.3424 yd3: 1 yd3 is 4 quarters, 175.00, and 225.00.
    concrete = estimated(4, book()).concrete
    way = way_of(concrete, "ready_mix")

    assert {buy.item: buy.units for buy in way.buys} == {"ready_mix": 4, "short_load": 1}
    assert way.material == Decimal("400.00")
    # 15.4 -> 16 bags: 96.00 + 16 x 0.07 x 62.00 = 69.44, against 400.00 and more.
    assert [each.item for each in concrete.ways if each.is_cheapest] == ["concrete_80lb"]


def test_the_last_truck_may_be_a_short_load() -> None:
    # 120 x 2.100986 x 1.1 / 27 = 10.2715 yd3: 42 quarters, 10.5; a truck of 9 and one of 1.5.
    way = way_of(estimated(120, book()).concrete, "ready_mix")

    assert {buy.item: buy.units for buy in way.buys} == {"ready_mix": 42, "short_load": 1}
    # In a truck of 5.25 both are full: 2 x 5.25.
    full = way_of(estimated(120, book(truck_yd3=5.25)).concrete, "ready_mix")
    assert {buy.item: buy.units for buy in full.buys} == {"ready_mix": 42}


def test_a_long_way_counts_for_all_that_is_wheeled() -> None:
    short, long = (estimated(48, book(), long_barrow=each).concrete.ways for each in (False, True))

    assert [way.hours for way in long] == pytest.approx([way.hours * 1.5 for way in short])


@pytest.mark.parametrize(
    ("way", "bought", "rate"),
    [
        ("bags", {"concrete_80lb": 185}, "mix.bag"),
        ("mixer", {"cement": 25, "aggregate": 10, "mixer": 1}, "mix.batch"),
        ("ready_mix", {"ready_mix": 17}, "mix.ready_mix_yd3"),
        ("cheapest", {"ready_mix": 17}, "mix.ready_mix_yd3"),
    ],
)
def test_the_firm_s_way_is_what_is_bought_and_worked(
    way: str, bought: dict[str, int], rate: str
) -> None:
    result = estimated(48, book(way=way))
    concrete = {
        each.item: each.purchase_units for each in result.quantities if each.driver == "concrete"
    }
    mixed = {work.rate for hours in result.hours for work in hours.works if work.rate[:4] == "mix."}

    assert concrete == bought
    assert mixed == {rate}
    assert sum(each.amount for each in result.price_lines) == result.money.price_before_tax
    chosen = result.concrete.chosen
    assert chosen is not None
    paid = sum(each.amount for each in result.cost_lines if each.item in bought)
    assert paid == chosen.material


def test_the_cheapest_size_of_bag_is_bought() -> None:
    cheap = [
        replace(each, unit_cost=Decimal("2.00")) if each.key == "concrete_60lb" else each
        for each in PRICES
    ]
    no_others = replace(WAYS, way="cheapest", ready_mix_item="", cement_item="")
    rates = replace(RATES, hours=HOURS)
    result = estimated(4, catalog(BARE, prices=cheap, rates=rates, concrete=no_others))

    # 9.2443 / 0.45 = 20.5 -> 21.
    assert (result.concrete.bag_item, result.concrete.bags) == ("concrete_60lb", 21)
    assert result.concrete.bag_yield_ft3 == 0.45


def test_a_cost_set_by_hand_counts_in_the_comparison() -> None:
    line = straight_line(bays=47, system=BARE)
    dear = Override(target="unit_cost:ready_mix", value=Decimal("143.75"), reason="Far away")
    result = estimate_lines(
        [line], book(), Conditions(dig_method="skid_steer"), hand_set_figures=[dear]
    )

    # 17 x 143.75 = 2,443.75.
    assert way_of(result.concrete, "ready_mix").material == Decimal("2443.75")
    assert [each.item for each in result.concrete.ways if each.is_cheapest] == ["mixer"]


def test_a_way_without_a_price_is_not_offered_and_said_where_it_is_the_firm_s() -> None:
    result = estimated(4, book(way="ready_mix", ready_mix_item="nowhere"))

    assert {way.kind for way in result.concrete.ways} == {"bags", "mixer"}
    assert [way.item for way in result.concrete.ways if way.is_chosen] == ["concrete_80lb"]
    assert "concrete-way-not-priced" in {each.code for each in result.findings}


def test_dry_mix_stays_in_bags_whatever_the_firm_s_way() -> None:
    # Each hole 2.100986 x 1.1 / 0.6 = 3.85 -> 4 bags dry: 16, and nothing wet.
    dry = replace(BARE, setting="dry_pack", posts=solid_in("dry_pack"))
    result = estimated(4, book(dry, way="ready_mix"))

    assert {way.kind for way in result.concrete.ways} == {"bags"}
    assert {each.item: each.purchase_units for each in result.quantities}["concrete_80lb"] == 16


def solid_in(setting: str) -> dict[str, PostProduct]:
    return {"end": replace(WOOD.posts["end"], displaces={setting: "solid"})}


class TestDisplacement:
    VINYL = PostProduct(
        item="post", width_in=5.0, length_in=108.0, wall_in=0.15, displaces={"wet_set": "wall"}
    )
    SYSTEM = replace(WOOD, setting="wet_set", posts={"end": VINYL}, materials=())

    def test_a_filled_post_displaces_its_wall(self) -> None:
        # 25 - 4.7^2 = 2.91 in2 x 30 = 87.3 in3.
        displaced = displaced_ft3(self.SYSTEM, post(1, width_in=5.0), length_in=30.0)

        assert displaced == pytest.approx(87.3 / 1728)

    def test_a_stiffener_to_the_bottom_displaces_its_metal(self) -> None:
        stiffener = Material(
            item="insert", driver="post", roles=("gate",), reach="full_depth", section_in2=1.2
        )
        system = replace(self.SYSTEM, materials=(stiffener,))
        gate, line = (post(1, kind, width_in=5.0) for kind in ("gate", "line"))

        # (2.91 + 1.2) x 30 = 123.3 in3.
        assert displaced_ft3(system, gate, length_in=30.0) == pytest.approx(123.3 / 1728)
        assert displaced_ft3(system, line, length_in=30.0) == pytest.approx(87.3 / 1728)

    def test_a_stiffener_that_ends_at_the_ground_displaces_nothing(self) -> None:
        short = Material(item="insert", driver="post", reach="above_ground", section_in2=1.2)
        system = replace(self.SYSTEM, materials=(short,))

        displaced = displaced_ft3(system, post(1, width_in=5.0), length_in=30.0)
        assert displaced == pytest.approx(87.3 / 1728)


class TestBell:
    RULE = HoleRule(
        base_depth_in=30.0, concrete_top_in=0.0, bell_diameter_in=16.0, bell_height_in=12.0
    )
    SYSTEM = replace(
        WOOD, hole=RULE, posts={"end": replace(WOOD.posts["end"], hole_diameter_in=10.0)}
    )

    def test_lies_wholly_below_frost(self) -> None:
        frost = Conditions(frost_depth_in=36.0)

        assert hole_depth_in(self.SYSTEM, post(1), frost, floor_in=24.0) == (48.0, "frost depth")
        assert hole_depth_in(self.SYSTEM, post(1), Conditions(), floor_in=24.0)[0] == 30.0

    def test_gravel_fills_its_widest_part(self) -> None:
        # 6 in of gravel: the bell is 13 in wide there, so 6 in of frustum 13 -> 10 and 24 of shaft:
        # pi x 6 / 3 x (42.25 + 32.5 + 25) = 626.748 and pi x 25 x 24 = 1884.956 in3, less
        # 3.5 x 3.5 x 30 = 367.5: 2144.204 in3.
        system = replace(self.SYSTEM, hole=replace(self.RULE, base_depth_in=36.0, gravel_in=6.0))
        hole = hole_for(system, post(1), Conditions(), floor_in=24.0, swell_pct=25.0)

        assert hole.concrete_ft3 == pytest.approx(2144.204 / 1728, abs=1e-6)

    @pytest.mark.parametrize("name", ["bell_diameter_in", "bell_height_in"])
    def test_half_a_bell_is_refused(self, name: str) -> None:
        data = load_starter_data()
        data["fence_systems"]["wood_picket_4ft"]["hole"][name] = 12.0

        with pytest.raises(EngineError, match="only together"):
            read_catalog(data)
