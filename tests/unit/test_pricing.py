"""Direct cost, overhead, margin, minimum, tax, options and the customer's lines."""

from decimal import Decimal
from typing import Any

import pytest

from estimating.engine.catalog import Override, TypedLine
from estimating.engine.errors import EngineError
from estimating.engine.estimate import estimate_lines
from estimating.engine.overrides import override_findings
from estimating.engine.result import EstimateResult, LineLayout
from estimating.engine.site import Conditions
from tests.engine_cases import catalog, gate, straight_line

SITE = Conditions(dig_method="skid_steer")


def typed(key: str = "t", **fields: Any) -> TypedLine:
    return TypedLine(key=key, **({"description": "Typed"} | fields))


def repair(*lines: TypedLine, overrides: tuple[Override, ...] = (), **rules: Any) -> EstimateResult:
    """A job without a fence line: its figures come from the typed lines alone."""
    return estimate_lines([], catalog(**rules), SITE, typed=lines, hand_set_figures=overrides)


def fence(*lines: LineLayout, **changes: Any) -> EstimateResult:
    keys = ("typed", "hand_set_figures")
    passed = {key: changes.pop(key) for key in keys if key in changes}
    return estimate_lines(lines or [straight_line(bays=4)], catalog(**changes), SITE, **passed)


@pytest.mark.parametrize(
    ("method", "rate", "overhead"),
    [
        # 12 h of a crew of 3 with 8 hours: half a day.
        ("per_crew_day", "900", "450.00"),
        ("per_labor_hour", "30", "360.00"),
        # 1,000 of material and 12 x 62 = 744 of labour: 10 % of 1,744.
        ("percent_of_direct", "10", "174.40"),
    ],
)
def test_overhead_is_recovered_in_three_ways(method: str, rate: str, overhead: str) -> None:
    result = repair(
        typed(unit_cost=Decimal(1000), labor_hours=12.0),
        overhead_method=method,
        overhead_rate=Decimal(rate),
    )

    assert result.money.direct_cost == Decimal("1744.00")
    assert result.money.overhead == Decimal(overhead)


def test_a_repair_is_priced_without_a_layout() -> None:
    # 2 x 45.50 + 1.5 x 62 = 184; overhead 1.5/24 x 900 = 56.25; 240.25 / 0.88 = 273.011...
    result = repair(
        typed(quantity=Decimal(2), unit_cost=Decimal("45.50"), labor_hours=1.5),
    )

    assert result.money.direct_cost == Decimal("184.00")
    assert result.money.break_even == Decimal("240.25")
    assert result.money.price_before_tax == Decimal("273.01")
    assert result.money.price_per_ft is None
    assert result.total_hours == 1.5
    assert result.trips == 1
    assert [(each.key, each.amount) for each in result.price_lines] == [
        ("typed:t", Decimal("273.01"))
    ]


def test_a_commission_comes_out_of_the_price_beside_the_margin() -> None:
    # 880 / (1 - 0.12 - 0.05) = 1,060.24; 5 % of it is 53.01; 1,060.24 - 880 - 53.01 = 127.23.
    money = repair(typed(unit_cost=Decimal(880)), commission_pct=Decimal(5)).money

    assert money.price_before_tax == Decimal("1060.24")
    assert money.commission == Decimal("53.01")
    assert money.margin == Decimal("127.23")
    assert money.margin_pct_of_price == Decimal("12.00")


def test_margin_and_commission_must_leave_something_for_the_cost() -> None:
    with pytest.raises(EngineError, match="below 100") as caught:
        repair(typed(unit_cost=Decimal(1)), target_margin_pct=Decimal(100))

    assert caught.value.field == "rules.target_margin_pct"


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"crew_size": 0}, "rules.crew_size"),
        ({"hours_per_day": 0.0}, "rules.hours_per_day"),
        ({"hours_per_day": 0.00001}, "rules.hours_per_day"),
    ],
)
def test_a_crew_needs_people_and_hours(changes: dict[str, Any], field: str) -> None:
    with pytest.raises(EngineError) as caught:
        repair(typed(unit_cost=Decimal(1)), **changes)

    assert caught.value.field == field


