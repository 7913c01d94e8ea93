"""Post embedment (IBC 1807.3, Table 1806.2) against published figures and hand working.

Tags: P published worked example; S text or table seen; C computed apart from the engine, to a
change of under 0.001 ft; M from memory. Editions: the formula is the same from 2006 to 2018.
"""

import math
from dataclasses import replace

import pytest
from scipy.optimize import brentq

from estimating.engine.embedment import (
    LATERAL_PSF_PER_FT,
    Pole,
    TooDeepError,
    a_term_ft,
    force_held_lb,
    free_depth_at_ft,
    free_depth_ft,
    held_depth_ft,
    pressure_at_psf,
    width_for_ft,
)
from tests.starter_cases import starter_catalog


def pole(force_lb: float, height_ft: float, width_ft: float, soil: float, factor: float) -> Pole:
    return Pole(
        force_lb=force_lb,
        height_ft=height_ft,
        width_ft=width_ft,
        soil_psf_per_ft=soil,
        soil_factor=factor,
    )


FLAGPOLE = pole(30_000, 3.0, 4.5, 350, 2)


@pytest.mark.source("T", "IBC 2012 Table 1806.2, lateral bearing")
@pytest.mark.parametrize(
    ("soil", "psf_per_ft"),
    [("bedrock", 1200), ("rock", 400), ("gravel", 200), ("sand", 150), ("clay", 100)],
)
def test_presumptive_lateral_bearing_of_the_code_s_five_classes(
    soil: str, psf_per_ft: float
) -> None:
    # An engineering text reproduces the table; the same figures in proposal S148-07/08.
    assert LATERAL_PSF_PER_FT[soil] == psf_per_ft


FLAGPOLE_FT = held_depth_ft(FLAGPOLE)
FLAGPOLE_S3_PSF = pressure_at_psf(FLAGPOLE, FLAGPOLE_FT)


@pytest.mark.source("P", "IBC 2018 section 1807.3.2.2: a flagpole footing sheet")
@pytest.mark.parametrize(
    ("found", "printed", "last_place"),
    [
        # 1 ft is 0.3048 m; 1 psf is 47.880 Pa.
        (FLAGPOLE_FT * 0.3048, 1.509, 0.0005),
        (FLAGPOLE_S3_PSF * 47.880, 1.660e5, 50),
        (FLAGPOLE_S3_PSF / 3 * 47.880, 5.532e4, 5),
        (a_term_ft(30_000, FLAGPOLE_S3_PSF / 3, 4.5), 13.501, 0.005),
    ],
    ids=["d", "S3", "S1", "A"],
)
def test_flagpole_footing_held_at_the_ground(
    found: float, printed: float, last_place: float
) -> None:
    assert found == pytest.approx(printed, abs=last_place)


@pytest.mark.source("P", "IBC section 1807.3.2.1: a question in a public forum")
def test_the_a_term_of_a_published_question() -> None:
    # [P] P 3,000 lb, S 150, trial depth 6 ft, b 1 ft, the old increase of 1.33: prints 17.6.
    assert a_term_ft(3000, 1.33 * 150 * 6 / 3, 1.0) == pytest.approx(17.6, abs=0.01)


@pytest.mark.source("C", "IBC 2018 section 1807.3.2, worked apart to 0.001 ft")
@pytest.mark.parametrize(
    ("asked", "depth_ft", "s1_psf", "a_ft"),
    [
        # [C] rows 1b, 1e, 1f, 1g and 1i of the project's table of cases.
        (FLAGPOLE, 9.482, 2212.5, 7.051),
        (pole(300, 3.3, 1.0, 150, 2), 3.717, 371.7, 1.889),
        (pole(300, 3.3, 1.0, 150, 1), 4.928, 246.4, 2.849),
        (pole(300, 3.3, 1.0, 100, 2), 4.379, 292.0, 2.404),
        (pole(150, 2.5, 0.8333, 100, 2), 3.378, 225.2, 1.870),
    ],
)
def test_free_pole_s_depth_pressure_and_a(
    asked: Pole, depth_ft: float, s1_psf: float, a_ft: float
) -> None:
    found_ft = free_depth_ft(asked)
    found_psf = pressure_at_psf(asked, found_ft / 3)

    assert found_ft == pytest.approx(depth_ft, abs=0.001)
    assert found_psf == pytest.approx(s1_psf, abs=0.15)
    assert a_term_ft(asked.force_lb, found_psf, asked.width_ft) == pytest.approx(a_ft, abs=0.002)


