"""Bending of posts: lumber (PS 20, NDS), steel pipe (F1083/F1043), vinyl (F964).

Tags: P published; S seen; C computed apart from the engine; M from memory, to be checked in the
NDS supplement or on the mill's sheet. Quick checks for comparison, no design.
"""

import pytest

from estimating.engine.post_strength import (
    PostStrength,
    bearing_of,
    box_section_in3,
    pipe_section_in3,
    pipe_weight_lb_ft,
    square_section_in3,
    timber_bending_psi,
)

SOUTHERN_PINE = PostStrength(material="timber", bending_psi=1100)  # No. 2, 2 to 4 in wide [M]
SOUTHERN_PINE_6X6 = PostStrength(material="timber", bending_psi=850)  # [M]
# Douglas fir-larch No. 2 [M]; size factor 1.5 [S: a pine council's page, 2x2 to 2x4].
DOUGLAS_FIR = PostStrength(material="timber", bending_psi=900, size_factor=1.5)


@pytest.mark.source("M", "from memory: dressed sizes of PS 20")
@pytest.mark.parametrize(
    ("width_in", "depth_in", "section_in3"),
    [(3.5, 3.5, 7.146), (5.5, 5.5, 27.729), (3.5, 5.5, 17.646)],
)
def test_section_of_dressed_lumber(width_in: float, depth_in: float, section_in3: float) -> None:
    # PS 20 sizes: 4 in is 3.5 [S], 6 in is 5.5 [M]. S = b d^2 / 6 [C].
    assert square_section_in3(width_in, depth_in) == pytest.approx(section_in3, abs=5e-4)


@pytest.mark.source("M", "from memory: NDS reference values and factors")
@pytest.mark.parametrize(
    ("strength", "width_in", "stress_psi", "moment_lb_ft"),
    [
        # [C] 1,100 x 1.6 = 1,760: no wet factor, as Fb x CF is not over 1,150 psi. x 7.146 / 12.
        (SOUTHERN_PINE, 3.5, 1760, 1048),
        # [C] 900 x 1.5 x 1.6 x 0.85 = 1,836. x 7.146 / 12 = 1,093.
        (DOUGLAS_FIR, 3.5, 1836, 1093),
        # [C] 850 x 1.6 = 1,360; timbers take no wet factor. x 27.729 / 12 = 3,143.
        (SOUTHERN_PINE_6X6, 5.5, 1360, 3143),
    ],
)
def test_allowable_moment_of_timber_under_wind(
    strength: PostStrength, width_in: float, stress_psi: float, moment_lb_ft: float
) -> None:
    assert timber_bending_psi(strength, width_in=width_in) == pytest.approx(stress_psi)
    assert bearing_of(strength, width_in=width_in).moment_lb_ft == pytest.approx(
        moment_lb_ft, abs=0.6
    )


@pytest.mark.source("M", "from memory: NDS wet service factor, none for timbers of 5x5 and larger")
@pytest.mark.parametrize(("width_in", "stress_psi"), [(3.5, 1632), (4.5, 1920), (5.5, 1920)])
def test_timbers_take_no_wet_factor(width_in: float, stress_psi: float) -> None:
    # [C] Fb 1,200, over 1,150 psi: a 4x4 1,200 x 1.6 x 0.85; a 5x5 and a 6x6 1,200 x 1.6.
    strength = PostStrength(material="timber", bending_psi=1200)
    assert timber_bending_psi(strength, width_in=width_in) == pytest.approx(stress_psi)


@pytest.mark.source("M", "from memory: NDS incising factor")
def test_incised_timber_keeps_four_fifths() -> None:
    # [C] 1,836 x 0.80 = 1,469 psi; the factor [M].
    incised = PostStrength(material="timber", bending_psi=900, size_factor=1.5, is_incised=True)
    assert timber_bending_psi(incised, width_in=3.5) == pytest.approx(1469, abs=0.5)


@pytest.mark.source("M", "from memory: NDS reference values and factors")
@pytest.mark.parametrize(
    ("moment_lb_ft", "width_in", "stress_psi", "is_enough"),
    [
        # [C] The middle post of the wind file, 2,568.9 lb-ft, in a 4x4 and in a 6x6; and the
        # least load of 16 psf, 1,520.6 lb-ft, in a 4x4: code wind rejects customary posts.
        (2568.9, 3.5, 4314, False),
        (2568.9, 5.5, 1112, True),
        (1520.6, 3.5, 2554, False),
    ],
)
def test_fence_posts_in_bending(
    moment_lb_ft: float, width_in: float, stress_psi: float, is_enough: bool
) -> None:
    strength = SOUTHERN_PINE if width_in == 3.5 else SOUTHERN_PINE_6X6
    stress = moment_lb_ft * 12 / square_section_in3(width_in)
    bearing = bearing_of(strength, width_in=width_in)

    assert stress == pytest.approx(stress_psi, abs=1)
    assert bearing.moment_lb_ft is not None
    assert (moment_lb_ft <= bearing.moment_lb_ft) is is_enough


