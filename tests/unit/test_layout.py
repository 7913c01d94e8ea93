"""Lines laid out by hand: posts, bays, spacers, routing and numbers. Geometry and common practice.

Sources: common practice (terminals end sections; posts = bays + 1 on an open line, bays on a
closed one; spacer = on-centre less half of each neighbour), no single source. Figures are worked
in the comments.
"""

from dataclasses import replace

import pytest

from estimating.engine.errors import EngineError
from estimating.engine.result import LineLayout
from estimating.engine.site import GroundShot, Leg, LineEnd, NoDigStrip
from tests.unit.layout_samples import (
    FABRIC,
    PANEL,
    codes,
    gate,
    laid_out,
    legs,
    line,
    only_line,
    shared,
)


def stations(layout: LineLayout) -> list[float]:
    return [post.station_in for post in layout.posts]


def kinds(layout: LineLayout) -> list[str]:
    return [post.kind for post in layout.posts]


def routings(layout: LineLayout) -> list[str]:
    return [post.routing for post in layout.posts]


def test_straight_line_is_divided_equally() -> None:
    # 50-0 = 600 in; 600/96 = 6.25, so 7 bays and 8 posts; 600/7 = 85.714 in = 1371.4 sixteenths,
    # so bays are of 1371 or 1372: 7 x 1371 = 9597, 3 short of 9600: three bays are the longer.
    fence = only_line(laid_out(line(600)))
    lengths = [bay.on_centre_in for bay in fence.bays]
    assert len(fence.posts) == 8
    assert sorted(lengths) == [85.6875] * 4 + [85.75] * 3
    assert sum(lengths) == 600
    assert kinds(fence) == ["end", *["line"] * 6, "end"]
    assert routings(fence) == ["end", *["line"] * 6, "end"]
    assert fence.fence_ft == 50


def test_an_inch_over_three_bays_costs_a_post() -> None:
    # 288 = 3 x 96; 289 takes 4 bays.
    assert len(only_line(laid_out(line(288))).posts) == 4
    assert len(only_line(laid_out(line(289))).posts) == 5


def test_full_bays_come_before_one_short_one() -> None:
    # 250 = 96 + 96 + 58.
    fence = only_line(laid_out(line(250, system="full_and_short")))
    assert [bay.on_centre_in for bay in fence.bays] == [96, 96, 58]
    assert [bay.is_cut for bay in fence.bays] == [False, False, True]


def test_spacer_beside_a_fatter_gate_post_takes_half_of_each() -> None:
    # Near face at 195: the gate post's centre 3 in before it at 192; two bays of 96.
    # Between 5 in posts 96 - 5 = 91; beside the 6 in gate post 96 - 2.5 - 3 = 90.5.
    fence = only_line(laid_out(line(480, gates=(gate(195),))))
    first, second = fence.bays[:2]
    assert (first.spacer_in, second.spacer_in) == (91, 90.5)
    assert (first.is_cut, second.is_cut) == (False, True)
    assert (first.panel_in, second.panel_in) == (94, 93.5)  # + 1.5 in into each post


def test_gate_parts_the_line_into_two_sections() -> None:
    # Opening 195 to 243; posts' centres 192 and 246; on centre 48 + 3 + 3 = 54.
    # Sections 0 to 192 (2 bays) and 246 to 480 = 234 in (3 bays of 78).
    fence = only_line(laid_out(line(480, gates=(gate(195),))))
    (hung,) = fence.gates
    assert stations(fence) == [0, 96, 192, 246, 324, 402, 480]
    assert (hung.from_post, hung.to_post, hung.on_centre_in) == (3, 4, 54)
    assert hung.leaf_in == 46  # 48 less 1 in at the hinge and 1 in at the latch
    assert [(s.length_in, s.bays, s.from_kind, s.to_kind) for s in fence.sections] == [
        (192, 2, "end", "gate"),
        (234, 3, "gate", "end"),
    ]
    assert fence.fence_ft == 35.5  # (192 + 234) / 12
    assert [post.routing for post in fence.posts if post.kind == "gate"] == ["end", "end"]


def test_a_pair_of_leaves_shares_what_the_gaps_leave() -> None:
    # 120 - 2 x 1 at the hinges - 1 in the middle = 117; 58.5 each.
    pair = gate(195, 120, leaves=2, hinge_side="both")
    assert only_line(laid_out(line(480, gates=(pair,)))).gates[0].leaf_in == 58.5


