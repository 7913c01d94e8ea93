"""What a crew builds from: the layout as it was sold or marked, with the figures at each post."""

from decimal import Decimal
from typing import Any

import pytest
from pytest_django import DjangoAssertNumQueries

from estimating.models import GroundChange, Proposal
from estimating.selectors.build_sheets import BuildSheet, StringSetting, build_sheet
from tests.factories import NOW, make_estimate, make_firm
from tests.sheet_cast import fence_document, fence_line, make_laid_out_estimate
from tests.sheet_cast import make_laid_out_proposal as sold

pytestmark = pytest.mark.django_db
STRING = StringSetting(side="left", offset_in=0.25, height_in=12.0)


def sheet_of(proposal: Proposal, **changes: Any) -> BuildSheet:
    found = build_sheet(proposal.pk, string=STRING, **changes)
    assert found is not None
    return found


def change_ground(proposal: Proposal, document: Any, version: int = 1) -> GroundChange:
    """Keep a ground change whose result the engine works out from `document`."""
    found = make_laid_out_estimate(document, number=7000 + version)
    return GroundChange.objects.create(
        proposal=proposal,
        version=version,
        document=document,
        result=found.result,
        note="Post 2 moved off a root.",
        made_at=NOW,
    )


def test_level_vinyl_fence_by_hand() -> None:
    # 64 ft at 96 in: 8 bays, 9 posts, spacer 96 - 5 = 91. Frost 36: holes 12 x 36, concrete stops
    # 3 in under the grass: 33 in, pi/4 x 144 x 33 / 1728 = 2.1598 ft3 (wet set: nothing
    # displaced), + 10 %, / 0.60 = 3.9597 bags: 4. All nine: 35.64, so 36 for the job.
    sheet = sheet_of(sold(fence_document(fence_line(768.0))))

    (line,) = sheet.lines
    assert [post.station_in for post in line.posts] == [96.0 * i for i in range(9)]
    assert {bay.spacer_in for bay in line.bays} == {91.0}
    seventh = line.posts[6]
    assert (seventh.hole_diameter_in, seventh.hole_depth_in) == (12.0, 36.0)
    assert (seventh.top_above_string_in, seventh.string_to_bottom_in) == (60.0, 48.0)
    assert (seventh.length_in, seventh.needed_length_in) == (108.0, 108.0)
    assert (seventh.short_in, seventh.spare_in) == (0.0, 0.0)
    assert {post.bags for post in line.posts} == {4.0}
    assert (sheet.bags, sheet.bag_name) == (36, "Concrete mix, 80 lb bag")
    assert (sheet.version, sheet.newest_version, sheet.is_void) == (0, 0, False)
    assert (line.setting, line.concrete_top_in, line.rise_in) == ("wet_set", -3.0, 0.0)
    assert "<svg" in sheet.plan_svg


def test_string_eases_a_small_dip_and_the_post_there_is_longer() -> None:
    # The ground dips 1 in at the middle of 64 ft, evenly from both ends: less than the 1-1/2 in a
    # string may miss it by. At post 5 it is 12 + 1 = 13 over the ground, the hole ends
    # 13 + 36 = 49 under it, and the post needs 60 + 49 = 109: of the lengths there are, 10 ft.
    shots = [(0.0, 0.0), (384.0, -1.0), (768.0, 0.0)]
    ground = [{"station_in": at, "elevation_in": high} for at, high in shots]

    (line,) = sheet_of(sold(fence_document(fence_line(768.0, ground=ground)))).lines

    fifth = line.posts[4]
    assert (fifth.string_over_ground_in, fifth.string_to_bottom_in) == (13.0, 49.0)
    assert (fifth.needed_length_in, fifth.length_in) == (109.0, 120.0)
    assert {post.top_above_string_in for post in line.posts} == {60.0}
    assert line.ties == ()


def test_string_is_tied_down_in_a_deeper_dip() -> None:
    # The ground dips 3 in there: the string is tied at post 5 and runs with the ground again.
    shots = [(0.0, 0.0), (384.0, -3.0), (768.0, 0.0)]
    ground = [{"station_in": at, "elevation_in": high} for at, high in shots]

    (line,) = sheet_of(sold(fence_document(fence_line(768.0, ground=ground)))).lines

    assert line.ties == (5,)
    assert [post.string_over_ground_in for post in line.posts] == pytest.approx([12.0] * 9)
    assert {post.needed_length_in for post in line.posts} == {108.0}
    # 3 in over four bays: 3/4 in a bay, so the tops fall by as much and rise again.
    below = [0.0, 0.75, 1.5, 2.25, 3.0, 2.25, 1.5, 0.75, 0.0]
    assert [post.top_below_first_in for post in line.posts] == pytest.approx(below)


