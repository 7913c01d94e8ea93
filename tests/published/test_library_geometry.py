"""Plan geometry against Shapely: crossings, lengths, areas, places of posts, widths of strips."""

import math
import random
from itertools import combinations

import pytest
from shapely import LineString, Point, Polygon

from estimating.engine.geometry import Segment, meeting_pairs
from estimating.engine.layout import lay_out
from estimating.engine.result import LineLayout
from estimating.engine.site import Conditions, FenceLine, Leg, NoDigStrip, Site
from tests.starter_cases import starter_catalog

pytestmark = pytest.mark.source("L", "Shapely, plane geometry")


def laid_out(*legs: tuple[float, float], **changes: object) -> tuple[LineLayout, set[str]]:
    """Lay out one line of legs given as (length in ft, turn in degrees); return its codes too."""
    line = FenceLine(
        id="A",
        name="",
        system="wood_privacy_side_6ft",
        legs=tuple(Leg(length_in=length * 12.0, turn_deg=turn) for length, turn in legs),
        **changes,  # type: ignore[arg-type]
    )
    layout = lay_out(Site(name="Plan", lines=(line,)), starter_catalog())
    return layout.lines[0], {finding.code for finding in layout.findings}


@pytest.mark.parametrize("seed", range(12))
def test_segments_meet_where_shapely_says_so(seed: int) -> None:
    # Whole inches in a small square, so that touching and overlapping happen often.
    chance = random.Random(seed)  # noqa: S311 - samples, not secrets
    segments: list[Segment] = []
    while len(segments) < 40:
        ends = [(float(chance.randint(0, 14)), float(chance.randint(0, 14))) for _ in range(2)]
        if ends[0] != ends[1]:
            segments.append((ends[0], ends[1]))
    expected = {
        (i, j)
        for (i, a), (j, b) in combinations(enumerate(segments), 2)
        if LineString(a).intersects(LineString(b))
    }

    assert expected
    assert set(meeting_pairs(segments)) == expected


@pytest.mark.parametrize("seed", range(30))
def test_a_line_crosses_itself_where_shapely_finds_it_not_simple(seed: int) -> None:
    chance = random.Random(seed)  # noqa: S311
    turns = (60, -60, 90, -90, 120, -120)
    legs = [(float(chance.randint(10, 60)), float(chance.choice(turns))) for _ in range(6)]
    line, codes = laid_out(*legs)

    assert ("line-crosses-itself" in codes) is not LineString(line.plan_points).is_simple


def test_samples_of_crossing_lines_hold_both_kinds() -> None:
    crossing = laid_out((40, 0), (30, 90), (20, 90), (60, 90))[0]
    plain = laid_out((40, 0), (30, 90), (20, 90))[0]
    assert not LineString(crossing.plan_points).is_simple
    assert LineString(plain.plan_points).is_simple


@pytest.mark.parametrize(
    "legs",
    [
        ((50.0, 0.0),),
        ((36.0, 0.0), (25.0, 90.0)),
        ((31.5, 0.0), (44.25, -37.0), (18.0, 101.0), (27.0, 12.5)),
    ],
)
def test_length_of_a_line_and_places_of_its_posts(legs: tuple[tuple[float, float], ...]) -> None:
    line, _ = laid_out(*legs)
    course = LineString(line.plan_points)

    assert course.length == pytest.approx(line.length_in, abs=1e-6)
    assert course.length == pytest.approx(12 * sum(length for length, _ in legs), abs=1e-6)
    for post in line.posts:
        assert course.distance(Point(post.x_in, post.y_in)) < 1e-6
        assert course.project(Point(post.x_in, post.y_in)) == pytest.approx(
            post.station_in, abs=1e-6
        )


@pytest.mark.parametrize(
    ("legs", "ft2"),
    [
        # 40 x 30 ft.
        (((40.0, 0.0), (30.0, 90.0), (40.0, 90.0), (30.0, 90.0)), 1200.0),
        # Right triangle of 30, 40 and 50 ft; turns of 90 and 180 - atan(3/4).
        (((40.0, 0.0), (30.0, 90.0), (50.0, 180 - math.degrees(math.atan(4 / 3)))), 600.0),
    ],
)
def test_area_of_a_closed_line(legs: tuple[tuple[float, float], ...], ft2: float) -> None:
    line, codes = laid_out(*legs, closed=True)

    assert "line-does-not-close" not in codes
    assert Polygon(line.plan_points).area / 144 == pytest.approx(ft2, rel=2e-4)
    assert Polygon([(post.x_in, post.y_in) for post in line.posts]).area / 144 == pytest.approx(
        ft2, rel=2e-4
    )


@pytest.mark.parametrize("crossing_deg", [90.0, 60.0, 45.0, 20.0, 135.0])
@pytest.mark.parametrize(("width_in", "tolerance_in"), [(4.0, 18.0), (12.0, 24.0), (0.0, 30.0)])
def test_posts_are_dug_by_hand_where_their_hole_meets_the_widened_strip(
    crossing_deg: float, width_in: float, tolerance_in: float
) -> None:
    """The strip as Shapely draws it, a pipe with its tolerance, and the hole as a disc of 12 in.

    The pipe crosses at each inch in turn, so that the first post stands at every distance from it.
    """
    conditions = Conditions(hand_dig_tolerance_in=tolerance_in)
    slant = math.radians(crossing_deg)
    far_x, far_y = 5000 * math.cos(slant), 5000 * math.sin(slant)
    hole = Point(0, 0).buffer(6.0, quad_segs=256)
    seen = set()
    for station_in in range(20, 130):
        mark = NoDigStrip(
            station_in=float(station_in),
            facility_width_in=width_in,
            crossing_deg=crossing_deg,
            hand_dig=True,
        )
        line = FenceLine(
            id="A",
            name="",
            system="wood_privacy_side_6ft",
            legs=(Leg(length_in=480.0),),
            no_dig=(mark,),
        )
        layout = lay_out(Site(name="Plan", lines=(line,), conditions=conditions), starter_catalog())
        pipe = LineString([(station_in - far_x, -far_y), (station_in + far_x, far_y)])
        strip = pipe.buffer(width_in / 2 + tolerance_in, cap_style="flat")
        depth_in = 6.0 - strip.distance(Point(0, 0))  # how far the disc reaches in
        if abs(depth_in) < 0.01:
            continue  # it just touches: the disc's corners decide
        meets = strip.intersects(hole)
        seen.add(meets)
        assert layout.lines[0].posts[0].hand_dig is meets, station_in
    assert seen == {True, False}