def test_two_gates_share_the_post_between_them() -> None:
    # First opening 195 to 243; post of 6 in; second opening from 249 to 297.
    # No fence meets the post between them.
    gates = (gate(195), gate(249, id="G2"))
    fence = only_line(laid_out(line(600, gates=gates)))
    first, second = fence.gates
    assert first.to_post == second.from_post
    between = fence.posts[first.to_post - 1]
    assert (between.station_in, between.kind, between.routing) == (246, "gate", "blank")


def test_gate_that_meets_the_end_hangs_on_its_post() -> None:
    # The end post becomes a gate post of 6 in; its face is at 3.
    fence = only_line(laid_out(line(300, gates=(gate(3),))))
    assert stations(fence) == [0, 54, 136, 218, 300]  # 246 in left: 3 bays of 82
    assert kinds(fence)[:2] == ["gate", "gate"]
    assert routings(fence)[:2] == ["blank", "end"]


def test_gate_that_meets_a_corner_hangs_on_the_corner_post() -> None:
    # Corner at 240: its gate post's face at 237, so the 48 in opening starts at 189.
    fence = only_line(laid_out(line(240, 192, gates=(gate(189),))))
    corner = next(post for post in fence.posts if post.station_in == 240)
    assert (corner.kind, corner.routing) == ("gate", "end")
    assert fence.gates[0].to_post == corner.number


def test_corner_post_counts_once_and_is_routed_for_adjacent_faces() -> None:
    # 192 + 96: 2 bays and 1 bay, 3 + 2 - 1 = 4 posts.
    fence = only_line(laid_out(line(192, 96)))
    assert kinds(fence) == ["end", "line", "corner", "end"]
    assert routings(fence)[2] == "corner"
    # East 192 in, then a right turn: south 96 in.
    assert (fence.posts[-1].x_in, fence.posts[-1].y_in) == (192, -96)


def test_a_slight_turn_takes_a_line_post_in_the_same_section() -> None:
    # 4 degrees is under the system's 5; 100 in takes 2 bays, and so does the second leg.
    fence = only_line(laid_out(line(100, 100, legs=legs(100, 100, turn_deg=4))))
    assert stations(fence) == [0, 50, 100, 150, 200]
    assert kinds(fence)[2] == "line"
    assert len(fence.sections) == 1
    assert routings(fence)[2] == "line"


def test_a_leg_that_goes_straight_on_sets_no_post() -> None:
    # 100 + 92 in without a turn are one stretch of 192: two bays of 96.
    fence = only_line(laid_out(line(100, 92, legs=legs(100, 92, turn_deg=0))))
    assert stations(fence) == [0, 96, 192]


def test_closed_line_has_as_many_posts_as_bays() -> None:
    # 4 legs of 192: 8 bays, 8 posts; the last bay ends at post 1.
    fence = only_line(laid_out(line(192, 192, 192, 192, closed=True)))
    assert len(fence.bays) == len(fence.posts) == 8
    assert fence.bays[-1].to_post == 1
    assert kinds(fence)[0] == "corner"
    assert routings(fence)[0] == "corner"


def test_wall_start_brings_no_post_and_a_wider_spacer() -> None:
    # From the wall's face 192 in to the end post's centre: two bays of 96, two posts.
    # First spacer 96 - 2.5 = 93.5; second 96 - 5 = 91.
    wall = LineEnd(kind="wall", measured_at="wall_face")
    layout = laid_out(line(192, start=wall))
    fence = only_line(layout)
    assert stations(fence) == [96, 192]
    assert [bay.spacer_in for bay in fence.bays] == [93.5, 91]
    assert fence.bays[0].from_post == 0
    assert fence.sections[0].from_kind == "wall"
    # A full panel is 91 clear, so 93.5 is wider than one.
    assert "bay-wider-than-panel" in codes(layout)


def test_gate_beside_a_wall_gets_a_post_against_it() -> None:
    # The gate post of 6 in stands 0 to 6, so the opening starts at 6.
    wall = LineEnd(kind="wall", measured_at="wall_face")
    fence = only_line(laid_out(line(252, start=wall, gates=(gate(6),))))
    assert stations(fence)[:2] == [3, 57]
    assert routings(fence)[0] == "blank"
    assert [(s.from_kind, s.start_station_in) for s in fence.sections] == [("gate", 57)]


