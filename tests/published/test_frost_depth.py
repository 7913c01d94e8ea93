"""Frost depth: Stefan and modified Berggren, against a state's pavement guide and hand working.

Variables, units and the soils' figures are those of a state university's pavement guide [S]; the
coefficient 48 is 2 x 24 h. The chart of lambda is replaced by its equation, solved apart with
SciPy. Advice only: a town's adopted frost line rules (IBC 1809.5, IRC Table R301.2).
"""

import math
from dataclasses import replace

import pytest
from scipy.optimize import brentq
from scipy.special import erf, erfc

from estimating.engine.errors import EngineError
from estimating.engine.frost import (
    FrozenGround,
    berggren_ft,
    correction,
    pavement_fit_ft,
    stefan_ft,
    uplift_lb,
)

GUIDE = "a state university's pavement guide, frost chapter"
# Silt of 100 lb/ft3 with 15 % water, conductivity 0.8 frozen and 0.72 thawed.
SILT = FrozenGround(
    index_f_days=1500,
    surface_factor=0.7,
    conductivity=0.76,
    dry_lb_ft3=100,
    water_pct=15,
    freezing_days=120,
    mean_annual_f=45,
)
SANDY_GRAVEL = FrozenGround(
    index_f_days=750,
    surface_factor=0.7,
    conductivity=1.15,
    dry_lb_ft3=120,
    water_pct=8,
    freezing_days=100,
    mean_annual_f=50,
)


@pytest.mark.source("C", f"{GUIDE}: heats of a soil")
def test_heats_of_the_guide_s_silt() -> None:
    # L = 144 x 100 x 0.15 = 2,160; C = 100 (0.17 + 0.75 x 0.15) = 28.25.
    # vs = 0.7 x 1500 / 120 = 8.75; alpha = 13 / 8.75 = 1.486; mu = 28.25 x 8.75 / 2160 = 0.1144.
    assert SILT.latent_btu_ft3 == pytest.approx(2160)
    assert SILT.capacity_btu_ft3_f == pytest.approx(28.25)
    assert SILT.surface_f == pytest.approx(8.75)
    assert SILT.thermal_ratio == pytest.approx(1.486, abs=5e-4)
    assert SILT.fusion == pytest.approx(0.1144, abs=5e-5)


@pytest.mark.source("C", f"{GUIDE}: Stefan and modified Berggren")
@pytest.mark.parametrize(
    ("ground", "stefan", "berggren"),
    [
        # sqrt(48 x 0.76 x 1050 / 2160) = 4.211; x 0.774 = 3.26.
        (SILT, 4.21, 3.26),
        # Under turf, n 0.5: sqrt(48 x 0.76 x 750 / 2160) = 3.559; x 0.7515 = 2.67.
        (replace(SILT, surface_factor=0.5), 3.56, 2.67),
        # L = 144 x 120 x 0.08 = 1382.4; sqrt(48 x 1.15 x 525 / 1382.4) = 4.579; x 0.605 = 2.77.
        (SANDY_GRAVEL, 4.58, 2.77),
    ],
)
def test_depth_of_three_soils(ground: FrozenGround, stefan: float, berggren: float) -> None:
    assert stefan_ft(ground) == pytest.approx(stefan, abs=0.005)
    assert berggren_ft(ground) == pytest.approx(berggren, abs=0.005)


@pytest.mark.source("C", "Neumann's equation for lambda, worked apart by bisection")
@pytest.mark.parametrize(
    ("alpha", "mu", "factor"),
    [
        (0, 0.01, 0.998),
        (0, 0.2, 0.969),
        (0.5, 0.1, 0.911),
        (1, 0.2, 0.776),
        (2, 0.1, 0.735),
        (2, 0.2, 0.639),
        (3, 0.1, 0.645),
        (1.486, 0.1144, 0.774),
    ],
)
def test_correction_in_place_of_the_chart(alpha: float, mu: float, factor: float) -> None:
    assert correction(alpha, mu) == pytest.approx(factor, abs=0.0006)


@pytest.mark.source("L", "SciPy: brentq on Neumann's equation with its own erf and erfc")
@pytest.mark.parametrize("alpha", [0.0, 0.3, 1.0, 2.5, 6.0])
@pytest.mark.parametrize("mu", [0.001, 0.05, 0.3, 1.0])
def test_correction_is_the_root_that_scipy_finds(alpha: float, mu: float) -> None:
    def difference(e: float) -> float:
        fall = math.exp(-e * e)
        return float(fall / erf(e) - alpha * fall / erfc(e) - math.sqrt(math.pi) * e / mu)

    root = brentq(difference, 1e-9, 4.0, xtol=1e-14)
    assert correction(alpha, mu) == pytest.approx(root * math.sqrt(2 / mu), rel=1e-9)


@pytest.mark.source("M", "from memory: an empirical fit of a Canadian province's pavements")
@pytest.mark.parametrize(
    ("index", "depth_ft"), [(500, 2.08), (1000, 3.39), (1500, 4.40), (2500, 5.99)]
)
def test_fit_to_bare_pavements(index: float, depth_ft: float) -> None:
    assert pavement_fit_ft(index) == pytest.approx(depth_ft, abs=0.006)


@pytest.mark.source("M", "from memory: 65 kPa between frozen fine soil and concrete")
def test_frozen_soil_lifts_a_shaft_by_51_9_kn() -> None:
    # pi x 0.254 m x 1.0 m x 65 kPa = 51.87 kN, 11,660 lb.
    assert uplift_lb(10.0, 1000 / 25.4) == pytest.approx(11_660, abs=10)


@pytest.mark.source(
    "S", "a state university's pavement guide: Stefan over-predicts in temperate zones"
)
@pytest.mark.parametrize("ground", [SILT, SANDY_GRAVEL])
def test_stefan_comes_out_deeper_where_the_year_is_mild(ground: FrozenGround) -> None:
    assert berggren_ft(ground) < stefan_ft(ground)
    # Where the year's mean is at freezing the correction is near 1.
    cold = replace(ground, mean_annual_f=32)
    assert berggren_ft(cold) / stefan_ft(cold) > 0.95


@pytest.mark.source("C", "limits of the formulas")
def test_no_frost_no_depth_and_no_water_no_answer() -> None:
    assert stefan_ft(replace(SILT, index_f_days=0)) == 0
    assert berggren_ft(replace(SILT, index_f_days=0)) == 0
    with pytest.raises(EngineError, match="above 0") as refused:
        replace(SILT, water_pct=0)
    assert refused.value.field == "water_pct"
    # Colder, longer frost and drier soil freeze deeper.
    assert berggren_ft(replace(SILT, index_f_days=2000)) > berggren_ft(SILT)
    assert berggren_ft(replace(SILT, water_pct=10)) > berggren_ft(SILT)
