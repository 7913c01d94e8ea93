"""Money reconciles whatever the job: checked on many invented ones."""

from decimal import Decimal

from hypothesis import given, settings
from hypothesis import strategies as st

from estimating.engine.catalog import Override, TypedLine
from estimating.engine.estimate import estimate_lines
from estimating.engine.result import EstimateResult
from estimating.engine.site import Conditions
from firm.measure.money import share_out
from tests.engine_cases import catalog, gate, straight_line

CENTS = st.decimals(min_value=0, max_value=20_000, places=2)
PERCENTS = st.decimals(min_value=0, max_value=40, places=2)


@st.composite
def typed_lines(draw: st.DrawFn) -> list[TypedLine]:
    return [
        TypedLine(
            key=f"t{number}",
            description="Typed",
            quantity=draw(st.decimals(min_value=0, max_value=50, places=2)),
            unit_cost=draw(st.decimals(min_value=0, max_value=500, places=4)),
            price=draw(st.none() | CENTS),
            is_optional=draw(st.booleans()),
            labor_hours=draw(st.floats(min_value=0, max_value=40)),
        )
        for number in range(draw(st.integers(0, 3)))
    ]


@st.composite
def jobs(draw: st.DrawFn) -> EstimateResult:
    lines = [
        straight_line(
            bays=draw(st.integers(1, 12)),
            on_centre_in=draw(st.integers(400, 1536)) / 16,
            line_id=line_id,
            scope=draw(st.sampled_from(["whole_fence", "posts_only", "removal"])),
            gates=[gate(line_id=line_id)] * draw(st.integers(0, 1)),
        )
        for line_id in draw(st.sampled_from(["", "A", "AB"]))
    ]
    book = catalog(
        overhead_method=draw(
            st.sampled_from(["per_crew_day", "per_labor_hour", "percent_of_direct"])
        ),
        overhead_rate=draw(st.decimals(min_value=0, max_value=99, places=2)),
        target_margin_pct=draw(PERCENTS),
        commission_pct=draw(PERCENTS),
        sales_tax_base=draw(st.sampled_from(["none", "material", "all"])),
        sales_tax_pct=draw(PERCENTS),
        purchase_tax_pct=draw(PERCENTS),
        minimum_charge=draw(CENTS),
        travel_per_trip=draw(CENTS),
        price_rounding=draw(st.sampled_from([Decimal("0.01"), Decimal(5)])),
    )
    overrides = (
        [Override(target="price", value=draw(CENTS), reason="So agreed")]
        if draw(st.booleans())
        else []
    )
    site = Conditions(dig_method="skid_steer", permit_fee="60.00")
    return estimate_lines(lines, book, site, typed=draw(typed_lines()), hand_set_figures=overrides)


@settings(max_examples=150, deadline=None)
@given(result=jobs())
def test_cost_lines_add_up_to_the_direct_cost(result: EstimateResult) -> None:
    money = result.money

    assert sum((each.amount for each in result.cost_lines), Decimal(0)) == money.direct_cost
    assert money.direct_cost == (
        money.material
        + money.purchase_tax
        + money.labour
        + money.equipment
        + money.fees
        + money.travel
        + money.typed
    )
    assert money.break_even == money.direct_cost + money.overhead


@settings(max_examples=150, deadline=None)
@given(result=jobs())
def test_price_lines_add_up_to_the_price_before_tax(result: EstimateResult) -> None:
    money = result.money

    assert sum((e.amount for e in result.price_lines), Decimal(0)) == money.price_before_tax
    assert money.price == money.price_before_tax + money.sales_tax
    assert money.price_before_tax == money.break_even + money.commission + money.margin
    assert len({each.key for each in result.price_lines}) == len(result.price_lines)


@settings(max_examples=150, deadline=None)
@given(result=jobs())
def test_every_amount_is_in_whole_cents(result: EstimateResult) -> None:
    amounts = [
        *(each.amount for each in result.cost_lines),
        *(each.amount for each in result.price_lines),
        *(amount for each in result.options for amount in (each.amount, each.tax_amount)),
        result.money.overhead,
        result.money.sales_tax,
        result.money.price,
    ]

    assert all(amount == round(amount, 2) for amount in amounts)


@given(
    amount=st.decimals(min_value=-10_000, max_value=10_000, places=2),
    weights=st.lists(st.decimals(min_value=0, max_value=1000, places=3), min_size=1, max_size=9),
)
def test_shares_add_up_and_miss_their_part_by_less_than_a_cent(
    amount: Decimal, weights: list[Decimal]
) -> None:
    shares = share_out(amount, weights)

    assert sum(shares, Decimal(0)) == amount
    total = sum(weights, Decimal(0))
    if total:
        for share, weight in zip(shares, weights, strict=True):
            assert abs(share - amount * weight / total) < Decimal("0.01")
