"""A site as its crew found it: moved posts, real legs and marks, worked by hand."""

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from estimating.engine.as_marked import (
    FoundLine,
    MovedPost,
    as_marked,
    found_document,
    movable_posts,
    refuse_lost_gates,
)
from estimating.engine.catalog import Catalog
from estimating.engine.differences import differences
from estimating.engine.errors import EngineError
from estimating.engine.estimate import estimate
from estimating.engine.reading import read_site
from estimating.engine.result import EstimateResult, LineLayout
from estimating.engine.site import (
    Conditions,
    FenceLine,
    GroundShot,
    LineEnd,
    NoDigStrip,
    Site,
)
from tests.starter_cases import fence_line, starter_catalog
from tests.unit.layout_samples import gate, line, shared

SIXTEENTH = 1 / 16
VINYL, WIRE = "vinyl_privacy_6ft", "chain_link_4ft"


def site_of(*lines: FenceLine, **conditions: Any) -> Site:
    return Site(name="Made up", lines=lines, conditions=Conditions(**conditions))


def moved(site: Site, *moves: tuple[int, float], catalog: Catalog | None = None) -> EstimateResult:
    return as_marked(
        site,
        catalog or starter_catalog(),
        moved=[MovedPost(number=number, station_in=station_in) for number, station_in in moves],
    )


def only(result: EstimateResult) -> LineLayout:
    (fence,) = result.lines
    return fence


def spacers(result: EstimateResult) -> list[float]:
    return [bay.spacer_in for bay in only(result).bays]


# 32 ft of vinyl: 384 / 96 gives 4 bays of 96 in, posts 5 in wide at 0, 96, 192, 288 and 384.
STRAIGHT = site_of(fence_line(VINYL, [32]))


def test_post_moved_two_inches_takes_from_one_spacer_and_gives_to_the_other() -> None:
    site = site_of(fence_line(VINYL, [30]))
    sold, found = estimate(site, starter_catalog()), moved(site, (2, 88.0))
    # 360 in / 96: 4 bays of 90. Post 2 from 90 to 88: bay 1 is 88 on centre, bay 2 92.
    assert [bay.on_centre_in for bay in only(sold).bays] == [90, 90, 90, 90]
    assert [bay.on_centre_in for bay in only(found).bays] == [88, 92, 90, 90]
    # Less half of each neighbour, 2 1/2 + 2 1/2 in: 83 and 87.
    assert spacers(found) == [83, 87, 85, 85]
    rail_more_in = only(sold).bays[0].panel_in - 85
    assert [bay.panel_in for bay in only(found).bays] == [
        each + rail_more_in for each in (83, 87, 85, 85)
    ]
    (post,) = (post for post in only(found).posts if post.number == 2)
    assert (post.station_in, post.x_in, post.y_in) == (88, 88, 0)
    assert only(found).sections == only(sold).sections


def test_spacer_beside_a_gate_post_lacks_half_of_each_width() -> None:
    # Gate post 5 in wide: gate from 200: its post stands at 197.5. 197.5 / 96: 3 bays of
    # 65 13/16, 65 13/16 and 65 14/16 in 3160 sixteenths: 1053, 1053, 1054.
    site = site_of(fence_line(VINYL, [32], gates=(gate(200.0),)))
    sold = only(estimate(site, starter_catalog()))
    gate_post = next(post for post in sold.posts if post.kind == "gate")
    before = next(bay for bay in sold.bays if bay.to_post == gate_post.number)
    at_in = before.start_station_in + 1.5
    found = only(moved(site, (before.from_post, at_in)))
    bay = found.bays[before.number - 1]
    line_half_in, gate_half_in = sold.posts[1].width_in / 2, gate_post.width_in / 2
    assert bay.on_centre_in == gate_post.station_in - at_in
    assert bay.spacer_in == bay.on_centre_in - line_half_in - gate_half_in
    assert found.gates == sold.gates


def test_full_bay_becomes_a_cut_one_and_a_wide_one_stops() -> None:
    # Four full bays of 96. Post 3 from 192 to 191: bay 2 is 95 and cut, bay 3 97: over 96.
    found = moved(STRAIGHT, (3, 191.0))
    assert [bay.is_cut for bay in only(found).bays] == [False, True, False, False]
    (stop,) = (each for each in found.findings if each.code == "bay-over-maximum")
    assert (stop.severity, stop.figure, stop.limit) == (
        "stop",
        "97 in on centre",
        "96 in on centre",
    )
    assert "bay 3" in stop.place
    # A sixteenth over is over; the layout itself never is.
    assert any(
        each.code == "bay-over-maximum" for each in moved(STRAIGHT, (3, 192 + SIXTEENTH)).findings
    )
    assert not any(each.code == "bay-over-maximum" for each in moved(STRAIGHT).findings)