def test_a_price_can_be_rounded_up_to_whole_steps() -> None:
    # 880 / 0.88 = 1,000 stays; 881 / 0.88 = 1,001.14 goes up to 1,005.
    step = Decimal(5)
    assert repair(typed(unit_cost=Decimal(880)), price_rounding=step).money.price == Decimal(1000)
    assert repair(typed(unit_cost=Decimal(881)), price_rounding=step).money.price == Decimal(1005)


def test_a_small_job_is_raised_to_the_minimum_charge() -> None:
    result = repair(typed(unit_cost=Decimal(88)), minimum_charge=Decimal(450))

    assert result.money.price_before_tax == Decimal("450.00")
    assert [f.code for f in result.findings] == ["minimum-charge-applied"]
    assert result.findings[0].figure == "$100.00"


def test_a_fixed_price_is_kept_and_its_cost_is_not_marked_up() -> None:
    # 88 / 0.88 = 100, and 250 as typed. Its own cost of 180 only lowers the margin:
    # 350 - 88 - 180 = 82.
    result = repair(
        typed("a", unit_cost=Decimal(88)),
        typed("b", unit_cost=Decimal(180), price=Decimal(250)),
    )

    assert [(each.key, each.amount) for each in result.price_lines] == [
        ("typed:a", Decimal("100.00")),
        ("typed:b", Decimal("250.00")),
    ]
    assert result.money.direct_cost == Decimal("268.00")
    assert result.money.margin == Decimal("82.00")


def test_a_minimum_above_the_fixed_prices_gets_a_line_of_its_own() -> None:
    result = repair(typed(price=Decimal(250)), minimum_charge=Decimal(450))

    assert [(each.key, each.amount) for each in result.price_lines] == [
        ("typed:t", Decimal("250.00")),
        ("difference", Decimal("200.00")),
    ]


def test_tax_on_all_is_on_the_price_and_tax_on_material_on_its_cost() -> None:
    on_all = fence(sales_tax_base="all", sales_tax_pct=Decimal("7.25")).money
    on_material = fence(sales_tax_base="material", sales_tax_pct=Decimal("7.25")).money
    price = on_all.price_before_tax

    # Material: 5 posts, 5 caps, 12 rails and 32 x 12 / 5.5 = 69.8 -> 70 boards at 1.00, and
    # 5 x 2.1010 x 1.1 / 0.6 = 19.26 -> 20 bags at 6.00: 92 + 120 = 212; 7.25 % is 15.37.
    assert on_material.material == Decimal("212.00")
    assert on_material.sales_tax == Decimal("15.37")
    assert on_material.price == on_material.price_before_tax + Decimal("15.37")
    # The price: hours 1.32 + 1.75 + (3 x .25 + 2 x .35 + 20 x .07 = 2.85) + 2.0
    # + (4 + 5 x 2.3562 x 1.25 / 27 = 4.545) = 12.465, in dollars 81.84 + 108.50 + 176.70 + 124
    # + 281.82 = 772.86; direct 984.86; overhead 12.465416/24 x 900 = 467.45;
    # 1,452.31 / 0.88 = 1,650.35; 7.25 % of it 119.65.
    assert price == Decimal("1650.35")
    assert on_all.sales_tax == Decimal("119.65")


def test_tax_paid_on_purchases_is_a_cost() -> None:
    money = fence(purchase_tax_pct=Decimal(6)).money

    # 6 % of 212.
    assert money.purchase_tax == Decimal("12.72")
    assert money.material == Decimal("212.00")
    assert money.direct_cost == Decimal("997.58")


def test_options_stay_out_of_the_price_and_carry_their_tax() -> None:
    result = repair(
        typed("a", unit_cost=Decimal(880)),
        typed("b", unit_cost=Decimal(44), quantity=Decimal(2), is_optional=True),
        typed("c", price=Decimal(180), is_optional=True),
        sales_tax_base="all",
        sales_tax_pct=Decimal(10),
    )

    assert result.money.price_before_tax == Decimal("1000.00")
    assert [(each.key, each.amount, each.tax_amount) for each in result.options] == [
        ("b", Decimal("100.00"), Decimal("10.00")),
        ("c", Decimal("180.00"), Decimal("18.00")),
    ]


