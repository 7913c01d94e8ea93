"""How templates write lengths and money."""

from decimal import Decimal

import pytest

from firm.templatetags.measures import ft_in, inches, money, unit_price


@pytest.mark.parametrize(
    ("value", "written"),
    [
        (Decimal("12.0000"), "$12.00"),
        (Decimal("0.0325"), "$0.0325"),
        (Decimal("1250"), "$1,250.00"),
        (Decimal("1E+3"), "$1,000.00"),
        ("3.205", "$3.205"),
        (None, ""),
    ],
)
def test_unit_price_shows_the_places_it_needs(value: Decimal | str | None, written: str) -> None:
    assert unit_price(value) == written


def test_nothing_is_written_for_nothing() -> None:
    assert (ft_in(None), inches(""), money(None), money("")) == ("", "", "", "")


def test_amount_has_its_cents() -> None:
    assert money(Decimal("6722.5")) == "$6,722.50"


def test_length_has_its_sixteenths() -> None:
    # 85 11/16 in = 7 ft 1 11/16 in.
    assert "11/16" in inches(85.6875)
    assert ft_in(85.6875).startswith("7")
