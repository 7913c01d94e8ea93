"""Sections with something in their way, worked by hand: where posts go, and what is said of it.

The post plan itself is held against every plan there is in `test_post_plan.py`. Here bays are of
the invented systems of `layout_samples`: posts 5 in wide in holes of 15 in, at most 96 in on
centre, 12 in clear at least. A mark 4 in wide bars 2 + 24 + 7.5 = 33.5 in to each side, and dug by
hand 2 + 7.5 = 9.5 in (facility, tolerance and half the hole, by the sine of the crossing angle).
"""

from dataclasses import replace

import pytest

from estimating.engine.layout import Layout
from estimating.engine.result import Finding
from estimating.engine.site import FixedPoint, Leg, NoDigStrip
from tests.unit.layout_samples import PANEL, codes, gate, laid_out, line, only_line

GAS = NoDigStrip(station_in=96, facility_width_in=4, utility="gas")


def lengths(layout: Layout) -> list[float]:
    return [bay.on_centre_in for bay in only_line(layout).bays]


def the(code: str, layout: Layout) -> Finding:
    (found,) = [each for each in layout.findings if each.code == code]
    return found


def test_posts_go_round_a_mark_with_as_few_bays() -> None:
    # 276 in 3 bays of 92; the mark at 96 bars 62.5 to 129.5. No post at 92, so the first post
    # stands at 62.5 at most and 213.5 are left: over two bays of 96, so 4 bays in all. The first
    # is the narrowest, the widest of the other three at least 213.5 / 3 = 71.17: the range is
    # least with them alike, 3416 sixteenths: 1138, 1139 and 1139. The second post stands at
    # 62.5 + 71.1 = 133.6 then, past 129.5.
    layout = laid_out(line(276, no_dig=(GAS,)))
    assert lengths(layout)[0] == 62.5
    assert sorted(lengths(layout)[1:]) == [71.125, 71.1875, 71.1875]
    (section,) = only_line(layout).sections
    assert section.divided == "most_even"
    assert [(each.what, each.station_in) for each in section.moved_off] == [("gas mark", 96)]
    assert "post-in-tolerance-zone" not in codes(layout)


def test_ordinary_bays_stand_where_nothing_bars_a_post() -> None:
    # Posts at 92 and 184; a mark at 138 bars 104.5 to 171.5.
    layout = laid_out(line(276, no_dig=(replace(GAS, station_in=138),)))
    assert lengths(layout) == [92, 92, 92]
    assert only_line(layout).sections[0].divided == "equal"
    assert only_line(layout).sections[0].moved_off == ()


def test_hand_digging_opens_the_zone_but_never_the_mark() -> None:
    # Dug by hand the mark at 96 bars 86.5 to 105.5. Three bays: the first post at 86.5 or earlier
    # leaves 189.5 for two, of 94.75. Or at 105.5: over 96. Range 94.75 - 86.5 = 8.25.
    layout = laid_out(line(276, no_dig=(replace(GAS, hand_dig=True),)))
    assert lengths(layout) == [86.5, 94.75, 94.75]
    assert [post.hand_dig for post in only_line(layout).posts] == [False, True, False, False]
    assert "post-in-mark" not in codes(layout)


def test_slant_counts_for_the_hole_too() -> None:
    # At 30 degrees the sine is 1/2: (2 + 7.5) / 0.5 = 19 in to each side of 96 are barred: 77 to
    # 115. The first post at 77 at most leaves 199 for two bays: over 96 each, so 4 bays.
    slant = replace(GAS, hand_dig=True, crossing_deg=30)
    posts = [post.station_in for post in only_line(laid_out(line(276, no_dig=(slant,)))).posts]
    assert len(posts) == 5
    assert not any(77 < station < 115 for station in posts)
    # Half the hole without the sine would leave 96 - (4 + 7.5) = 84.5 for the first post and
    # 191.5 for two bays of 95.75: 3 bays. The next figure says it is not so.
    assert lengths(laid_out(line(276, no_dig=(replace(slant, crossing_deg=90),)))) == [
        86.5,
        94.75,
        94.75,
    ]


def test_no_hole_comes_nearer_to_a_tree_than_asked() -> None:
    # A trunk 20 in wide, roots kept clear for 12 in: 10 + 12 + 7.5 = 29.5 in to each side of 92:
    # 62.5 to 121.5 are barred. As round the mark: 62.5 and three bays that share 213.5.
    tree = FixedPoint(station_in=92, kind="tree", width_in=20, keep_clear_in=12)
    layout = laid_out(line(276, fixed_points=(tree,)))
    assert lengths(layout)[0] == 62.5
    assert sorted(lengths(layout)[1:]) == [71.125, 71.1875, 71.1875]
    assert only_line(layout).sections[0].moved_off[0].what == "tree"
    assert not codes(layout) & {"post-beside-fixed-point", "no-post-plan"}


