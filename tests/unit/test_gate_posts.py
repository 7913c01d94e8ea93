"""Gate posts by leaf: which is taken, why, what two gates share, and what wind judges of them."""

from dataclasses import replace

import pytest

from estimating.engine.catalog import FenceSystem, GatePost
from estimating.engine.footing_check import check_footings
from estimating.engine.footings import dig
from estimating.engine.layout import Layout, lay_out
from estimating.engine.leaves import hinges_on, posts_beside
from estimating.engine.post_strength import PostStrength
from estimating.engine.site import Conditions, Gate, Site
from tests import engine_cases
from tests.starter_cases import estimate_line, fence_line, starter_catalog
from tests.unit import layout_samples
from tests.unit.layout_samples import PANEL, line

# Usual gate posts of 6 in to leaves of 48 in; 8 in to 72, 10 in to 96.
HEAVY = tuple(
    GatePost(key=key, post=layout_samples.post(key, width_in), up_to_leaf_in=up_to_in)
    for key, width_in, up_to_in in (("eight", 8, 72.0), ("ten", 10, 96.0))
)
STEPPED: FenceSystem = replace(
    PANEL,
    gate=replace(PANEL.gate, usual_post_up_to_leaf_in=48.0, heavier_posts=HEAVY),
)


def gate(station_in: float, opening_in: float, name: str = "G1", **changes: object) -> Gate:
    return replace(
        Gate(id=name, station_in=station_in, clear_opening_in=opening_in),
        **changes,  # type: ignore[arg-type]  # fields of a gate
    )


def laid_out(*gates: Gate, length_in: float = 960.0) -> Layout:
    fence = line(length_in, gates=gates)
    return lay_out(Site(name="Made up", lines=(fence,)), layout_samples.catalog(STEPPED))


@pytest.mark.parametrize(
    ("opening_in", "size"),
    # A leaf is its opening less 1 in and 1 in.
    [(50.0, ""), (50.0625, "eight"), (74.0, "eight"), (75.0, "ten"), (98.0, "ten")],
)
def test_the_first_post_that_is_enough_is_taken(opening_in: float, size: str) -> None:
    beside = posts_beside(STEPPED, gate(100.0, opening_in))

    assert (beside.near, beside.far, beside.is_enough) == (size, "", True)


def test_beyond_the_last_the_strongest_stands_and_a_finding_says_so() -> None:
    layout = laid_out(gate(300.0, 98.5))
    found = next(f for f in layout.findings if f.code == "gate-post-not-strong-enough")

    assert layout.lines[0].gates[0].is_post_enough is False
    assert (found.severity, found.limit) == ("warn", "96 in wide")
    assert found.figure.startswith("96-1/2 in wide")
    assert [p.size for p in layout.lines[0].posts if p.kind == "gate"] == ["ten", ""]


def test_the_choice_is_explained() -> None:
    (hung,) = laid_out(gate(300.0, 60.0)).lines[0].gates
    told = {step.rule: step.inputs for step in hung.trace}

    assert told["leaf"] == "60 in - 1 in hinge - 1 in latch = 58 in"
    assert told["near hinge post: eight"] == "leaf 58 in wide, 0 lb; good for a leaf to 72 in wide"


def test_weight_counts_as_well_as_width() -> None:
    # Wood: 4 lb/ft2 x 6 ft: 160 lb are 80 in wide; board on board 5 lb/ft2, 64 in.
    systems = starter_catalog().systems
    opening_in = 66.0 + 1.25

    assert posts_beside(systems["wood_privacy_side_6ft"], gate(0.0, opening_in)).near == ""
    assert posts_beside(systems["wood_privacy_lapped_6ft"], gate(0.0, opening_in)).near == (
        "timber_8x8"
    )


def test_posts_stand_by_their_own_halves() -> None:
    # Opening 300 to 360: the hinge post 8 in wide, the latch post 6.
    (fence,) = laid_out(gate(300.0, 60.0)).lines
    near, far = (post for post in fence.posts if post.kind == "gate")

    assert (near.station_in, far.station_in) == (296.0, 363.0)
    assert fence.gates[0].on_centre_in == 67.0
    # The bays beside them are clear from face to face.
    before = next(bay for bay in fence.bays if bay.to_post == near.number)
    assert before.spacer_in == before.on_centre_in - 2.5 - 4.0


