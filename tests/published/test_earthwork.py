"""Spoil against published earthwork figures: swell, load factors, loads and weights.

Swell in percent, several earthwork tables: sand 5 to 15, common earth 20 to 30, clay 30 to 40,
rock 60 to 72. An army handbook's factors are from memory.
"""

import pytest

from estimating.engine.spoil import load_factor, loads, loose_volume, weight_lb
from tests.starter_cases import starter_catalog


@pytest.mark.source("P", "an earthwork page's example: 1,000 bank yards of clay at 30 %")
@pytest.mark.parametrize(("found", "printed"), [(loose_volume(1000, 30), 1300)])
def test_clay_of_the_example_swells_to_1300_yards(found: float, printed: float) -> None:
    assert found == pytest.approx(printed)


@pytest.mark.source("P", "an earthwork page's example: 1,000 bank yards, trucks of 7 yards")
def test_the_example_takes_186_loads() -> None:
    # 1,300 / 7 = 185.7.
    assert loads(loose_volume(1000, 30), load_yd3=7) == 186


@pytest.mark.source("C", "earthwork: 500 compacted yards at a shrinkage of 0.95")
def test_500_compacted_yards_take_87_loads() -> None:
    # 500 / 0.95 = 526 bank yards; x 1.15 = 605 loose; / 7 = 86.5.
    bank_yd3 = 500 / 0.95
    assert bank_yd3 == pytest.approx(526, abs=0.5)
    assert loose_volume(bank_yd3, 15) == pytest.approx(605, abs=0.5)
    assert loads(loose_volume(bank_yd3, 15), load_yd3=7) == 87


@pytest.mark.source("P", "an earthwork page's example: 200 x 20 x 2 m at 40 %")
def test_a_cutting_of_8000_m3_swells_to_11200() -> None:
    assert loose_volume(200 * 20 * 2, 40) == pytest.approx(11_200)


@pytest.mark.source("P", "an earthwork page's example: swell 67 %, load factor 0.599")
def test_load_factor_of_67_percent() -> None:
    assert load_factor(67) == pytest.approx(0.599, abs=5e-4)


@pytest.mark.source("S", "an army handbook quoted: 100 bank yards of sand are 111 loose")
def test_sand_of_the_handbook() -> None:
    assert loose_volume(100, 11) == pytest.approx(111)


@pytest.mark.source("M", "from memory: an army handbook's factors of loam, clay and rock")
@pytest.mark.parametrize(
    ("loose", "factor"), [(1.11, 0.901), (1.25, 0.80), (1.43, 0.699), (1.50, 0.667)]
)
def test_loose_yards_and_load_factor_are_one_figure(loose: float, factor: float) -> None:
    swell_pct = (loose - 1) * 100

    assert loose_volume(1, swell_pct) == pytest.approx(loose)
    assert load_factor(swell_pct) == pytest.approx(factor, abs=5e-4)


@pytest.mark.source("S", "earthwork tables: swell of sand, common earth, clay and rock")
@pytest.mark.parametrize(
    ("soil", "lowest", "highest"),
    [("sand", 5, 15), ("normal", 20, 30), ("stiff", 30, 40), ("shale", 60, 72)],
)
def test_starter_s_swell_lies_within_the_tables(soil: str, lowest: float, highest: float) -> None:
    assert lowest <= starter_catalog().rates.swell_pct[soil] <= highest


@pytest.mark.source("C", "48 holes of 12 x 36 in, the post not taken off")
@pytest.mark.parametrize(("swell_pct", "loose_yd3"), [(12, 4.69), (25, 5.24), (40, 5.86)])
def test_spoil_of_48_holes(swell_pct: float, loose_yd3: float) -> None:
    # 48 x 2.3562 = 113.10 ft3, / 27 = 4.189 yd3 in the bank.
    bank_yd3 = 48 * 2.35619 / 27

    assert bank_yd3 == pytest.approx(4.189, abs=5e-4)
    assert loose_volume(bank_yd3, swell_pct) == pytest.approx(loose_yd3, abs=0.005)


@pytest.mark.source("C", "48 holes by earthwork tables' 100 lb/ft3 in place, and by 110")
@pytest.mark.parametrize(("lb_ft3", "pounds"), [(100, 11_310), (110, 12_441)])
def test_weight_of_48_holes(lb_ft3: float, pounds: float) -> None:
    assert weight_lb(48 * 2.35619 / 27, lb_ft3) == pytest.approx(pounds, abs=1)