@pytest.mark.source("C", "IBC 2018 section 1807.3.2, worked apart to 0.001 ft")
@pytest.mark.parametrize(
    ("asked", "depth_ft", "s3_psf"),
    [
        # [C] rows 1h and 1j.
        (pole(300, 3.3, 1.0, 150, 2), 2.412, 723.5),
        (pole(600, 4.0, 1.0, 200, 2), 2.943, 1177.4),
    ],
)
def test_held_pole_s_depth_and_pressure(asked: Pole, depth_ft: float, s3_psf: float) -> None:
    found_ft = held_depth_ft(asked)

    assert found_ft == pytest.approx(depth_ft, abs=0.001)
    assert pressure_at_psf(asked, found_ft) == pytest.approx(s3_psf, abs=0.2)


@pytest.mark.source("C", "IBC 2018 section 1807.3.2, worked apart to 0.001 ft")
@pytest.mark.parametrize(("soil", "depth_ft"), [(100, 6.513), (150, 5.491), (200, 4.873)])
def test_middle_post_of_an_open_country_fence_by_soil(soil: float, depth_ft: float) -> None:
    # [C] row 1k: the 778.45 lb at 3.3 ft of the wind file, F 2, b 1 ft.
    assert free_depth_ft(pole(778.45, 3.3, 1.0, soil, 2)) == pytest.approx(depth_ft, abs=0.001)


@pytest.mark.source("C", "IBC 2018 section 1807.3.2, worked apart to 0.001 ft")
@pytest.mark.parametrize(("soil", "depth_ft"), [(150, 4.422), (100, 5.226)])
def test_least_load_s_depth(soil: float, depth_ft: float) -> None:
    # [C] section 2: 460.8 lb at 3.3 ft, F 2, b 1 ft.
    assert free_depth_ft(pole(460.8, 3.3, 1.0, soil, 2)) == pytest.approx(depth_ft, abs=0.001)


@pytest.mark.source("C", "IBC 2018 section 1807.3.2, worked apart to 0.001 ft")
def test_depths_over_twelve_feet_are_refused() -> None:
    # [C] row 1d. With S1 held at 150 x 12 / 3 = 600 psf the formula says 17.522 ft, A 11.70.
    asked = pole(3000, 8.0, 1.0, 150, 1)

    assert a_term_ft(3000, 600.0, 1.0) == pytest.approx(11.70, abs=0.005)
    assert free_depth_at_ft(asked, 600.0) == pytest.approx(17.522, abs=0.002)
    with pytest.raises(TooDeepError, match="needs engineering"):
        free_depth_ft(asked)
    with pytest.raises(TooDeepError, match="needs engineering"):
        held_depth_ft(replace(asked, force_lb=300_000))


@pytest.mark.source("C", "IBC 2018 section 1807.3.2, solved for P by hand at 12 ft")
def test_the_formula_ends_at_twelve_feet() -> None:
    # d = 12: A = 144 / (12 + 1.09 x 3.3) = 9.2326; S1 = 100 x 12 / 3 = 400; P = A x 400 / 2.34 =
    # 1,578.2 lb. Held: P = 12^2 x 1,200 / (4.25 x 3.3) = 12,321 lb.
    assert free_depth_ft(pole(1578.0, 3.3, 1.0, 100, 1)) == pytest.approx(12.0, abs=0.002)
    assert held_depth_ft(pole(12_320.0, 3.3, 1.0, 100, 1)) == pytest.approx(12.0, abs=0.002)
    with pytest.raises(TooDeepError):
        free_depth_ft(pole(1578.5, 3.3, 1.0, 100, 1))
    with pytest.raises(TooDeepError):
        held_depth_ft(pole(12_322.0, 3.3, 1.0, 100, 1))


@pytest.mark.source("S", "IBC 2018 section 1806.3.4, as quoted: only where 1/2 in harms nothing")
def test_the_doubled_soil_value_is_never_taken_for_rigid_panels() -> None:
    # A permission with a condition: fabric and wire give way, panels, boards and slats do not.
    systems = starter_catalog().systems.values()
    assert pole(1, 1, 1, 100, 1) == Pole(force_lb=1, height_ft=1, width_ft=1, soil_psf_per_ft=100)
    for system in systems:
        assert system.wind is not None
        gives_way = system.family == "fabric" and not system.wind.screen.is_solid
        assert system.wind.is_movement_harmless is gives_way, system.key


