"""Markup against margin, as a trade magazine's article on pricing puts it.

50 % markup is a margin of 33.3 %, 25 % markup one of 20 %: P = C / (1 - margin). With a share c
of the price to whoever sold it, P = C / (1 - margin - c) (common practice, no source).
"""

from decimal import Decimal

import pytest

from estimating.engine.catalog import TypedLine
from estimating.engine.estimate import estimate_lines
from estimating.engine.site import Conditions
from estimating.engine.sums import Money
from tests.engine_cases import catalog


def priced(margin_pct: str, commission_pct: str = "0") -> Money:
    """Price a cost of $1,200 without overhead."""
    book = catalog(
        overhead_rate=Decimal(0),
        target_margin_pct=Decimal(margin_pct),
        commission_pct=Decimal(commission_pct),
    )
    typed = [TypedLine(key="x", description="Work", unit_cost=Decimal(1200))]
    return estimate_lines([], book, Conditions(), typed=typed).money


@pytest.mark.source("S", "a trade magazine: three ways to price yourself out of the market")
@pytest.mark.parametrize(
    ("margin_pct", "markup_pct", "price"),
    [
        ("20", "25.0", "1500.00"),
        ("33.3333333333", "50.0", "1800.00"),
    ],
)
def test_markup_and_margin_of_one_price(margin_pct: str, markup_pct: str, price: str) -> None:
    money = priced(margin_pct)

    assert money.price_before_tax == Decimal(price)
    markup = (money.price_before_tax - money.direct_cost) / money.direct_cost * 100
    assert round(markup, 1) == Decimal(markup_pct)


@pytest.mark.source("N", "common practice, no source: a commission is a share of the price")
def test_a_commission_is_taken_of_the_price_it_raises() -> None:
    # 1,200 / (1 - 0.20 - 0.05) = 1,600; commission 80, margin 320.
    money = priced("20", "5")

    assert (money.price_before_tax, money.commission, money.margin) == (
        Decimal("1600.00"),
        Decimal("80.00"),
        Decimal("320.00"),
    )