def test_posts_closer_than_the_narrowest_bay_are_found() -> None:
    # Post 2 to 10 in: 10 - 5 leaves 5 in clear, and the system's narrowest bay is 12 in.
    found = moved(STRAIGHT, (2, 10.0))
    assert any(each.code == "short-bay" and each.figure == "5 in clear" for each in found.findings)
    # To 4 in: the posts, 5 in wide, would stand in each other.
    assert any(each.code == "posts-overlap" for each in moved(STRAIGHT, (2, 4.0)).findings)


@pytest.mark.parametrize(
    ("number", "station_in", "words"),
    [
        (2, 192.0, "Post 2 can't stand at 16-0: that is at or past post 3 at 16-0."),
        (2, 200.0, "Post 2 can't stand at 16-8: that is at or past post 3 at 16-0."),
        (3, 96.0, "Post 3 can't stand at 8-0: that is at or past post 2 at 8-0."),
        (1, 2.0, "Post 1 is an end post: it moves with the length of its leg."),
        (9, 2.0, "There is no post 9 any more."),
    ],
)
def test_post_that_can_not_stand_there_is_refused(
    number: int, station_in: float, words: str
) -> None:
    with pytest.raises(EngineError) as refused:
        moved(STRAIGHT, (number, station_in))
    assert (str(refused.value), refused.value.field) == (words, f"post:{number}")


def test_gate_corner_pull_and_bend_posts_do_not_move_by_hand() -> None:
    bend = fence_line(VINYL, [16, 16])
    bend = replace(bend, legs=(bend.legs[0], replace(bend.legs[1], turn_deg=3.0)))
    cases = (
        (site_of(fence_line(VINYL, [32], gates=(gate(200.0),))), "gate", "clear opening"),
        (site_of(fence_line(VINYL, [16, 16])), "corner", "leg before it"),
        (site_of(fence_line(WIRE, [600])), "pull", "stretched"),
        (site_of(bend), "line", "bend"),
    )
    for site, kind, words in cases:
        fence = only(estimate(site, starter_catalog()))
        fixed = [post for post in fence.posts if post.number not in movable(site)]
        post = next(post for post in fixed if post.kind == kind)
        with pytest.raises(EngineError, match=words):
            moved(site, (post.number, post.station_in + 1))


def movable(site: Site) -> frozenset[int]:
    return movable_posts(site, starter_catalog())


def test_mark_found_elsewhere_makes_other_posts_hand_dug() -> None:
    # Zone: 6 in wide, half is 3, and 24 in beside it: 27 in. Post 2 stands at 96.
    mark = NoDigStrip(station_in=100, facility_width_in=6, utility="gas", hand_dig=True)
    site = site_of(fence_line(VINYL, [32], no_dig=(mark,)))
    assert [post.number for post in only(moved(site)).posts if post.hand_dig] == [2]
    # A 12 in hole reaches 6 in: from 100 - 27 - 6 = 67 on, so at 66 it is free.
    found = moved(site, (2, 66.0))
    assert [post.number for post in only(found).posts if post.hand_dig] == []
    assert found.total_hours < moved(site).total_hours
    # Moved into the mark itself: the hole's edge lies over the mark's centre.
    assert any(each.code == "post-in-mark" for each in moved(site, (2, 102.0)).findings)


def test_mark_that_nobody_digs_by_hand_moves_the_posts_off_it() -> None:
    # Barred: 3 + 24 + half a hole of 12 in, 33 in to each side of 100: from 67 to 133. Four bays
    # of 96 would need the post at 96, so five: the post before the mark at 67 or less, the next at
    # 133 or more. The other three bays share at most 384 - 133 = 251: 83.67 each.
    mark = NoDigStrip(station_in=100, facility_width_in=6, utility="gas")
    posts = only(moved(site_of(fence_line(VINYL, [32], no_dig=(mark,))))).posts
    assert len(posts) == 6
    assert not any(67 < post.station_in < 133 or post.hand_dig for post in posts)


