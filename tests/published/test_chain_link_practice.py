"""Spacing of chain link posts as its installation practice asks.

Source: ASTM F567 (2007 edition): line posts equally spaced, at most 10 ft centre to centre,
measured along the grade; terminal posts at the ends of a run, at corners, gates and abrupt changes
of line; staked at most 500 ft at a time.
"""

import math
from dataclasses import replace

import pytest

from estimating.engine.layout import Layout, lay_out
from estimating.engine.site import FenceLine, Gate, GroundShot, Leg, LineEnd, Site
from tests.starter_cases import starter_catalog

IN_PER_FT = 12
CHAIN_LINK = ["chain_link_4ft", "chain_link_6ft"]


def run(*feet: float, system: str = "chain_link_4ft", **changes: object) -> Layout:
    legs = tuple(
        Leg(length_in=each * IN_PER_FT, turn_deg=90 if i else 0) for i, each in enumerate(feet)
    )
    line = FenceLine(id="A", name="Run", system=system, legs=legs, **changes)  # type: ignore[arg-type]
    return lay_out(Site(name="Run", lines=(line,)), starter_catalog())


@pytest.mark.source("C", "ASTM F567-07 section 4, line posts")
@pytest.mark.parametrize("system", CHAIN_LINK)
@pytest.mark.parametrize(
    ("feet", "bays"),
    [
        (8, 1),
        (10, 1),
        (10.125, 2),  # an inch and a half over 10 ft
        (36, 4),  # 9.000 ft each
        (25, 3),  # 8.333 ft each
        (100, 10),
        (101, 11),
    ],
)
def test_line_posts_stand_equally_at_most_ten_feet_apart(
    system: str, feet: float, bays: int
) -> None:
    (fence,) = run(feet, system=system).lines
    on_centres = [bay.on_centre_in for bay in fence.bays]
    assert len(on_centres) == bays
    assert max(on_centres) <= 10 * IN_PER_FT
    assert max(on_centres) - min(on_centres) <= 1 / 16
    assert math.isclose(sum(on_centres), feet * IN_PER_FT)


@pytest.mark.source(
    "C", "bays = ceil(length / largest), worked apart; ASTM F567-07 section 4 at 10 ft"
)
@pytest.mark.parametrize(
    ("feet", "largest_ft", "bays", "each_ft"),
    [
        (100, 8, 13, 7.692),  # 100 / 8 = 12.5
        (100, 10, 10, 10.0),
        (73.5, 8, 10, 7.35),  # 9.19
        (8.00, 8, 1, 8.0),
        (8.01, 8, 2, 4.005),  # 1.001
    ],
)
def test_a_run_takes_the_fewest_equal_bays_and_one_post_more(
    feet: float, largest_ft: float, bays: int, each_ft: float
) -> None:
    catalog = starter_catalog()
    system = replace(
        catalog.systems["chain_link_4ft"], max_on_centre_in=largest_ft * IN_PER_FT, min_clear_in=6.0
    )
    line = FenceLine(id="A", name="Run", system=system.key, legs=(Leg(length_in=feet * IN_PER_FT),))
    layout = lay_out(
        Site(name="Run", lines=(line,)), replace(catalog, systems={system.key: system})
    )
    (fence,) = layout.lines

    assert (len(fence.bays), len(fence.posts)) == (bays, bays + 1)
    for bay in fence.bays:
        # On the grid of 1/16 in, 0.005 ft.
        assert bay.on_centre_in / IN_PER_FT == pytest.approx(each_ft, abs=0.0055)


@pytest.mark.source("C", "ASTM F567-07 section 4, along the grade")
def test_spacing_is_measured_along_the_grade() -> None:
    # 100 ft level and 30 ft up: sqrt(100^2 + 30^2) = 104.403 ft along the grade, so 11 bays;
    # by the plan it would be 10.
    shots = (
        GroundShot(station_in=0, elevation_in=0),
        GroundShot(station_in=100 * IN_PER_FT, elevation_in=30 * IN_PER_FT),
    )
    (fence,) = run(100, ground=shots).lines
    assert len(fence.bays) == 11
    assert math.isclose(fence.length_in, 104.403 * IN_PER_FT, abs_tol=1 / 16)
    # In plan each bay is 100 / 11 = 9.091 ft.
    assert math.isclose(fence.posts[1].x_in, 100 / 11 * IN_PER_FT, abs_tol=1 / 16)


@pytest.mark.source("S", "ASTM F567-07 section 4, terminal posts")
def test_terminals_stand_at_ends_corners_and_gates() -> None:
    gate = Gate(id="G1", station_in=120, clear_opening_in=48)
    (fence,) = run(36, 25, gates=(gate,)).lines
    terminals = [post.kind for post in fence.posts if post.kind != "line"]
    assert terminals == ["end", "gate", "gate", "corner", "end"]


@pytest.mark.source("S", "ASTM F567-07 section 4, staking interval")
@pytest.mark.parametrize(("feet", "pull_posts"), [(500, 0), (501, 1), (1000, 1), (1001, 2)])
def test_no_run_goes_over_500_feet_without_a_terminal(feet: float, pull_posts: int) -> None:
    (fence,) = run(feet).lines
    assert sum(post.kind == "pull" for post in fence.posts) == pull_posts
    assert max(section.length_in for section in fence.sections) <= 500 * IN_PER_FT


@pytest.mark.source("N", "common practice, no source")
def test_worked_corner_has_five_line_posts_and_three_terminals() -> None:
    # Worked example of common practice, no source: an L of 36 ft and 25 ft, no gate, level:
    # 4 bays of 9.000 ft and 3 of 8.333 ft; line posts 3 + 2; terminals 3; 8 posts.
    (fence,) = run(36, 25).lines
    assert [section.bays for section in fence.sections] == [4, 3]
    assert sum(post.kind == "line" for post in fence.posts) == 5
    assert sum(post.kind != "line" for post in fence.posts) == 3


@pytest.mark.source("N", "common practice, no source")
def test_house_wall_saves_the_first_post() -> None:
    # Common practice, no source: an end that starts at a wall brings no post of its own.
    wall = LineEnd(kind="wall", measured_at="wall_face")
    assert len(run(40, start=wall).lines[0].posts) == len(run(40).lines[0].posts) - 1