def test_an_option_with_hours_carries_its_own_overhead() -> None:
    # 2.4 h x 62 = 148.80; a tenth of a crew-day 90.00; 238.80 / 0.88 = 271.36.
    result = repair(typed("b", labor_hours=2.4, is_optional=True))

    assert [each.amount for each in result.options] == [Decimal("271.36")]


def test_fees_travel_and_machine_are_lines_of_the_direct_cost() -> None:
    site = Conditions(dig_method="two_man_auger", permit_fee="60.00", trips=3)
    book = catalog(
        ticket_fee=Decimal("12.00"),
        travel_per_trip=Decimal("62.50"),
        equipment={"two_man_auger": "rail"},
    )
    money = estimate_lines([straight_line(bays=4)], book, site).money

    assert (money.fees, money.travel) == (Decimal("72.00"), Decimal("187.50"))
    # 5 x 0.9 = 4.5 h of 24: half a day at 1.00.
    assert money.equipment == Decimal("0.50")


def test_a_machine_without_a_price_is_found() -> None:
    result = fence(equipment={"skid_steer": "no_such_machine"})

    assert ("missing-price", "prices.no_such_machine") in [
        (f.code, f.place) for f in result.findings
    ]
    assert result.money.equipment == 0


def test_gates_lines_and_typed_lines_share_the_price() -> None:
    result = fence(
        straight_line(bays=4, gates=[gate()]),
        typed=[typed(unit_cost=Decimal(100))],
    )

    assert [each.key for each in result.price_lines] == ["line:A", "gate:A:G1", "typed:t"]
    assert sum(each.amount for each in result.price_lines) == result.money.price_before_tax
    # The gate causes 1.25 h x 62 = 77.50, the typed line 100: amounts go by that.
    gate_amount, typed_amount = (each.amount for each in result.price_lines[1:])
    assert gate_amount / typed_amount == pytest.approx(Decimal("0.775"), abs=Decimal("0.001"))


@pytest.mark.parametrize(
    ("target", "value", "figure"),
    [
        ("price", "0.0000", "$0.00"),
        ("price", "1500", "$1,500.00"),
        ("unit_cost:post_4x4", "0.1250", "$0.125"),
        ("hours:dig", "12.5000", "12.5 h"),
        ("quantity:post_4x4", "10.0000", "10"),
    ],
)
def test_a_figure_set_by_hand_is_said_as_it_is_read(target: str, value: str, figure: str) -> None:
    by_hand = Override(target=target, value=Decimal(value), reason="Neighbours share")
    (found,) = override_findings([by_hand], {"post_4x4": "Post"})
    assert found.figure == figure


def test_a_price_set_by_hand_counts_and_says_so() -> None:
    by_hand = Override(target="price", value=Decimal("1500.00"), reason="Neighbours share")
    result = fence(hand_set_figures=[by_hand], minimum_charge=Decimal(1600))
    codes = [f.code for f in result.findings]

    assert result.money.price_before_tax == Decimal("1500.00")
    assert sum(each.amount for each in result.price_lines) == Decimal("1500.00")
    # 1,500 - 1,452.31 leaves 3.18 %.
    assert result.money.margin_pct_of_price == Decimal("3.18")
    assert codes == ["figure-set-by-hand", "price-below-minimum", "margin-below-target"]


def test_a_price_below_break_even_is_found() -> None:
    by_hand = Override(target="price", value=Decimal("1400.00"), reason="A favour")
    found = {f.code: f for f in fence(hand_set_figures=[by_hand]).findings}

    assert found["price-below-break-even"].figure == "$1,400.00"
    assert found["price-below-break-even"].limit == "$1,452.31"