def test_moved_post_stands_on_its_own_ground_and_round_the_corner() -> None:
    site = site_of(fence_line(VINYL, [16, 16]))
    # Leg 2 goes right, to the south; the post at 288 stands 96 in along it.
    (post,) = (each for each in only(moved(site, (4, 290.0))).posts if each.number == 4)
    assert (post.x_in, post.y_in) == (192, -98)


def test_moved_post_can_make_a_bay_step_and_the_list_says_so() -> None:
    # The ground falls 11-1/2 in over the first 192: 5-3/4 in each of two bays, and vinyl racks 6.
    # With post 2 at 105 the first falls 105 x 11.5 / 192 = 6.29: it stands level and steps there,
    # so post 2 carries it 6.29 over its own ground. The second still racks, 5.21.
    ground = (
        GroundShot(station_in=0, elevation_in=0),
        GroundShot(station_in=192, elevation_in=-11.5),
        GroundShot(station_in=384, elevation_in=-11.5),
    )
    site = site_of(fence_line(VINYL, [32], ground=ground))
    sold, found = moved(site), moved(site, (2, 105.0))

    assert [bay.follows for bay in only(sold).bays][:2] == ["racked", "racked"]
    assert [bay.follows for bay in only(found).bays][:2] == ["stepped", "racked"]
    assert only(found).posts[1].lift_in == pytest.approx(6.29, abs=0.005)
    told = differences(sold, found)
    first = next(each for each in told.bays if each.number == 1)
    assert (first.was_follows, first.follows) == ("racked", "stepped")
    second = next(each for each in told.posts if each.now and each.now.number == 2)
    assert {"moved", "top"} <= set(second.what)


def test_longer_leg_needs_a_post_more_and_the_list_says_which() -> None:
    sold = estimate(STRAIGHT, starter_catalog())
    # 33 ft is 396 in: over 384, so 5 bays of 79.2: 1267 or 1268 sixteenths.
    found = moved(site_of(fence_line(VINYL, [33])))
    told = differences(sold, found)
    assert [(each.was_length_in, each.length_in) for each in told.lines] == [(384, 396)]
    assert [(each.was_posts, each.posts) for each in told.lines] == [(5, 6)]
    by_number = {(each.now or each.was).number: each for each in told.posts}  # type: ignore[union-attr]
    assert by_number[6].what == ("added",)
    # The fifth post was the end at 32 ft and is a line post now.
    assert by_number[5].what == ("moved", "kind")
    assert 1 not in by_number
    assert (told.was_bags, told.bags) == (sold.concrete.bags, found.concrete.bags)
    assert told.bags > told.was_bags
    back = differences(found, sold)
    assert [each.what for each in back.posts][-1] == ("removed",)


def test_posts_of_the_lines_after_a_longer_one_are_numbered_anew() -> None:
    first, second = fence_line(VINYL, [32]), fence_line(VINYL, [16], id="B", start_y_in=600.0)
    sold = estimate(site_of(first, second), starter_catalog())
    found = moved(site_of(fence_line(VINYL, [33]), second))
    renumbered = [each for each in differences(sold, found).posts if each.line_id == "B"]
    assert [(each.was.number, each.now.number) for each in renumbered] == [  # type: ignore[union-attr]
        (6, 7),
        (7, 8),
        (8, 9),
    ]
    assert {each.what for each in renumbered} == {("renumbered",)}


def test_post_in_a_deeper_hole_is_said_to_be_longer() -> None:
    shallow = estimate(site_of(fence_line(VINYL, [32])), starter_catalog())
    deep = estimate(site_of(fence_line(VINYL, [32]), frost_depth_in=42), starter_catalog())
    assert all(
        "hole" in each.what and ("longer" in each.what) == (each.now.length_in > each.was.length_in)  # type: ignore[union-attr]
        for each in differences(shallow, deep).posts
    )


def test_leg_too_short_for_its_gate_is_refused() -> None:
    sold = estimate(site_of(fence_line(VINYL, [32], gates=(gate(300.0),))), starter_catalog())
    found = moved(site_of(fence_line(VINYL, [26], gates=(gate(300.0),))))
    with pytest.raises(EngineError, match="Gate G1 no longer fits line A") as refused:
        refuse_lost_gates(sold, found)
    assert refused.value.field == "line:A"
    refuse_lost_gates(sold, sold)


DOCUMENT: dict[str, Any] = {
    "format": "firm-footing-site",
    "version": 1,
    "name": "Made up",
    "lines": [
        {
            "id": "A",
            "system": VINYL,
            "points": [{"x_in": 0, "y_in": 0}, {"x_in": 384, "y_in": 0}],
        },
        {"id": "B", "system": VINYL, "legs": [{"length_in": 96}, {"length_in": 96}]},
    ],
}


