"""What is sold by the foot, by the metre: against the library Pint, which has units of its own."""

from decimal import Decimal
from typing import Any

import pint
import pytest

from firm.measure import sold
from firm.measure.money import to_cents
from firm.measure.written import METRIC, US

PINT = pytest.mark.source("L", "Pint, by the factors of NIST SP 811 (2008), appendix B.8")
UNITS: pint.UnitRegistry[Any] = pint.UnitRegistry(non_int_type=Decimal)
PINT_NAMES = {
    "cm": ("centimetre", "metre"),
    "ft": ("foot", "metre"),
    "yd3": ("yard**3", "metre**3"),
}


@PINT
@pytest.mark.parametrize("unit", ["cm", "ft", "yd3"])
@pytest.mark.parametrize("cost", ["190.26", "0.01", "58", "12.3456", "9999.9999"])
def test_a_price_typed_for_a_metre_is_kept_for_a_foot_and_shown_again(unit: str, cost: str) -> None:
    us, metric = PINT_NAMES[unit]
    typed = Decimal(cost)
    kept = sold.cost_kept(typed, unit, METRIC)
    expected = (typed / UNITS(metric)).to(f"1/({us})").magnitude
    assert abs(kept - expected) < Decimal("1e-8")
    assert sold.cost_shown(kept, unit, METRIC) == typed
    assert sold.cost_kept(typed, unit, US) == sold.cost_shown(typed, unit, US) == typed


@PINT
def test_whole_feet_cost_what_as_many_metres_do() -> None:
    # 400 ft are 121.92 m, at 190.26 a metre 23,196.50; by four places a foot it is 23,196.48.
    kept = sold.cost_kept(Decimal("190.26"), "ft", METRIC)
    metres = UNITS.Quantity(Decimal(400), "foot").to("metre").magnitude
    assert to_cents(400 * kept) == to_cents(metres * Decimal("190.26"))
    assert to_cents(400 * round(kept, 4)) != to_cents(400 * kept)


@PINT
@pytest.mark.parametrize("metres", ["10", "0.01", "1.22", "9.99", "304.80", "1000"])
@pytest.mark.parametrize("cost", ["190.26", "0.05", "58", "12.3456", "9999.9999"])
def test_a_length_by_the_metre_stays_as_typed_and_costs_what_it_shows(
    metres: str, cost: str
) -> None:
    count = sold.count_kept(Decimal(metres), "cm", METRIC)
    assert count == UNITS.Quantity(Decimal(metres), "metre").to("centimetre").magnitude
    assert sold.count_shown(count, "cm", METRIC) == Decimal(metres)
    # No part of a cent is lost: both sides are the same decimal.
    assert count * sold.cost_kept(Decimal(cost), "cm", METRIC) == Decimal(metres) * Decimal(cost)


@PINT
def test_a_foot_s_price_and_pack_become_a_centimetre_s() -> None:
    cost, pack = sold.feet_by_the_metre(Decimal(58), 1.0)
    assert pack == pytest.approx(float(UNITS.Quantity(1, "centimetre").to("foot").magnitude))
    for_metre = (Decimal(58) / UNITS("foot")).to("1/metre").magnitude
    assert sold.cost_shown(cost, "cm", METRIC) == round(for_metre, 4)


@PINT
@pytest.mark.parametrize(
    ("metres", "feet"),
    # Whole feet that are as long at least; a length shown to the centimetre is the feet it was.
    [("1.22", 4), ("1.23", 5), ("1.50", 5), ("0", 0), ("30.48", 100), ("0.01", 1)],
)
def test_a_length_is_bought_in_whole_feet(metres: str, feet: int) -> None:
    assert sold.count_kept(Decimal(metres), "ft", METRIC) == feet
    long = UNITS.Quantity(Decimal(feet), "foot").to("metre").magnitude
    assert long >= Decimal(metres) - Decimal("0.005")
    assert sold.count_shown(Decimal(feet), "ft", METRIC) == round(long, 2)
    assert sold.count_kept(Decimal(feet), "ft", US) == feet