def test_stepped_bays_have_their_steps_and_tops_below_the_first() -> None:
    # 48 ft falling 30 in, every bay pinned to step (trade handbook, section 7): tops 0, 0, 5, 10,
    # 15, 20 and 25 under the first. The string is level, 12 over the ground at post 1, so post 7
    # is 12 + 30 over its own; top above it 60, 60, 55, ... 35; its hole ends 42 + 36 = 78 under.
    ground = [
        {"station_in": 0.0, "elevation_in": 0.0},
        {"station_in": 576.0, "elevation_in": -30.0},
    ]
    pins = [{"station_in": 48.0 + 96.0 * bay, "follows": "stepped"} for bay in range(6)]
    fence = fence_line(576.0, ground=ground, bay_pins=pins)

    (line,) = sheet_of(sold(fence_document(fence))).lines

    tops = [post.top_below_first_in for post in line.posts]
    assert tops == pytest.approx([0.0, 0.0, 5.0, 10.0, 15.0, 20.0, 25.0])
    assert [post.step_in for post in line.posts] == pytest.approx([0.0] + [-5.0] * 5 + [0.0])
    # Each post between: the bay before it 2 + 5 over its ground, the bay after it 2.
    assert line.posts[3].bottoms_in == pytest.approx((7.0, 2.0))
    above = [60.0, 60.0, 55.0, 50.0, 45.0, 40.0, 35.0]
    assert [post.top_above_string_in for post in line.posts] == pytest.approx(above)
    assert line.posts[6].string_to_bottom_in == pytest.approx(78.0)
    assert line.has_level_string
    assert line.ties == ()


def test_level_string_is_hung_anew_where_the_ground_falls_out_of_reach() -> None:
    # 96 ft falling 60 in in steps of 5: 12 over the ground at the top, and at most 60. So 48 in of
    # fall, nine bays; from post 10 on it hangs anew.
    ground = [
        {"station_in": 0.0, "elevation_in": 0.0},
        {"station_in": 1152.0, "elevation_in": -60.0},
    ]
    pins = [{"station_in": 48.0 + 96.0 * bay, "follows": "stepped"} for bay in range(12)]

    (line,) = sheet_of(sold(fence_document(fence_line(1152.0, ground=ground, bay_pins=pins)))).lines

    assert line.ties == (10,)
    assert line.posts[9].string_over_ground_in == pytest.approx(12.0 + 45.0)
    assert line.posts[10].string_over_ground_in == pytest.approx(12.0 + 5.0)


def test_bays_rise_with_the_post_tops() -> None:
    # 48 ft falling 30 in: 6 bays, 5 in each (trade handbook, section 7).
    ground = [
        {"station_in": 0.0, "elevation_in": 0.0},
        {"station_in": 576.0, "elevation_in": -30.0},
    ]

    (line,) = sheet_of(sold(fence_document(fence_line(576.0, ground=ground)))).lines

    assert line.rise_in == -30.0
    assert [bay.rise_in for bay in line.bays] == pytest.approx([-5.0] * 6)
    assert line.max_rack_in == 6.0


def test_gate_has_its_hardwares_gaps_and_its_posts_a_stiffener() -> None:
    gate = {"id": "G1", "station_in": 192.0, "clear_opening_in": 48.0, "latch": "keyed"}
    sheet = sheet_of(sold(fence_document(fence_line(768.0, gates=[gate]))))

    (line,) = sheet.lines
    (hung,) = line.gates
    # Opening 48, gaps 1 + 1: leaf 46.
    assert (hung.clear_opening_in, hung.leaf_in) == (48.0, 46.0)
    assert (hung.hinge_gap_in, hung.latch_gap_in) == (1.0, 1.0)
    beside = {post.number for post in line.posts if post.kind == "gate"}
    assert {hung.from_post, hung.to_post} == beside
    assert {post.number for post in line.posts if post.stiffener == "full depth"} == beside
    assert {post.number for post in line.posts if post.brace} == beside | {1, len(line.posts)}
    # Gate holes are 6 in deeper, 42; the 10 ft post needs 72 + 42 = 114: 6 in to spare.
    gate_posts = [post for post in line.posts if post.kind == "gate"]
    assert {(post.hole_depth_in, post.spare_in) for post in gate_posts} == {(42.0, 6.0)}