def test_document_takes_the_legs_and_marks_that_were_found() -> None:
    site = read_site(DOCUMENT)
    mark = NoDigStrip(station_in=50, facility_width_in=4, crossing_deg=60, utility="gas")
    found = found_document(
        DOCUMENT, site, [FoundLine(line_id="A", leg_lengths_in=(390.5,), marks=(mark,))]
    )
    first, second = read_site(found).lines
    assert [leg.length_in for leg in first.legs] == [390.5]
    assert (first.bearing_deg, first.no_dig) == (90, (mark,))
    assert second == site.lines[1]
    assert "points" in DOCUMENT["lines"][0]
    assert read_site(found_document(DOCUMENT, site, ())) == site


def test_document_refuses_another_number_of_legs_or_an_unknown_line() -> None:
    site = read_site(DOCUMENT)
    with pytest.raises(EngineError, match="Line B was measured with 2 legs, not 1"):
        found_document(DOCUMENT, site, [FoundLine(line_id="B", leg_lengths_in=(90.0,))])
    with pytest.raises(EngineError, match="There is no line C"):
        found_document(DOCUMENT, site, [FoundLine(line_id="C", marks=())])


def grid(low_in: int, high_in: int) -> st.SearchStrategy[float]:
    return st.integers(low_in * 16, high_in * 16).map(lambda sixteenths: sixteenths / 16)


ENDS = st.sampled_from(
    [LineEnd(), LineEnd(kind="wall", measured_at="wall_face"), LineEnd(kind="existing_post")]
)
LINES = st.builds(
    line,
    grid(200, 900),
    grid(200, 900),
    system=st.sampled_from([VINYL, WIRE]),
    start=ENDS,
    end=ENDS,
)


@given(fence_line=LINES)
def test_without_an_entry_it_is_the_sold_result(fence_line: FenceLine) -> None:
    site = site_of(fence_line)
    assert as_marked(site, starter_catalog()) == estimate(site, starter_catalog())


@given(fence_line=LINES, data=st.data())
def test_bays_add_up_exactly_and_there_and_back_is_the_same(
    fence_line: FenceLine, data: st.DataObject
) -> None:
    site = site_of(fence_line)
    sold = estimate(site, starter_catalog())
    numbers = sorted(movable(site))
    assume(numbers)
    chosen = data.draw(st.sets(st.sampled_from(numbers), min_size=1, max_size=4))
    posts = {post.number: post for post in only(sold).posts}
    # Up to 20 in either way: neighbours stand at least 33 in apart, so two may cross.
    moves = [
        (number, posts[number].station_in + data.draw(grid(-20, 20))) for number in sorted(chosen)
    ]
    try:
        found = moved(site, *moves)
    except EngineError as error:
        assert error.field.startswith("post:")  # noqa: PT017 - a refusal names its post
        return
    fence = only(found)
    for section in fence.sections:
        bays = [bay for bay in fence.bays if bay.section == section.number]
        assert sum(bay.on_centre_in for bay in bays) == section.length_in
        assert all(bay.on_centre_in * 16 == int(bay.on_centre_in * 16) for bay in bays)
        starts = [bay.start_station_in for bay in bays]
        assert starts == sorted(starts)
    half_in = {post.number: post.width_in / 2 for post in fence.posts}
    at_in = {post.number: post.station_in for post in fence.posts}
    for bay in fence.bays:
        if bay.from_post in half_in and bay.to_post in half_in:
            assert bay.on_centre_in == at_in[bay.to_post] - at_in[bay.from_post]
            assert bay.spacer_in == bay.on_centre_in - half_in[bay.from_post] - half_in[bay.to_post]
    back = [(number, posts[number].station_in) for number, _ in moves]
    assert moved(site, *back) == sold


def test_post_shared_with_another_line_stays() -> None:
    joining = fence_line(VINYL, [16], id="B", start=shared("A", "end"), bearing_deg=180.0)
    site = site_of(fence_line(VINYL, [32]), joining)
    # A has posts 1 to 5; B begins on 5 and has 6 and 7.
    assert movable(site) == {2, 3, 4, 6}
    found = moved(site, (6, 90.0))
    first = found.lines[1].bays[0]
    assert (first.from_post, first.to_post, first.on_centre_in, first.spacer_in) == (5, 6, 90, 85)