def test_standing_post_that_is_used_brings_no_post_of_its_own() -> None:
    # A post 6 in wide at 100: 100 and 176 are 2 bays each: 4 bays, 3 new posts between 5 and the
    # standing one: 2 ends and 2 line posts, not 3.
    standing = FixedPoint(station_in=100, kind="existing_post", width_in=6, use=True)
    fence = only_line(laid_out(line(276, fixed_points=(standing,))))
    stations = [post.station_in for post in fence.posts]
    assert len(fence.bays) == 4
    assert len(fence.posts) == 4
    assert 100 not in stations
    second, third = fence.bays[1:3]
    assert (second.to_post, third.from_post) == (0, 0)
    assert second.start_station_in + second.on_centre_in == third.start_station_in == 100
    # Half of a 5 in post and half of the 6 in one.
    assert second.spacer_in == second.on_centre_in - 2.5 - 3
    assert [section.bays for section in fence.sections] == [4]


def test_bays_are_most_even_over_all_of_a_section_with_a_standing_post() -> None:
    # As wide as a line post, at 90 of 270: 1 bay and 2 bays of 90.
    standing = FixedPoint(station_in=90, kind="existing_post", use=True)
    assert lengths(laid_out(line(270, fixed_points=(standing,)))) == [90, 90, 90]


def test_standing_post_in_a_gate_or_past_the_end_is_not_used() -> None:
    points = tuple(
        FixedPoint(station_in=station, kind="existing_post", use=True) for station in (210.0, 600.0)
    )
    layout = laid_out(line(480, gates=(gate(195),), fixed_points=points))
    found = [each for each in layout.findings if each.code == "standing-post-not-used"]
    assert [each.figure for each in found] == ["station 17-6", "station 50-0"]
    assert len(only_line(layout).posts) == len(
        only_line(laid_out(line(480, gates=(gate(195),)))).posts
    )


def test_tree_in_a_gates_opening_stops_and_a_drain_does_not() -> None:
    tree = FixedPoint(station_in=210, kind="tree", note="oak")
    layout = laid_out(line(480, gates=(gate(195),), fixed_points=(tree,)))
    assert the("fixed-point-in-gate", layout).message == (
        "The oak stands in the opening of gate G1."
    )
    drain = replace(tree, kind="drain")
    layout = laid_out(line(480, gates=(gate(195),), fixed_points=(drain,)))
    assert "fixed-point-in-gate" not in codes(layout)


# 192 in: two bays of 96, and the mark at 96 bars 62.5 to 129.5. Over it a bay of 67 is enough:
# 62.5 + 67 + 62.5. To bar it for good the bank is wider: 60 in bars 30 + 24 + 7.5 = 61.5: from 34.5
# to 157.5, 123 in. A bay over it would be 123, 27 more than 96. Before it there is room for a post
# from 17 (12 clear) to 34.5, after it from 157.5 to 175.
BANK = replace(GAS, facility_width_in=60)


def test_section_without_a_plan_names_what_bars_it_and_the_least_changes() -> None:
    layout = laid_out(line(192, no_dig=(BANK,)))
    found = the("no-post-plan", layout)
    assert "section 1: the gas mark at 8-0 bars it" in found.message
    assert found.figure == "no post from 2-10 1/2 to 13-1 1/2"
    # By hand: 30 + 7.5 = 37.5 to each side: 58.5 to 133.5, a bay of 75 over it.
    assert "dug by hand in the tolerance zone of the gas mark" in found.action
    # A bay of 123; with 192 between the ends that is less than one bay for all.
    assert "allow bays 27 in wider, 123 in on centre" in found.action
    assert "short bay" not in found.action
    assert found.severity == "warn"
    # The rest stands: the ordinary two bays.
    assert lengths(layout) == [96, 96]
    assert only_line(layout).sections[0].divided == "no_plan"


def test_named_changes_do_open_a_plan() -> None:
    by_hand = laid_out(line(192, no_dig=(replace(BANK, hand_dig=True),)))
    wider = laid_out(
        line(192, system="wider", no_dig=(BANK,)),
        systems=(replace(PANEL, key="wider", max_on_centre_in=123),),
    )
    a_hair_less = laid_out(
        line(192, system="wider", no_dig=(BANK,)),
        systems=(replace(PANEL, key="wider", max_on_centre_in=122.9375),),
    )
    assert "no-post-plan" not in codes(by_hand) | codes(wider)
    assert "no-post-plan" in codes(a_hair_less)


def test_short_bay_is_named_where_it_opens_a_plan() -> None:
    # A tree barred from 14 to 110 in (48 in to each side of 62): before it the first post can
    # stand at 14 at most, 14 - 5 = 9 in clear; 12 are asked, so 3 less. Over it 96 in.
    tree = FixedPoint(station_in=62, kind="tree", width_in=57, keep_clear_in=12)
    found = the("no-post-plan", laid_out(line(150, fixed_points=(tree,))))
    assert "The smallest change: allow a short bay of 9 in clear." in found.action
    # Or one bay from the end to 110.
    assert "allow bays 14 in wider, 110 in on centre" in found.action
    assert found.severity == "stop"
    short = laid_out(
        line(150, system="short", fixed_points=(tree,)),
        systems=(replace(PANEL, key="short", min_clear_in=9),),
    )
    assert "no-post-plan" not in codes(short)
    assert only_line(short).bays[0].spacer_in == 9