def test_chain_link_terminals_stand_over_the_fabric_and_line_posts_under_its_top() -> None:
    # 48 in: terminals 50, line posts 46 over the ground; string 12: 38 and 34 above it.
    (line,) = sheet_of(sold(fence_document(fence_line(480.0, system="chain_link_4ft")))).lines

    tops = {post.kind: post.top_above_string_in for post in line.posts}
    assert tops == {"end": 38.0, "line": 34.0}
    assert {post.is_round for post in line.posts} == {True}
    assert {post.stiffener for post in line.posts} == {""}
    assert {post.brace for post in line.posts} == {"two ways"}


def test_line_from_another_lines_post_ties_its_string_there() -> None:
    # Line B leaves A's end post southwards; on its own datum the ground falls 8 in over 384 in.
    other = {
        "id": "B",
        "name": "Side",
        "system": "vinyl_privacy_6ft",
        "legs": [{"length_in": 384.0}],
        "start": {"kind": "shared_post", "shared_line": "A", "shared_at": "end"},
        "bearing_deg": 180.0,
        "ground": [
            {"station_in": 0.0, "elevation_in": 100.0},
            {"station_in": 384.0, "elevation_in": 92.0},
        ],
    }
    lines = sheet_of(sold(fence_document(fence_line(384.0), other))).lines

    assert [post.number for post in lines[1].posts] == [6, 7, 8, 9]
    assert [post.string_over_ground_in for post in lines[1].posts] == pytest.approx([12.0] * 4)


def test_marks_and_cuts_are_those_of_the_site() -> None:
    strip = {"station_in": 200.0, "facility_width_in": 6.0, "utility": "gas", "hand_dig": True}
    sheet = sheet_of(sold(fence_document(fence_line(700.0, no_dig=[strip]))))

    (mark,) = sheet.marks
    assert (mark.line_id, mark.station_in, mark.utility, mark.width_in) == ("A", 200.0, "gas", 6.0)
    assert [post.number for post in sheet.lines[0].posts if post.hand_dig] == [3]
    # 700 in are 8 bays of 87-1/2: rails are cut to 87-1/2 - 5 + 2 x 1-1/2 = 85-1/2.
    assert {cut.length_in for cut in sheet.cuts if "rail" in cut.item_name.lower()} == {85.5}


def test_newest_version_counts_and_older_ones_are_void() -> None:
    proposal = sold(fence_document(fence_line(768.0)))
    change_ground(proposal, fence_document(fence_line(864.0)))

    newest, first = sheet_of(proposal), sheet_of(proposal, version=0)

    assert (newest.version, newest.is_void, newest.note) == (1, False, "Post 2 moved off a root.")
    assert len(newest.lines[0].posts) == 10
    assert (first.version, first.newest_version, first.is_void) == (0, 1, True)
    assert len(first.lines[0].posts) == 9
    assert build_sheet(proposal.pk, string=STRING, version=2) is None


def test_work_without_a_layout_has_no_sheet() -> None:
    repair = make_estimate(document={}, catalog={}, result={"lines": [], "holes": []})
    proposal = Proposal.objects.create(
        estimate=repair, valid_until=NOW.date(), price=Decimal(100), pdf_sha256="a" * 64
    )
    assert build_sheet(proposal.pk, string=STRING) is None
    assert build_sheet(proposal.pk + 1, string=STRING) is None


def test_thin_result_of_old_days_is_still_read() -> None:
    proposal = Proposal.objects.create(
        estimate=make_estimate(), valid_until=NOW.date(), price=Decimal(100), pdf_sha256="a" * 64
    )
    sheet = sheet_of(proposal)
    assert [post.number for post in sheet.lines[0].posts] == [1, 2, 3, 4, 5]
    assert (sheet.bags, sheet.concrete_ft3) == (0, 0.0)


def test_queries_are_few_whatever_the_length(
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    make_firm()
    proposal = sold(fence_document(fence_line(9600.0)))
    with django_assert_num_queries(1):
        sheet_of(proposal, with_plan=False)
    change_ground(proposal, fence_document(fence_line(864.0)))
    with django_assert_num_queries(2):
        sheet_of(proposal, with_plan=False)
