"""Forces, volumes and weights against Pint: each worked in metric units from the start.

Pint's factors are those of NIST and the 1959 inch; the engine's own run in feet and pounds.
"""

import math
from typing import Any

import pint
import pytest

from estimating.engine.embedment import (
    LATERAL_PSF_PER_FT,
    Pole,
    a_term_ft,
    free_depth_at_ft,
    pressure_at_psf,
)
from estimating.engine.footings import dig
from estimating.engine.frost import FrozenGround, stefan_ft, uplift_lb
from estimating.engine.post_strength import (
    pipe_section_in3,
    pipe_weight_lb_ft,
    square_section_in3,
)
from estimating.engine.site import Conditions
from estimating.engine.wind import Leg, Screen, load_on, velocity_pressure_psf
from firm.measure.written import CUBIC_M_PER_CUBIC_YD, LITRES_PER_CUBIC_FT
from tests.engine_cases import WOOD, catalog, straight_line
from tests.starter_cases import starter_catalog

pytestmark = pytest.mark.source("L", "Pint, units of measure")

unit: Any = pint.UnitRegistry()
LB_FT = unit.pound_force * unit.foot
PSF = unit.pound_force / unit.foot**2


@pytest.mark.parametrize(
    ("speed_mph", "exposure", "kz"), [(105, "B", 0.57), (115, "C", 0.85), (140, "D", 1.03)]
)
def test_velocity_pressure_in_pascals(speed_mph: float, exposure: Any, kz: float) -> None:
    # ASCE 7 in SI: 0.613 Kz Kd V2, Pa and m/s. Its two constants agree to a part in a thousand.
    speed = (speed_mph * unit.mile / unit.hour).to(unit.metre / unit.second).magnitude
    pascals = 0.613 * kz * 0.85 * speed**2
    found = velocity_pressure_psf(speed_mph, exposure, 6.0) * PSF

    assert found.to(unit.pascal).magnitude == pytest.approx(pascals, rel=1.5e-3)


def test_force_and_moment_of_wind_in_newtons() -> None:
    # 24.461 psf is 1,171.2 Pa; x 0.85 x 1.30 on 2.4384 x 1.8288 m = 5,771 N; arm 1.00584 m.
    q_psf = velocity_pressure_psf(115, "C", 6.0)
    load = load_on(Leg(length_ft=120, height_ft=6), Screen(solidity=1), q_psf, from_ft=56, to_ft=64)
    q_pa = (q_psf * PSF).to(unit.pascal).magnitude
    newtons = q_pa * 0.85 * 1.30 * 2.4384 * 1.8288

    assert (load.force_lb * unit.pound_force).to(unit.newton).magnitude == pytest.approx(newtons)
    moment = (load.force_lb * load.arm_ft * LB_FT).to(unit.newton * unit.metre).magnitude
    assert moment == pytest.approx(newtons * 0.55 * 1.8288)


@pytest.mark.parametrize(
    ("soil", "kpa_m"),
    # The code's table times its note, 1 psf/ft is 0.157 kPa/m: 1200, 400, 200, 150 and 100.
    [("bedrock", 188.4), ("rock", 62.8), ("gravel", 31.4), ("sand", 23.55), ("clay", 15.7)],
)
def test_lateral_bearing_in_kilopascals_a_metre(soil: str, kpa_m: float) -> None:
    found = LATERAL_PSF_PER_FT[soil] * PSF / unit.foot

    assert found.to(unit.kilopascal / unit.metre).magnitude == pytest.approx(kpa_m, rel=1.5e-3)


def test_pole_formula_in_metres_and_newtons() -> None:
    # The formula has lengths and pressures alone, so it holds in any units: 300 lb, 3.3 ft, 1 ft.
    pole = Pole(force_lb=300, height_ft=3.3, width_ft=1, soil_psf_per_ft=150, soil_factor=2)
    depth_ft = 3.717
    force_n = (300 * unit.pound_force).to(unit.newton).magnitude
    s1_pa = (2 * 150 * PSF / unit.foot).to(unit.pascal / unit.metre).magnitude * (
        (depth_ft / 3 * unit.foot).to(unit.metre).magnitude
    )
    a_m = 2.34 * force_n / (s1_pa * 0.3048)
    depth_m = 0.5 * a_m * (1 + math.sqrt(1 + 4.36 * 3.3 * 0.3048 / a_m))
    pressure_psf = pressure_at_psf(pole, depth_ft / 3)

    assert a_term_ft(300, pressure_psf, 1) * 0.3048 == pytest.approx(a_m)
    assert free_depth_at_ft(pole, pressure_psf) * 0.3048 == pytest.approx(depth_m)