# Outside diameter, wall [M], lb/ft and section modulus [C].
GROUP_IA = [
    (1.315, 0.133, 1.68, 0.133),
    (1.660, 0.140, 2.27, 0.235),
    (1.900, 0.145, 2.72, 0.326),
    (2.375, 0.154, 3.66, 0.561),
    (2.875, 0.203, 5.80, 1.064),
    (3.500, 0.216, 7.58, 1.724),
    (4.000, 0.226, 9.12, 2.394),
    (6.625, 0.280, 18.99, 8.496),
    (8.625, 0.322, 28.58, 16.81),
]
GROUP_IC = [
    (1.315, 0.080, 1.06, 0.090),
    (1.660, 0.111, 1.84, 0.196),
    (1.900, 0.120, 2.28, 0.281),
    (2.375, 0.130, 3.12, 0.488),
    (2.875, 0.160, 4.64, 0.878),
    (3.500, 0.160, 5.71, 1.341),
    (4.000, 0.160, 6.57, 1.782),
]


@pytest.mark.source(
    "M", "from memory: walls of ASTM F1043 groups IA and IC; weight and section computed"
)
@pytest.mark.parametrize(
    ("outside_in", "wall_in", "weight_lb_ft", "section_in3"), [*GROUP_IA, *GROUP_IC]
)
def test_pipe_of_both_groups(
    outside_in: float, wall_in: float, weight_lb_ft: float, section_in3: float
) -> None:
    assert pipe_weight_lb_ft(outside_in, wall_in) == pytest.approx(weight_lb_ft, abs=0.006)
    assert pipe_section_in3(outside_in, wall_in) == pytest.approx(section_in3, rel=2e-3, abs=5e-4)


@pytest.mark.source("T", "ASTM F1083 pipe: printed weights")
@pytest.mark.parametrize(
    ("outside_in", "wall_in", "printed_lb_ft"),
    [
        (2.375, 0.154, 3.65),
        (2.875, 0.203, 5.79),
        (4.000, 0.226, 9.11),
        (6.625, 0.280, 18.97),
        (8.625, 0.322, 28.55),
    ],
)
def test_pipe_weighs_what_the_published_table_prints(
    outside_in: float, wall_in: float, printed_lb_ft: float
) -> None:
    # [P] printed weights of F1083 pipe: the rule of thumb of 10.69 runs 0.1 to 0.3 per cent over.
    assert pipe_weight_lb_ft(outside_in, wall_in) == pytest.approx(printed_lb_ft, rel=3.5e-3)


@pytest.mark.source("M", "from memory: yield of ASTM F1043 group IA")
def test_allowable_moment_of_a_line_post() -> None:
    # [C] 2.375 IA, yield 30 ksi [M]: 0.66 x 30,000 x 0.5606 / 12 = 925; at 0.6 it is 841.
    pipe = PostStrength(material="pipe", wall_in=0.154, yield_psi=30_000)
    moment_lb_ft = bearing_of(pipe, width_in=2.375).moment_lb_ft

    assert moment_lb_ft == pytest.approx(925, abs=0.5)
    assert 0.6 * 30_000 * pipe_section_in3(2.375, 0.154) / 12 == pytest.approx(841, abs=0.5)


@pytest.mark.source("M", "from memory: walls of vinyl posts; ASTM F964 leaves load capacity out")
@pytest.mark.parametrize(
    ("outside_in", "wall_in", "section_in3"),
    [(4.0, 0.130, 2.51), (4.0, 0.150, 2.86), (5.0, 0.135, 4.15), (5.0, 0.150, 4.57)],
)
def test_vinyl_sections_are_known_and_yet_unrated(
    outside_in: float, wall_in: float, section_in3: float
) -> None:
    # [M] walls, [C] sections. F964 leaves load capacity out [S: its scope], so there is no rating.
    assert box_section_in3(outside_in, wall_in) == pytest.approx(section_in3, abs=0.006)
    assert bearing_of(PostStrength(material="vinyl"), width_in=outside_in).moment_lb_ft is None


@pytest.mark.source("C", "section modulus and allowable stress")
def test_only_a_full_depth_stiffener_counts_in_vinyl() -> None:
    # Section modulus 1.2 in3 of 35 ksi: 0.66 x 35,000 x 1.2 / 12 = 2,310 lb-ft, advisory.
    full = PostStrength(
        material="vinyl", insert="full_depth", insert_section_in3=1.2, insert_yield_psi=35_000
    )
    above = PostStrength(
        material="vinyl", insert="above_ground", insert_section_in3=1.2, insert_yield_psi=35_000
    )

    stiffened = bearing_of(full, width_in=5.0)
    assert stiffened.moment_lb_ft == pytest.approx(2310)
    assert stiffened.is_advisory
    assert bearing_of(above, width_in=5.0).moment_lb_ft is None
