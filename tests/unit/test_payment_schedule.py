"""Deposits keep to the state's cap and payments add up to the price."""

from decimal import Decimal

import pytest

from estimating.services.payment_schedule import DepositRule, deposit_for, schedule_payments

FORTY = DepositRule(pct=Decimal(40))
# The cap some states set: 10 % of the price or $1,000, whichever is less (trade practice, S45).
CAPPED = DepositRule(pct=Decimal(40), cap_pct=Decimal(10), cap_amount=Decimal(1000))


@pytest.mark.parametrize(
    ("price", "rule", "deposit"),
    [
        # 40 % of 6,770.34 = 2,708.136, half-up 2,708.14.
        ("6770.34", FORTY, "2708.14"),
        # 10 % of 6,770.34 = 677.034; a cap is rounded down: 677.03.
        ("6770.34", CAPPED, "677.03"),
        # 10 % of 6,770.39 = 677.039: 677.04 would be above the cap.
        ("6770.39", CAPPED, "677.03"),
        # 10 % of 14,000 = 1,400; the amount of the cap is less.
        ("14000.00", CAPPED, "1000.00"),
        # 10 % of 10,000 is the amount itself.
        ("10000.00", CAPPED, "1000.00"),
        # The firm asks for less than the cap: 5 % of 9,000 = 450.
        (
            "9000.00",
            DepositRule(pct=Decimal(5), cap_pct=Decimal(10), cap_amount=Decimal(1000)),
            "450.00",
        ),
        # A state that allows no deposit at all.
        ("9000.00", DepositRule(pct=Decimal(40), cap_pct=Decimal(0)), "0.00"),
    ],
)
def test_deposit_is_the_least_of_share_and_caps(
    price: str, rule: DepositRule, deposit: str
) -> None:
    assert deposit_for(Decimal(price), rule) == Decimal(deposit)


def test_steps_add_up_and_the_odd_cent_falls_to_the_last() -> None:
    # 6,770.34 - 677.03 = 6,093.31; half is 3,046.655: 3,046.65 and 3,046.66.
    steps = schedule_payments(Decimal("6770.34"), CAPPED)
    assert [step.amount for step in steps] == [
        Decimal("677.03"),
        Decimal("3046.65"),
        Decimal("3046.66"),
    ]
    assert sum(step.amount for step in steps) == Decimal("6770.34")


def test_no_deposit_leaves_two_payments() -> None:
    steps = schedule_payments(Decimal("1000.00"), DepositRule(pct=Decimal(0)))
    assert [(step.description, step.amount) for step in steps] == [
        ("When the posts are set", Decimal("500.00")),
        ("When the work is complete", Decimal("500.00")),
    ]


def test_a_price_of_one_cent_is_one_payment() -> None:
    # 40 % of a cent rounds to nothing, half a cent rounds down to nothing.
    steps = schedule_payments(Decimal("0.01"), FORTY)
    assert [step.amount for step in steps] == [Decimal("0.01")]
