"""Scopes side by side: what each holds, what is left to the customer, and what is saved."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from estimating.engine.catalog import Catalog, GoodsRule, Override, TypedLine
from estimating.engine.errors import EngineError
from estimating.engine.estimate import estimate
from estimating.engine.goods import NOTHING_SOLD, sell_goods
from estimating.engine.reading import read_catalog
from estimating.engine.scopes import ScopePrice, compare_scopes
from estimating.engine.site import Conditions, FenceLine, Site
from tests.engine_cases import RATES, RULES, catalog
from tests.starter_cases import fence_line, starter_catalog

GOODS = GoodsRule(margin_pct=Decimal(20), delivery_charge=Decimal(50), sales_tax_pct=Decimal(8))
BASE: dict[str, Any] = {
    "goods": GOODS,
    "overhead_rate": Decimal(0),
    "target_margin_pct": Decimal(20),
}
WOOD_LINE = fence_line("wood", [32.0])
OLD_FENCE = replace(WOOD_LINE, id="B", scope="removal", start_y_in=900.0)


def site_of(*lines: FenceLine) -> Site:
    return Site(name="Made up", lines=lines, conditions=Conditions(dig_method="skid_steer"))


def scopes_of(*lines: FenceLine, book: Catalog | None = None, **rest: Any) -> dict[str, ScopePrice]:
    found = compare_scopes(site_of(*lines), book or catalog(**BASE), **rest)
    return {each.key: each for each in found}


def test_a_whole_fence_is_read_as_three_scopes_and_no_removal() -> None:
    scopes = scopes_of(WOOD_LINE)

    assert list(scopes) == ["whole_fence", "posts_only", "materials_only"]
    # 32 ft in bays of 8 ft at most: 4 bays, 5 posts.
    assert {(each.posts, each.bays) for each in scopes.values()} == {(5, 4)}


def test_posts_only_leaves_the_hanging_and_its_visit_to_the_customer() -> None:
    scopes = scopes_of(WOOD_LINE)
    whole, posts = scopes["whole_fence"], scopes["posts_only"]
    left = posts.self_built
    assert left is not None
    assert left.material is not None

    # 4 bays at 0.5 h and the set-up of the second visit, 1.5 h.
    assert left.hours == pytest.approx(3.5)
    # 12 rails and 32 ft x 12 / 5.5 = 69.8 -> 70 boards at $1; posts, caps and concrete stay.
    assert left.material.material == Decimal("82.00")
    # 3.5 h at $62: all that falls away for the firm beside the material.
    assert left.saves_cost == Decimal("217.00")
    # Whole less posts: (82 + 217) / 0.8 = 373.75, but for a cent of rounding in either price.
    assert abs(whole.price - posts.price - Decimal("373.75")) <= Decimal("0.01")
    # The material from us: 82 / 0.8 + 50 = 152.50, and 8 % of it.
    assert left.material.price == Decimal("164.70")
    assert left.saves == whole.price - posts.price - Decimal("164.70")
    assert left.saves_pct == 100 * left.saves / whole.price
    assert left.saves_per_hour is not None
    assert abs(left.saves_per_hour - left.saves / Decimal("3.5")) < Decimal("0.0001")


def test_the_hours_left_out_are_those_the_estimate_itself_names() -> None:
    line = fence_line("chain_link_6ft", [60.0, 40.0])
    posts = scopes_of(line, book=starter_catalog())["posts_only"]
    assert posts.self_built is not None

    named = next(each.figure for each in posts.findings if each.code == "posts-only")
    assert named.endswith(f"hanging would take {posts.self_built.hours:.1f} h more")


def test_materials_only_is_a_sale_of_goods() -> None:
    materials = scopes_of(WOOD_LINE, book=catalog(**BASE, travel_per_trip=Decimal(30)))[
        "materials_only"
    ]
    assert materials.goods is not None

    # 5 posts, 5 caps, 12 rails, 70 boards at $1; holes of 12 x 36 in about 3.5 in posts:
    # 5 x 2.101 ft3 + 10 % = 11.56, / 0.6 = 19.3 -> 20 bags at $6. Together 212.
    assert materials.goods.material == Decimal("212.00")
    assert materials.hours == 0
    # 212 / 0.8 + 50 = 315; 8 % of it is 25.20.
    assert (materials.price_before_tax, materials.sales_tax) == (Decimal(315), Decimal("25.20"))
    # The delivery run costs what a trip costs: 315 - 212 - 30.
    assert materials.direct_cost == Decimal("242.00")
    assert materials.margin == Decimal("73.00")


def test_goods_bought_to_be_sold_again_bear_no_tax_on_the_purchase() -> None:
    taxed = replace(RULES, purchase_tax_pct=Decimal(5))
    lines = estimate(site_of(WOOD_LINE), catalog()).cost_lines

    resold = sell_goods(lines, taxed, GOODS)
    untaxed = sell_goods(lines, taxed, replace(GOODS, sales_tax_pct=Decimal(0)))
    unnamed = sell_goods(lines, taxed, replace(GOODS, sales_tax_pct=None))

    assert (resold.purchase_tax, resold.sales_tax) == (Decimal(0), Decimal("25.20"))
    # 5 % of 212 in the cost: 222.60 / 0.8 + 50 = 328.25, and nothing on top of it.
    assert (untaxed.purchase_tax, untaxed.price) == (Decimal("10.60"), Decimal("328.25"))
    assert (untaxed.is_tax_named, unnamed.is_tax_named) == (True, False)
    assert unnamed.price == untaxed.price


def test_neither_the_smallest_charge_nor_overhead_of_crew_days_is_in_goods() -> None:
    book = catalog(**{**BASE, "overhead_rate": Decimal(900), "minimum_charge": Decimal(99_000)})
    scopes = scopes_of(WOOD_LINE, book=book)

    assert scopes["materials_only"].price_before_tax == Decimal(315)
    assert scopes["posts_only"].price_before_tax == Decimal(99_000)
    assert "minimum-charge-applied" in {each.code for each in scopes["posts_only"].findings}


def test_a_firm_without_a_rule_for_goods_sells_none() -> None:
    scopes = scopes_of(WOOD_LINE, book=catalog())
    left = scopes["posts_only"].self_built

    assert "materials_only" not in scopes
    assert left is not None
    assert (left.material, left.saves, left.saves_pct, left.saves_per_hour) == (None,) * 4


def test_nothing_sold_has_no_delivery() -> None:
    assert sell_goods((), RULES, GOODS) == NOTHING_SOLD


def test_margin_and_commission_that_take_the_whole_price_are_refused() -> None:
    lines = estimate(site_of(WOOD_LINE), catalog()).cost_lines
    with pytest.raises(EngineError) as caught:
        sell_goods(lines, replace(RULES, commission_pct=Decimal(80)), GOODS)
    assert caught.value.field == "rules.goods.margin_pct"


def test_removal_stands_apart_and_the_whole_fence_is_without_it() -> None:
    book = catalog(**{**BASE, "target_margin_pct": Decimal(0)})
    scopes = scopes_of(WOOD_LINE, OLD_FENCE, book=book)
    alone = scopes_of(WOOD_LINE, book=book)

    assert list(scopes) == [
        "estimated",
        "whole_fence",
        "posts_only",
        "materials_only",
        "removal_only",
    ]
    # 32 ft x 0.05 = 1.6 h, set-up 1.5, yard 1.0: 4.1 h at $62.
    assert scopes["removal_only"].price == Decimal("254.20")
    assert scopes["removal_only"].posts == 0
    assert scopes["whole_fence"].price == alone["whole_fence"].price
    # Together: one trip to the yard less.
    apart = scopes["whole_fence"].price + scopes["removal_only"].price
    assert scopes["estimated"].price == apart - Decimal(62)


def test_an_old_fence_alone_is_a_removal() -> None:
    assert list(scopes_of(OLD_FENCE)) == ["estimated", "removal_only"]


def test_a_line_measured_as_posts_only_is_shown_whole_too() -> None:
    bare = scopes_of(replace(WOOD_LINE, scope="posts_only"))
    whole = scopes_of(WOOD_LINE)

    assert bare["estimated"].price == bare["posts_only"].price == whole["posts_only"].price
    assert bare["whole_fence"].price == whole["whole_fence"].price
    assert (bare["posts_only"].gates, bare["whole_fence"].gates) == (0, 0)


def test_a_site_without_lines_has_no_scopes() -> None:
    assert scopes_of() == {}


def by_hand(target: str, value: str) -> Override:
    return Override(target=target, value=Decimal(value), reason="agreed")


def test_figures_set_by_hand_hold_where_the_engine_s_own_is_the_same() -> None:
    plain = scopes_of(WOOD_LINE)
    # Digging is the same work in both: 5 x 0.35 = 1.75 h, so 2.75 h are an hour more in both.
    dug = scopes_of(WOOD_LINE, overrides=[by_hand("hours:dig", "2.75")])
    for key in ("whole_fence", "posts_only"):
        assert dug[key].direct_cost == plain[key].direct_cost + Decimal(62)
    # Clean-up holds a second set-up in the whole fence: what was set for that holds there alone.
    tidied = scopes_of(WOOD_LINE, overrides=[by_hand("hours:clean_up", "9")])
    assert tidied["posts_only"].direct_cost == plain["posts_only"].direct_cost
    # A price is the whole's; what a board costs is so in every scope that buys boards.
    agreed = scopes_of(
        WOOD_LINE, overrides=[by_hand("price", "5000"), by_hand("unit_cost:board", "2")]
    )
    assert agreed["whole_fence"].price == Decimal(5000)
    assert agreed["posts_only"].price == plain["posts_only"].price
    assert agreed["materials_only"].goods is not None
    assert agreed["materials_only"].goods.material == Decimal("282.00")
    # As many bags as the engine's own 20, but 3 set by hand: posts only takes as many.
    bagged = scopes_of(WOOD_LINE, overrides=[by_hand("quantity:concrete_80lb", "23")])
    assert bagged["posts_only"].direct_cost == plain["posts_only"].direct_cost + Decimal(18)


def test_typed_lines_count_where_posts_are_set() -> None:
    stump = TypedLine(key="t1", description="Pull a stump", unit_cost=Decimal(100))
    plain = scopes_of(WOOD_LINE, OLD_FENCE)
    typed = scopes_of(WOOD_LINE, OLD_FENCE, typed=[stump])
    more = {key: typed[key].direct_cost - plain[key].direct_cost for key in plain}

    assert more == {
        "estimated": Decimal(100),
        "whole_fence": Decimal(100),
        "posts_only": Decimal(100),
        "materials_only": Decimal(0),
        "removal_only": Decimal(0),
    }


def test_rule_for_goods_is_read_with_or_without_its_tax() -> None:
    rules = {
        "crew_rate": "62",
        "crew_size": 3,
        "hours_per_day": 8,
        "overhead_method": "per_crew_day",
        "overhead_rate": "0",
        "target_margin_pct": "12",
    }

    def goods(**fields: object) -> GoodsRule | None:
        return read_catalog({"rules": {**rules, **fields}}).rules.goods

    assert goods() is None
    assert goods(goods=None) is None
    assert goods(goods={"margin_pct": "25"}) == GoodsRule(margin_pct=Decimal(25))
    assert goods(goods={"margin_pct": "25", "sales_tax_pct": "6.25"}) == GoodsRule(
        margin_pct=Decimal(25), sales_tax_pct=Decimal("6.25")
    )
    with pytest.raises(EngineError, match="margin"):
        goods(goods={"margin": "25"})


def test_rates_of_the_cases_are_those_worked_with() -> None:
    """The figures above rest on these rates."""
    named = (
        "hang.bay",
        "setup.phase",
        "clean_up.yard_load",
        "removal.foot",
        "dig.normal.skid_steer",
    )
    assert [RATES.hours[key] for key in named] == [0.5, 1.5, 1.0, 0.05, 0.35]