@pytest.mark.source("C", "IBC 2018 section 1807.3.2, worked apart to 0.001 ft")
def test_customary_hole_holds_about_a_quarter_of_the_least_load() -> None:
    # [C] 12 x 36 in in clay, F 2: A = 9 / (3 + 1.09 x 3.3) = 1.3643; S1 = 200; P = 116.6 lb.
    # The least load on an 8 ft bay is 460.8 lb.
    assert force_held_lb(pole(1, 3.3, 1.0, 100, 2), depth_ft=3.0) == pytest.approx(116.6, abs=0.1)


@pytest.mark.source("C", "IBC 2018 section 1807.3.2, worked apart to 0.001 ft")
def test_double_soil_value_and_double_factor_are_the_same() -> None:
    single, double = pole(778.45, 3.3, 1.0, 200, 1), pole(778.45, 3.3, 1.0, 100, 2)
    assert free_depth_ft(single) == pytest.approx(6.513, abs=0.001)
    assert free_depth_ft(single) == free_depth_ft(double)


@pytest.mark.source("C", "IBC 2018 section 1807.3.2, worked apart to 0.001 ft")
@pytest.mark.parametrize(
    ("name", "larger"),
    [
        ("force_lb", True),
        ("height_ft", True),
        ("width_ft", False),
        ("soil_psf_per_ft", False),
        ("soil_factor", False),
    ],
)
def test_depth_grows_with_the_load_and_falls_with_the_ground(name: str, larger: bool) -> None:
    base = pole(300, 3.3, 1.0, 150, 1)
    changed = replace(base, **{name: 1.2 * getattr(base, name)})

    assert (free_depth_ft(changed) > free_depth_ft(base)) is larger
    assert held_depth_ft(changed) < free_depth_ft(changed)


@pytest.mark.source("C", "IBC 2018 section 1807.3.2, worked apart to 0.001 ft")
@pytest.mark.parametrize("force_lb", [50.0, 300.0, 778.45])
def test_depth_width_and_force_answer_one_another(force_lb: float) -> None:
    asked = pole(force_lb, 3.3, 1.0, 100, 2)
    depth_ft = free_depth_ft(asked)

    assert force_held_lb(asked, depth_ft=depth_ft) == pytest.approx(force_lb, rel=1e-5)
    wide_ft = width_for_ft(asked, depth_ft=0.8 * depth_ft)
    assert free_depth_ft(replace(asked, width_ft=wide_ft)) == pytest.approx(
        0.8 * depth_ft, abs=1e-4
    )
    assert free_depth_ft(replace(asked, force_lb=0.0)) == 0.0


@pytest.mark.source("L", "SciPy: brentq on the pole formula with its pressure put in")
@pytest.mark.parametrize("force_lb", [40.0, 150.0, 300.0, 778.45, 1417.0])
@pytest.mark.parametrize(("height_ft", "width_ft"), [(2.2, 0.8), (3.3, 1.0), (4.4, 1.5)])
@pytest.mark.parametrize(("soil", "factor"), [(100.0, 2.0), (150.0, 1.0), (200.0, 2.0)])
def test_depths_are_the_roots_that_scipy_finds(
    force_lb: float, height_ft: float, width_ft: float, soil: float, factor: float
) -> None:
    def free(depth_ft: float) -> float:
        a_ft = 2.34 * force_lb / (factor * soil * depth_ft / 3 * width_ft)
        return 0.5 * a_ft * (1 + math.sqrt(1 + 4.36 * height_ft / a_ft)) - depth_ft

    def held(depth_ft: float) -> float:
        s3_psf = factor * soil * depth_ft
        return math.sqrt(4.25 * force_lb * height_ft / (s3_psf * width_ft)) - depth_ft

    asked = pole(force_lb, height_ft, width_ft, soil, factor)
    free_ft, held_ft = brentq(free, 0.01, 40.0), brentq(held, 0.01, 40.0)

    # Every one of these is under the 12 ft where the formula ends.
    assert free_depth_ft(asked) == pytest.approx(free_ft, abs=2e-6)
    assert held_depth_ft(asked) == pytest.approx(held_ft, abs=2e-6)
    assert force_held_lb(asked, depth_ft=free_ft) == pytest.approx(force_lb, rel=1e-6)