@pytest.mark.parametrize(
    ("measured_at", "first", "length_in"),
    [
        ("post_centre", 0, 200),
        ("inner_face", -2.5, 202.5),  # the centre stands half a post outside the tape's point
        ("outer_face", 2.5, 197.5),
        ("wall_face", 2.5, 197.5),  # the post stands against the wall
    ],
)
def test_tape_held_to_a_face_moves_the_post(
    measured_at: str, first: float, length_in: float
) -> None:
    start = LineEnd(measured_at=measured_at)  # type: ignore[arg-type]
    fence = only_line(laid_out(line(200, start=start)))
    assert fence.posts[0].station_in == first
    assert fence.length_in == length_in
    assert fence.posts[0].x_in == first  # due east from 0


def test_existing_post_brings_no_post_but_has_a_width() -> None:
    fence = only_line(laid_out(line(192, start=LineEnd(kind="existing_post"))))
    assert stations(fence) == [96, 192]
    assert [bay.spacer_in for bay in fence.bays] == [91, 91]


@pytest.mark.parametrize(
    ("shared_at", "bearing_deg", "kind", "routing"),
    [
        ("corner 1", 90, "corner", "three_way"),  # a third direction at a corner
        ("end", 90, "corner", "corner"),  # the owner's last leg runs south; this one east
        ("end", 180, "line", "line"),  # straight on to the south
        ("start", 0, "corner", "corner"),
    ],
)
def test_shared_post_is_counted_once_and_routed_for_both_lines(
    shared_at: str, bearing_deg: float, kind: str, routing: str
) -> None:
    owner = line(192, 192)
    joining = line(192, id="B", start=shared("A", shared_at), bearing_deg=bearing_deg)
    layout = laid_out(owner, joining)
    first, second = layout.lines
    assert (len(first.posts), len(second.posts)) == (5, 2)
    assert [post.number for post in second.posts] == [6, 7]
    met = next(post for post in first.posts if post.shared_with == "B")
    assert (met.kind, met.routing) == (kind, routing)
    assert second.bays[0].from_post == met.number
    assert second.plan_points[0] == (met.x_in, met.y_in)
    assert not codes(layout) & {"lines-cross", "shared-post-missing", "shared-post-apart"}


def test_a_line_may_share_a_post_that_is_set_by_a_later_line() -> None:
    # A ends at 192 east; B starts there and runs south; A shares B's start.
    first = line(192, end=shared("B", "start"))
    later = line(96, id="B", start_x_in=192, bearing_deg=180)
    layout = laid_out(first, later)
    assert len(layout.lines[0].posts) == 2  # the start and one line post
    assert layout.lines[0].bays[-1].to_post == 3
    assert layout.lines[1].posts[0].routing == "corner"


def test_two_lines_that_share_each_others_post_get_a_finding() -> None:
    layout = laid_out(
        line(192, end=shared("B", "start")),
        line(192, id="B", start=shared("A", "end"), start_x_in=192),
    )
    assert "shared-post-missing" in codes(layout)


def test_a_rail_goes_into_a_post_but_into_no_wall() -> None:
    fence = only_line(laid_out(line(192, start=LineEnd(kind="wall", measured_at="wall_face"))))
    first, second = fence.bays
    # 96 from the wall's face less half a post is 93.5 clear, and 1.5 into the post; then 91 + 3.
    assert (first.spacer_in, first.panel_in) == (93.5, 95)
    assert (second.spacer_in, second.panel_in) == (91, 94)


def test_fabric_that_joins_a_panel_post_asks_for_no_routed_face() -> None:
    joining = line(120, id="B", system="fabric", start=shared("A", "corner 1"), bearing_deg=90)
    layout = laid_out(line(192, 192), joining)
    met = next(post for post in layout.lines[0].posts if post.shared_with == "B")

    assert (met.kind, met.routing) == ("corner", "corner")


def test_junction_in_a_straight_run_is_a_three_way_post() -> None:
    # Two legs of 192 straight on; B leaves from their joint to the south.
    owner = line(192, 192, legs=legs(192, 192, turn_deg=0))
    branch = line(96, id="B", start=shared("A", "corner 1"), bearing_deg=180)
    first = laid_out(owner, branch).lines[0]
    met = first.posts[2]
    assert (met.station_in, met.routing) == (192, "three_way")
    assert len(first.sections) == 2


def test_posts_are_numbered_across_the_lines_of_a_site() -> None:
    layout = laid_out(line(192), line(192, id="B", start_y_in=600))
    numbers = [post.number for each in layout.lines for post in each.posts]
    assert numbers == [1, 2, 3, 4, 5, 6]


def test_removal_has_a_length_and_nothing_else() -> None:
    fence = only_line(laid_out(line(480, scope="removal")))
    assert fence.fence_ft == 40
    assert not fence.posts
    assert not fence.bays


