"""What goes by the foot, in the words of a metric firm: a foot is 0.3048 m exactly."""

from typing import Any

import pint
import pytest

from estimating.selectors.by_foot import (
    amount_words,
    counted_words,
    for_one,
    hours_words,
    is_by_foot,
    shown_for_one,
)
from estimating.selectors.rates import rate_in_words
from firm.measure.loads import HOURS_OF_VOLUME, in_units
from firm.measure.written import METRIC, US


@pytest.mark.parametrize(
    ("rate", "expected"),
    [
        ("layout.foot", True),
        ("hang.chain_link_ft_6", True),
        ("hang.woven_wire_ft", True),
        ("removal.footing", False),
        ("hang.cut_bay_extra", False),
    ],
)
def test_a_rate_for_a_foot_is_known_by_its_key(rate: str, expected: bool) -> None:
    assert is_by_foot(rate) is expected


def test_hours_of_a_foot_are_told_for_a_metre() -> None:
    step = "line A: 135 x 0.01 h = 1.35 h"
    assert hours_words("layout.foot", step, US) == step
    # 135 x 0.3048 = 41.148; 0.01 / 0.3048 = 0.0328; their product is the 1.35 it was.
    assert hours_words("layout.foot", step, METRIC) == "line A: 41.15 m x 0.0328 h = 1.35 h"
    spoil = "0.3957 x 1 h = 0.40 h"
    assert hours_words("spoil.spread_yd3", spoil, US) == spoil
    # 0.3957 x 0.764555 = 0.3025; 1 / 0.764555 = 1.30795.
    cubic_metres = "0.30 m\N{SUPERSCRIPT THREE} x 1.308 h = 0.40 h"
    assert hours_words("spoil.spread_yd3", spoil, METRIC) == cubic_metres
    posts = "line A: 8 x 0.5 h x 1.3 for steep ground = 5.20 h"
    assert hours_words("set.line", posts, METRIC) == posts


@pytest.mark.source("L", "Pint, by the factors of NIST SP 811 (2008), appendix B.8")
def test_counts_and_rates_of_a_metre_by_pint() -> None:
    unit: pint.UnitRegistry[Any] = pint.UnitRegistry()
    ties = (0.5 / unit("foot")).to("1/metre").magnitude
    kept_in_one = for_one("foot", METRIC, is_length=False)
    assert shown_for_one(0.5, kept_in_one) == round(ties, 4)
    assert ties * kept_in_one == pytest.approx(0.5)
    assert for_one("foot", METRIC, is_length=True) == for_one("foot", US, is_length=False) == 1
    assert for_one("post", METRIC, is_length=False) == 1
    hours = (1.8 / unit("yard**3")).to("1/metre**3").magnitude
    assert rate_in_words(1.8, "h a cubic yard", METRIC) == f"{hours:.4f} h"
    assert rate_in_words(1.8, "h a cubic yard", US) == "1.8 h"
    assert HOURS_OF_VOLUME.typed("h a cubic metre") == pytest.approx(1.8 / hours)


@pytest.mark.parametrize(
    ("rule", "unit", "driver", "metric"),
    [
        # 124.844 x 0.3048 = 38.052; half a tie a foot is 1.6404 a metre.
        ("0.5 x 124.844 foot", "each", "foot", "1.6404 x 38.05 m"),
        ("1 x 124.844 foot", "ft", "foot", "1 x 38.05 m"),
        (
            "1 x 124.844 foot, plus 4 ft at each of 4 sections",
            "ft",
            "foot",
            "1 x 38.05 m, plus 1.22 m at each of 4 sections",
        ),
        ("gate G1: 1 x 3.83333", "ft", "leaf_ft", "gate G1: 1 x 1.17 m"),
        ("gate G1: 1 x 1", "each", "gate", "gate G1: 1 x 1"),
        ("1 x 32 height ft, less 1 at each of 8", "each", "height_ft",
         "3.2808 x 9.75 m, less 1 at each of 8"),
        ("4 x 10 post", "each", "post", "4 x 10 post"),
    ],
)  # fmt: skip
def test_what_is_counted_by_the_foot_is_told_by_the_metre(
    rule: str, unit: str, driver: str, metric: str
) -> None:
    assert counted_words(rule, unit=unit, driver=driver, units=METRIC) == metric
    assert counted_words(rule, unit=unit, driver=driver, units=US) == rule


def test_what_it_comes_to_is_in_metres_for_an_item_in_feet() -> None:
    assert amount_words("line A: 124.844", unit="ft", units=METRIC) == "line A: 38.05 m"
    assert amount_words("line A: 62.4219", unit="each", units=METRIC) == "line A: 62.4219"
    bought = "124.844 + 3 % -> 129, packs of 50"
    metric = "38.05 m + 3 % -> 39.32 m, packs of 15.24 m"
    assert amount_words(bought, unit="ft", units=METRIC) == metric
    assert amount_words(bought, unit="ft", units=US) == bought


@pytest.mark.parametrize(
    ("engine", "metric"),
    [
        # 120 x 25.4 = 3048; 1 in is 25.4 mm.
        ("120 in - 2 x 1 in hinge = 118 in", "3048 mm - 2 x 25 mm hinge = 2997 mm"),
        ("1 x 36 board (8 in 1 bay, 7 in each of 4 bays)",) * 2,
        ("a post 5 x 5 in", "a post 5 x 5 in"),
        # 1,240 x 0.45359 = 562; 100 x 0.45359 = 45; 19,800 psi x 0.00689476 = 136.5
        ("The soil weighs 1,240 lb dry", "The soil weighs 562 kg dry"),
        ("wide, 100 lb; steel pipe, 19,800 psi", "wide, 45 kg; steel pipe, 136.5 MPa"),
        ("until the concrete has 500 psi", "until the concrete has 3.4 MPa"),
        ("Concrete mix, 80 lb bag", "Concrete mix, 80 lb bag"),
        # 1.25 x 0.764555 = 0.96; 22.38 x 28.3168 = 634; 0.6 x 28.3168 = 17
        ("1.25 yd3 loose", "0.96 m\N{SUPERSCRIPT THREE} loose"),
        ("22.38 ft3 at 0.6 ft3 a bag", "634 litres at 17 litres a bag"),
    ],
)
def test_weights_stresses_and_volumes_of_a_sentence_are_metric(engine: str, metric: str) -> None:
    assert in_units(engine, METRIC) == metric
    assert in_units(engine, US) == engine
