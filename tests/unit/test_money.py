"""Cents and whole numbers: rounding, sharing out and printing."""

from decimal import Decimal

import pytest

from firm.measure.money import format_money, round_up_to, share_out, to_cents
from firm.measure.units import round_up, round_up_to_half, to_decimal


@pytest.mark.parametrize(
    ("value", "whole"), [(4.0, 4), (4.0000000001, 4), (4.000001, 5), (0.0, 0), (3.2, 4)]
)
def test_rounding_up_forgives_only_a_float_s_error(value: float, whole: int) -> None:
    assert round_up(value) == whole


@pytest.mark.parametrize(("value", "half"), [(0.1, 0.5), (0.5, 0.5), (0.51, 1.0), (0.0, 0.0)])
def test_halves_are_rounded_up(value: float, half: float) -> None:
    assert round_up_to_half(value) == half


def test_half_a_cent_goes_up() -> None:
    assert to_cents(Decimal("2.345")) == Decimal("2.35")
    assert to_cents(Decimal("2.3449")) == Decimal("2.34")
    assert to_decimal(1.005, 2) == Decimal("1.01")


def test_a_price_can_be_rounded_up_to_five_dollars() -> None:
    assert round_up_to(Decimal("6770.34"), Decimal(5)) == Decimal("6775.00")
    assert round_up_to(Decimal("6770.00"), Decimal(5)) == Decimal("6770.00")


def test_left_over_cents_go_to_the_largest_remainders() -> None:
    # 100 cents by 1:1:1 is 33.3 each: the first takes the cent that is left.
    assert share_out(Decimal("1.00"), [Decimal(1)] * 3) == [
        Decimal("0.34"),
        Decimal("0.33"),
        Decimal("0.33"),
    ]
    # 10 cents by 5:3:3 is 4.54, 2.73, 2.73: two cents are left, for the two that lose .73.
    assert share_out(Decimal("0.10"), [Decimal(5), Decimal(3), Decimal(3)]) == [
        Decimal("0.04"),
        Decimal("0.03"),
        Decimal("0.03"),
    ]


def test_shares_without_any_weight_are_equal() -> None:
    assert share_out(Decimal("3.00"), [Decimal(0), Decimal(0)]) == [Decimal("1.50")] * 2
    assert share_out(Decimal("3.00"), []) == []


def test_money_is_printed_with_its_sign_before_the_dollar() -> None:
    assert format_money(Decimal("6770.335")) == "$6,770.34"
    assert format_money(Decimal(-12)) == "-$12.00"