def test_chain_link_needs_a_pull_post_over_500_ft() -> None:
    # 6,001 in is over 6,000, so two sections of 3000.5 in; each takes ceil(3000.5/120) = 26 bays.
    fence = only_line(laid_out(line(6001, system="fabric")))
    assert [post.station_in for post in fence.posts if post.kind == "pull"] == [3000.5]
    assert [section.bays for section in fence.sections] == [26, 26]
    assert {post.routing for post in fence.posts} == {"none"}


def test_panels_on_a_hill_are_spaced_by_the_level_distance() -> None:
    # 500 in on the tape, rising 300: level sqrt(500^2 - 300^2) = 400 in, so 5 bays of 80.
    shots = (GroundShot(station_in=0, elevation_in=0), GroundShot(station_in=500, elevation_in=300))
    fence = only_line(laid_out(line(500, taped="along_grade", ground=shots)))
    assert fence.length_in == 400
    assert [bay.on_centre_in for bay in fence.bays] == [80] * 5
    assert fence.posts[-1].elevation_in == 300
    assert fence.posts[1].elevation_in == 60  # a fifth of the way


def test_fabric_taped_level_is_spaced_along_the_grade() -> None:
    # Level 400 in with a rise of 300 is 500 in along the grade: 5 bays of 100; in plan 80 each.
    shots = (GroundShot(station_in=0, elevation_in=0), GroundShot(station_in=400, elevation_in=300))
    fence = only_line(laid_out(line(400, system="fabric", ground=shots)))
    assert fence.length_in == 500
    assert [bay.on_centre_in for bay in fence.bays] == [100] * 5
    assert [round(post.x_in, 6) for post in fence.posts] == [0, 80, 160, 240, 320, 400]


def test_hole_that_reaches_into_the_tolerance_zone_is_dug_by_hand() -> None:
    # Holes 3 x 5 = 15 in wide, radius 7.5. Mark at 130, 6 in wide, tolerance 18: zone 21 a side.
    # Post at 96: 34 - 7.5 = 26.5 from the centre, outside. Post at 144, 14 - 7.5 = 6.5: inside, and
    # beyond the mark's own half of 3.
    strip = NoDigStrip(station_in=130, facility_width_in=6, utility="water", hand_dig=True)
    layout = laid_out(
        line(240, system="narrow", no_dig=(strip,)),
        systems=(replace(PANEL, key="narrow", max_on_centre_in=48),),
        hand_dig_tolerance_in=18,
    )
    fence = only_line(layout)
    assert [post.station_in for post in fence.posts if post.hand_dig] == [144]
    (found,) = [each for each in layout.findings if each.code == "post-in-tolerance-zone"]
    assert (found.severity, found.figure[:8], found.limit[:5]) == ("note", "6-1/2 in", "21 in")


def test_unknown_fence_system_is_named_with_a_near_match() -> None:
    layout = laid_out(line(100), line(100, id="B", system="fabrik"))
    (found,) = [each for each in layout.findings if each.code == "line-without-system"]

    assert [each.line_id for each in layout.lines] == ["A"]
    assert (found.severity, found.place) == ("stop", "line B")
    assert "Did you mean 'fabric'" in found.message


def test_a_site_of_unknown_fence_systems_alone_is_refused() -> None:
    with pytest.raises(EngineError, match="no fence system 'bamboo'") as refusal:
        laid_out(line(100, system="bamboo"), line(100, id="B", system="fabrik"))
    assert refusal.value.field == "lines[0].system"


def test_fabric_posts_fall_back_to_the_end_post() -> None:
    fence = only_line(laid_out(line(240, 120, system="fabric")))
    corner = next(post for post in fence.posts if post.kind == "corner")
    assert (corner.product, corner.width_in) == ("end_pipe", 2.375)
    assert FABRIC.posts.keys() == {"line", "end"}


def test_points_off_the_grid_are_rounded_to_sixteenths() -> None:
    fence = only_line(laid_out(line(100.03, legs=(Leg(length_in=100.03),))))
    assert fence.length_in == 100  # 1600.48 sixteenths


def test_leg_shorter_than_half_a_post_still_lays_out() -> None:
    # Held to the outer face, the end post's centre is 2.5 in along; the corner at 1 lies behind it.
    start = LineEnd(measured_at="outer_face")
    layout = laid_out(line(start=start, legs=legs(1, 192)))
    fence = only_line(layout)
    assert "leg-shorter-than-post" in codes(layout)
    assert stations(fence) == [2.5, 97.75, 193]  # 190.5 in: two bays of 95.25
    assert kinds(fence) == ["end", "line", "end"]