def test_a_price_set_below_the_fixed_prices_makes_every_line_give_way() -> None:
    by_hand = Override(target="price", value=Decimal("300.00"), reason="A favour")
    result = repair(
        typed("a", unit_cost=Decimal(88)),
        typed("b", price=Decimal(400)),
        overrides=(by_hand,),
    )

    assert sum(each.amount for each in result.price_lines) == Decimal("300.00")
    assert all(each.amount >= 0 for each in result.price_lines)


def test_quantities_costs_and_hours_can_be_set_by_hand_with_a_reason() -> None:
    overrides = [
        Override(target="quantity:rail", value=Decimal(20), reason="Crooked ones"),
        Override(target="unit_cost:rail", value=Decimal("2.5000"), reason="Supplier's offer"),
        Override(target="hours:dig", value=Decimal(4), reason="Roots"),
    ]
    result = fence(hand_set_figures=overrides)
    lines = {(each.kind, each.item): each for each in result.cost_lines}
    rail = lines["material", "rail"]

    assert (rail.quantity, rail.amount, rail.overridden) == (Decimal(20), Decimal("50.00"), True)
    assert rail.reason == "Crooked ones; Supplier's offer"
    assert lines["labour", "dig"].amount == Decimal("248.00")
    assert {q.item: q.purchase_units for q in result.quantities}["rail"] == 20
    assert [f.message for f in result.findings] == [
        "Figure set by hand: Crooked ones",
        "Figure set by hand: Supplier's offer",
        "Figure set by hand: Roots",
    ]


def test_a_figure_set_for_something_unused_is_found() -> None:
    stale = Override(target="quantity:lattice", value=Decimal(2), reason="As agreed")

    (found,) = fence(hand_set_figures=[stale]).findings
    assert (found.code, found.place) == ("hand-set-figure-unused", "quantity of lattice")


@pytest.mark.parametrize(
    ("target", "value", "reason", "field"),
    [
        ("colour:rail", "1", "Because", "overrides[0].target"),
        ("quantity:", "1", "Because", "overrides[0].target"),
        ("hours:painting", "1", "Because", "overrides[0].target"),
        ("quantity:rail", "1.5", "Because", "overrides[0].value"),
        ("price", "-1", "Because", "overrides[0].value"),
        ("price", "1", "  ", "overrides[0].reason"),
    ],
)
def test_a_figure_that_can_t_be_set_by_hand_is_refused(
    target: str, value: str, reason: str, field: str
) -> None:
    with pytest.raises(EngineError) as caught:
        fence(hand_set_figures=[Override(target=target, value=Decimal(value), reason=reason)])

    assert caught.value.field == field


def test_an_empty_job_costs_nothing_and_is_priced_at_nothing() -> None:
    result = repair(travel_per_trip=Decimal(85), minimum_charge=Decimal(450))

    assert result.money.price == 0
    assert result.price_lines == ()
    assert result.findings == ()


def test_the_longer_line_bears_the_larger_part() -> None:
    # 5 and 9 posts, 4 and 8 bays: between 9/5 and 2 times the cost.
    short, long = fence(straight_line(bays=4), straight_line(bays=8, line_id="B")).price_lines

    assert Decimal("1.8") < long.amount / short.amount < Decimal(2)


def test_a_price_set_to_the_fixed_prices_leaves_nothing_for_the_rest() -> None:
    by_hand = Override(target="price", value=Decimal("400.00"), reason="A favour")
    result = repair(
        typed("a", unit_cost=Decimal(88)), typed("b", price=Decimal(400)), overrides=(by_hand,)
    )

    assert [each.amount for each in result.price_lines] == [Decimal(0), Decimal("400.00")]


def test_typed_hours_alone_are_labour_and_nothing_else() -> None:
    lines = repair(typed(labor_hours=2.0)).cost_lines

    assert [(each.kind, each.amount) for each in lines] == [("labour", Decimal("124.00"))]


@pytest.mark.parametrize(("leaves", "words"), [(1, "one leaf"), (2, "2 leaves")])
def test_a_gate_s_line_tells_its_leaves(leaves: int, words: str) -> None:
    result = fence(straight_line(bays=4, gates=[gate(leaves=leaves)]))

    assert result.price_lines[1].description == f"Gate G1: 48 in clear opening, {words}"