@pytest.mark.parametrize(
    ("outside_in", "wall_in"), [(1.9, 0.120), (2.375, 0.154), (2.875, 0.203), (4.0, 0.226)]
)
def test_pipe_weighs_what_steel_of_7850_kg_m3_weighs(outside_in: float, wall_in: float) -> None:
    outside = (outside_in * unit.inch).to(unit.metre).magnitude
    inside = outside - 2 * (wall_in * unit.inch).to(unit.metre).magnitude
    kg_m = math.pi / 4 * (outside**2 - inside**2) * 7850 * unit.kilogram / unit.metre

    assert pipe_weight_lb_ft(outside_in, wall_in) == pytest.approx(
        kg_m.to(unit.pound / unit.foot).magnitude, rel=2e-3
    )


def test_section_moduli_in_cubic_millimetres() -> None:
    # A 4x4 is 88.9 mm square: 88.9^3 / 6 = 117,100 mm3. 2.375 in pipe: 60.325 mm, wall 3.9116.
    square = (square_section_in3(3.5) * unit.inch**3).to(unit.millimetre**3).magnitude
    pipe = (pipe_section_in3(2.375, 0.154) * unit.inch**3).to(unit.millimetre**3).magnitude

    assert square == pytest.approx(88.9**3 / 6)
    inside = 60.325 - 2 * 3.9116
    assert pipe == pytest.approx(math.pi * (60.325**4 - inside**4) / (32 * 60.325))


def test_concrete_and_spoil_of_a_hole_in_litres() -> None:
    # 12 in is 0.3048 m, 36 in 0.9144 m, the post 0.0889 m square: 66.72 l less 7.23 l.
    footings = dig([straight_line(bays=1, system=WOOD)], catalog(), Conditions())
    hole = footings.holes[0]
    whole_m3 = math.pi / 4 * 0.3048**2 * 0.9144
    net_m3 = whole_m3 - 0.0889**2 * 0.9144

    assert (hole.concrete_ft3 * unit.foot**3).to(unit.metre**3).magnitude == pytest.approx(net_m3)
    assert (hole.spoil_ft3 * unit.foot**3).to(unit.metre**3).magnitude == pytest.approx(
        1.25 * whole_m3
    )
    assert hole.concrete_ft3 * LITRES_PER_CUBIC_FT == pytest.approx(1000 * net_m3, rel=1e-6)
    assert footings.concrete.spoil_loose_yd3 * CUBIC_M_PER_CUBIC_YD == pytest.approx(
        2 * 1.25 * whole_m3, rel=1e-6
    )


@pytest.mark.parametrize(
    ("item", "litres"),
    [("concrete_50lb", 10.62), ("concrete_60lb", 12.74), ("concrete_80lb", 16.99)],
)
def test_yields_of_the_starter_s_bags_in_litres(item: str, litres: float) -> None:
    cubic_ft = starter_catalog().prices[item].yield_ft3

    assert cubic_ft is not None
    assert (cubic_ft * unit.foot**3).to(unit.litre).magnitude == pytest.approx(litres, abs=0.006)
    assert cubic_ft * LITRES_PER_CUBIC_FT == pytest.approx(litres, abs=0.006)


def test_frost_depth_in_metric_units() -> None:
    # Stefan in SI: x = sqrt(2 k n FI / L), W/m K, K s, J/m3; water's latent heat 334.9 kJ/kg.
    silt = FrozenGround(
        index_f_days=1500,
        surface_factor=0.7,
        conductivity=0.76,
        dry_lb_ft3=100,
        water_pct=15,
        freezing_days=120,
        mean_annual_f=45,
    )
    k = (0.76 * unit.BTU / unit.hour / unit.foot / unit.delta_degF).to("W/m/delta_degC").magnitude
    index = (1500 * unit.delta_degF * unit.day).to("delta_degC*s").magnitude
    latent = (144 * unit.BTU / unit.pound).to("J/kg").magnitude * (
        (100 * unit.pound / unit.foot**3).to("kg/m**3").magnitude * 0.15
    )

    assert latent == pytest.approx(334_900 * 1601.8 * 0.15, rel=1e-3)
    assert stefan_ft(silt) * 0.3048 == pytest.approx(math.sqrt(2 * k * 0.7 * index / latent))


def test_frost_s_pull_in_kilonewtons() -> None:
    # pi x 0.254 m x 1 m x 65 kPa.
    pull = (uplift_lb(10.0, 1000 / 25.4) * unit.pound_force).to(unit.kilonewton).magnitude

    assert pull == pytest.approx(math.pi * 0.254 * 65, rel=1e-4)