def test_two_gates_share_the_stronger_post() -> None:
    # A leaf of 46 and one of 70 that hinges on the post between them: it must be the 8 in one.
    # First opening 300 to 348; the second begins 8 in further, at 356.
    first = gate(300.0, 48.0, "G1")
    second = gate(356.0, 72.0, "G2")
    (fence,) = laid_out(first, second).lines
    shared = next(post for post in fence.posts if post.station_in == 352.0)

    assert [each.id for each in fence.gates] == ["G1", "G2"]
    assert (shared.size, shared.width_in) == ("eight", 8.0)
    assert fence.gates[0].to_post == fence.gates[1].from_post == shared.number
    assert fence.gates[0].station_in == 300.0
    assert fence.gates[1].station_in == 356.0


def test_openings_nearer_than_the_heavier_post_overlap() -> None:
    # Only 7 in between the openings: no room for the 8 in post.
    layout = laid_out(gate(300.0, 48.0, "G1"), gate(355.0, 72.0, "G2"))

    assert "gates-overlap" in {f.code for f in layout.findings}


def test_a_gate_at_the_end_of_a_line_stands_beside_its_heavier_post() -> None:
    # The end post itself is the hinge post: 8 in, so the opening begins 4 in from its middle.
    (fence,) = laid_out(gate(4.0, 60.0)).lines

    assert (fence.posts[0].kind, fence.posts[0].size) == ("gate", "eight")
    assert fence.gates[0].station_in == 4.0


@pytest.mark.parametrize(
    ("width_in", "hinges"),
    # Vinyl, 6 ft: no taller than 72 in; over 60 in wide three; 3 lb/ft2 x 6 ft x 5 ft are 90 lb.
    [(46.0, 2), (60.0, 2), (60.5, 3)],
)
def test_hinges_of_a_leaf(width_in: float, hinges: int) -> None:
    assert hinges_on(starter_catalog().systems["vinyl_privacy_6ft"], width_in) == hinges


def test_a_leaf_that_is_all_gap_is_stopped() -> None:
    pair = gate(240.0, 100.0, leaves=2, hinge_side="both", first_leaf_in=97.0)
    result = estimate_line(fence_line("vinyl_privacy_6ft", [60.0], gates=(pair,)))

    # 100 - 3 = 97, all of it the first leaf.
    assert "gate-without-leaf" in {f.code for f in result.findings if f.severity == "stop"}


def test_wind_judges_the_heavier_post_by_its_own_hole_and_strength() -> None:
    # Steel tube in vinyl, 4 x 4 x 3/16: 3.472 in3 x 0.66 x 46,000 / 12 = 8,784 lb-ft.
    # Far leaf 96 in: 3 lb/ft2 x 8 ft x 6 ft = 144 lb at 4 ft, 576 lb-ft; near 48 in: 72 lb at 2 ft.
    pair = gate(150.0, 147.0, leaves=2, hinge_side="both", first_leaf_in=48.0)
    conditions = Conditions(wind_speed_mph=115.0, exposure="C")
    site = Site(
        name="Made up",
        lines=(fence_line("vinyl_privacy_6ft", [40.0], gates=(pair,)),),
        conditions=conditions,
    )
    catalog = starter_catalog()
    lines = lay_out(site, catalog).lines
    checks = check_footings(lines, dig(lines, catalog, conditions).holes, catalog, conditions)
    near, far = (each for each in checks.posts if each.kind == "gate")

    assert (near.leaf_lb_ft, far.leaf_lb_ft) == pytest.approx((144.0, 576.0))
    assert near.bending == "unrated"  # vinyl alone
    assert far.used_pct == pytest.approx(100 * far.moment_lb_ft / 8784.2, rel=1e-3)
    # 42 in of hole, concrete to 3 in under the grass.
    assert far.depth_in == 39.0


def test_a_slide_gate_s_posts_are_left_to_its_maker() -> None:
    slide = gate(400.0, 144.0, kind="slide")
    conditions = Conditions(wind_speed_mph=115.0, exposure="C")
    site = Site(
        name="Made up",
        lines=(fence_line("chain_link_6ft", [80.0], gates=(slide,)),),
        conditions=conditions,
    )
    catalog = starter_catalog()
    lines = lay_out(site, catalog).lines
    checks = check_footings(lines, dig(lines, catalog, conditions).holes, catalog, conditions)
    gate_posts = [each for each in checks.posts if each.kind == "gate"]

    assert [each.verdict for each in gate_posts] == ["outside"] * 3
    assert all("maker" in each.reason for each in gate_posts)


def test_square_tube_bears_by_its_box() -> None:
    # 2 in x 0.065: (2^4 - 1.87^4) / 12 = 0.3143 in3 x 0.66 x 45,000 / 12 = 777.9 lb-ft.
    fence = replace(
        engine_cases.WOOD,
        wind=starter_catalog().systems["steel_panel_4ft"].wind,
    )
    assert fence.wind is not None
    assert fence.wind.posts["end"] == PostStrength(
        material="tube", wall_in=0.065, yield_psi=45000.0
    )