def test_standing_post_that_bars_the_plan_is_named() -> None:
    # 10 in from the end: 10 - 2.5 - 2.5 = 5 clear, under 12.
    standing = FixedPoint(station_in=10, kind="existing_post", use=True)
    found = the("no-post-plan", laid_out(line(192, fixed_points=(standing,))))
    assert "the standing post at 0-10 bars it" in found.message
    assert "set a new post instead of the one at 0-10" in found.action


@pytest.mark.parametrize(
    ("station_in", "post", "action"),
    [
        # The hole of the end post at 276 reaches from 268.5: 8.5 from the mark's centre at 260, in
        # the zone. To clear it 33.5 in from 260: 17.5 more.
        (260, "post 4", "move it towards the line's end by 17-1/2 in to clear the zone"),
        # In the mark itself: 2 in from it, 9.5 needed: 7.5 to clear the mark, 31.5 the zone.
        (274, "post 4", "by 7-1/2 in to clear the mark, 31-1/2 in to clear the zone"),
        (2, "post 1", "towards the line's start by 7-1/2 in to clear the mark"),
    ],
)
def test_mark_over_a_terminal_names_the_post_and_the_figure(
    station_in: float, post: str, action: str
) -> None:
    layout = laid_out(line(276, no_dig=(replace(GAS, station_in=station_in),)))
    (found,) = [each for each in layout.findings if each.code.startswith("post-in-")]
    assert post in found.place
    assert action in found.action
    assert "The end post can't be planned elsewhere" in found.action


def test_mark_over_a_gate_post_moves_the_gate() -> None:
    # The gate's second post stands at 246; its hole of 18 in, 9 + 2 in from the mark at 250.
    layout = laid_out(
        line(480, gates=(gate(195),), no_dig=(replace(GAS, station_in=250, hand_dig=True),))
    )
    found = the("post-in-mark", layout)
    assert found.action.startswith(
        "The gate post can't be planned elsewhere: move it with its gate towards the line's start "
        "by 7 in to clear the mark"
    )


def test_tree_beside_an_end_post_is_named() -> None:
    # 10 in from the post's middle: 10 - 7.5 - 1 = 1.5 from the trunk's face, 6 are asked.
    tree = FixedPoint(station_in=10, kind="tree", width_in=2, keep_clear_in=6, note="old oak")
    found = the("post-beside-fixed-point", laid_out(line(276, fixed_points=(tree,))))
    assert found.severity == "warn"
    assert "the old oak" in found.message
    assert (found.figure, found.limit) == (
        "1-1/2 in from the hole's edge to its face",
        "at least 6 in",
    )


def test_plan_runs_through_a_bend() -> None:
    # A bend of 3 degrees at 276 is a line post, no terminal: the section is one, 552 in. Past the
    # bend 3 bays of 92 are the most even, and before it the first bay is 62.5 at most, so the
    # range is 29.5 whatever stands between: there each post is nearest to its even share of 4 bays
    # of 69: 62.5 for 69, which is barred, then 138 and 207.
    legs = (Leg(length_in=276), Leg(length_in=276, turn_deg=3))
    layout = laid_out(line(legs=legs, no_dig=(GAS,)))
    fence = only_line(layout)
    assert [section.bays for section in fence.sections] == [7]
    assert lengths(layout) == [62.5, 75.5, 69, 69, 92, 92, 92]
    assert 276 in [post.station_in for post in fence.posts]


def test_fewest_cut_panels_round_a_mark() -> None:
    # 250 = 96 + 96 + 58 with one cut; the post at 96 would stand in the mark. Three bays with one
    # cut: the short one first, 58 + 96 + 96: posts at 58 and 154, clear of 62.5 to 129.5.
    layout = laid_out(line(250, system="full_and_short", no_dig=(GAS,)))
    assert lengths(layout) == [58, 96, 96]
    assert only_line(layout).sections[0].divided == "fewest_cuts"


def test_a_bay_beside_a_fat_post_is_the_one_that_is_cut() -> None:
    # From the gate's second post at 246 (6 in) to the end at 496: 250. Beside it a bay of 96 is cut
    # by half an inch, so the short one stands there: 58, 96, 96 with one cut, not 96, 96, 58 with
    # two.
    fence = only_line(laid_out(line(496, system="full_and_short", gates=(gate(195),))))
    bays = [bay for bay in fence.bays if bay.section == 2]
    assert [bay.on_centre_in for bay in bays] == [58, 96, 96]
    assert [bay.is_cut for bay in bays] == [True, False, False]


def test_tree_between_two_posts_is_in_the_infill_s_way_and_a_drain_is_not() -> None:
    # Bays of 90: the second runs from 90 to 180.
    oak = FixedPoint(station_in=135, kind="tree", width_in=20, note="oak")
    found = the("fixed-point-in-bay", laid_out(line(270, fixed_points=(oak,))))
    assert found.message == "The oak stands in the infill of bay 2."
    assert (found.place, found.figure) == ("line A, bay 2, station 11-3", "20 in wide")
    drain = replace(oak, kind="drain")
    assert "fixed-point-in-bay" not in codes(laid_out(line(270, fixed_points=(drain,))))
