"""What is sold by the foot as a metric firm reads it: counts come back, units are told in words."""

from decimal import Decimal

from firm.measure import sold
from firm.measure.written import METRIC, US


def test_every_count_of_feet_that_is_shown_is_read_back() -> None:
    for feet in range(1, 3000):
        shown = sold.count_shown(Decimal(feet), "ft", METRIC)
        assert sold.count_kept(shown, "ft", METRIC) == feet


def test_every_count_of_centimetres_that_is_shown_is_read_back() -> None:
    for count in range(1, 3000):
        shown = sold.count_shown(Decimal(count), "cm", METRIC)
        assert shown == Decimal(count) / 100
        assert sold.count_kept(shown, "cm", METRIC) == count
        assert sold.count_nearest(shown, "cm", METRIC) == count


def test_what_is_bought_by_the_metre_is_kept_in_centimetres() -> None:
    for typed in ("m", "Metre", "meters", "ft"):
        wanted = "ft" if typed == "ft" else "cm"
        assert sold.kept_purchase_unit(typed, METRIC) == wanted
    assert sold.kept_purchase_unit("m3", METRIC) == "yd3"
    assert sold.kept_purchase_unit("roll of 25 m", METRIC) == "roll of 25 m"
    assert sold.kept_purchase_unit("m", US) == "m"
    assert (sold.unit_words("cm", METRIC), sold.unit_words("cm", US)) == ("m", "cm")
    assert sold.count_words(1000, "cm", METRIC) == "10.00 m"
    assert sold.count_words(1000, "cm", US) == "1000 cm"


def test_units_are_told_as_the_firm_measures() -> None:
    # 50 x 0.3048 = 15.24
    assert sold.unit_words("roll of 50 ft", METRIC) == "roll of 15.24 m"
    assert sold.unit_words("ft", METRIC) == "m"
    assert sold.kept_unit("Metre", METRIC) == "ft"
    assert sold.kept_unit("m3", METRIC) == "yd3"
    assert (sold.unit_words("ft", US), sold.kept_unit("m", US)) == ("ft", "m")
    assert sold.count_words(4, "ft", METRIC) == "1.22 m"
    assert sold.count_words(4, "ft", US) == "4 ft"
