"""Bays set on their ground: limits kept, the taller bay carried, strings eased, pins obeyed."""

import math
from dataclasses import fields, replace
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimating.engine.frames import frames_of
from estimating.engine.ground import Ground, ground_from
from estimating.engine.layout import lines_before_ground
from estimating.engine.on_ground import on_ground
from estimating.engine.result import Bay, LineLayout
from estimating.engine.site import BayPin, FenceLine, GroundShot, LineEnd, Site
from tests.unit.layout_samples import (
    FABRIC,
    PANEL,
    catalog,
    gate,
    laid_out,
    line,
    only_line,
    shared,
)

RACK_IN, GAP_IN, LARGEST_IN, TALLER_IN = 6.0, 2.0, 8.0, 6.0
SIXTEENTH = 1 / 16
ROUGH = replace(
    PANEL,
    key="rough",
    max_rack_in=RACK_IN,
    ground_gap_in=GAP_IN,
    largest_gap_in=LARGEST_IN,
    height_tolerance_in=TALLER_IN,
)


def shots(*pairs: tuple[float, float]) -> tuple[GroundShot, ...]:
    return tuple(GroundShot(station_in=at, elevation_in=up) for at, up in pairs)


def fence(*lengths_in: float, **changes: object) -> LineLayout:
    return only_line(laid_out(line(*lengths_in, system="rough", **changes), systems=(ROUGH,)))


def codes(*lengths_in: float, **changes: object) -> set[str]:
    layout = laid_out(line(*lengths_in, system="rough", **changes), systems=(ROUGH,))
    return {finding.code for finding in layout.findings}


@st.composite
def grounds(draw: st.DrawFn) -> tuple[GroundShot, ...]:
    """Return shots every two to ten feet, each within a foot and a half of the one before."""
    at_in, up_in = 0.0, 0.0
    taken = [GroundShot(station_in=0.0, elevation_in=0.0)]
    for _ in range(draw(st.integers(1, 9))):
        at_in += draw(st.integers(24, 120))
        up_in += draw(st.integers(-18 * 16, 18 * 16)) / 16
        taken.append(GroundShot(station_in=at_in, elevation_in=up_in))
    return tuple(taken)


def heights_under(ground: Ground, bay: Bay) -> list[tuple[float, float]]:
    """Return (share of the bay, height of the ground) at its ends and every shot between."""
    end_in = bay.start_station_in + bay.on_centre_in
    knots = [at for at in ground.level if bay.start_station_in < at < end_in]
    return [
        ((at - bay.start_station_in) / bay.on_centre_in, ground.elevation_at(at))
        for at in (bay.start_station_in, *knots, end_in)
    ]


def can_keep_limits(heights: list[tuple[float, float]]) -> bool:
    """Say, apart from the engine, whether following or standing level keeps gap and height."""
    over_in = min(LARGEST_IN - GAP_IN, TALLER_IN)
    first, last = heights[0][1], heights[-1][1]
    follows = [first + share * (last - first) - height for share, height in heights]
    if abs(last - first) <= RACK_IN and min(follows) >= -GAP_IN and max(follows) <= over_in:
        return True
    lowest = max(first, last, max(height for _, height in heights) - GAP_IN)
    return lowest - min(height for _, height in heights) <= over_in


@settings(max_examples=150, deadline=None)
@given(taken=grounds(), length_in=st.integers(90, 700))
def test_gap_and_height_stay_inside_their_limits_wherever_a_choice_does(
    taken: tuple[GroundShot, ...], length_in: int
) -> None:
    built = fence(float(length_in), ground=taken)
    ground, _ = ground_from(taken, "level")

    for bay in built.bays:
        heights = heights_under(ground, bay)
        lifts = [bay.base_start_in + share * bay.rise_in - height for share, height in heights]
        assert bay.largest_gap_in == pytest.approx(GAP_IN + max(lifts), abs=1e-6)
        assert bay.least_gap_in == pytest.approx(GAP_IN + min(lifts), abs=1e-6)
        assert abs(bay.rise_in) <= RACK_IN + SIXTEENTH
        if bay.follows == "stepped":
            assert bay.rise_in == 0
        if can_keep_limits(heights):
            # Heights are chosen on the grid, so half a sixteenth at either end.
            assert bay.largest_gap_in <= LARGEST_IN + SIXTEENTH
            assert max(lifts) <= TALLER_IN + SIXTEENTH
            assert bay.least_gap_in >= -SIXTEENTH


@settings(max_examples=100, deadline=None)
@given(taken=grounds(), length_in=st.integers(90, 700))
def test_a_post_carries_the_taller_of_its_bays(
    taken: tuple[GroundShot, ...], length_in: int
) -> None:
    built = fence(float(length_in), ground=taken)

    for post in built.posts:
        stands = [
            *(bay.base_start_in for bay in built.bays if bay.from_post == post.number),
            *(bay.base_end_in for bay in built.bays if bay.to_post == post.number),
        ]
        assert post.lift_in == pytest.approx(max(stands) - post.elevation_in, abs=1e-6)


@given(
    length_in=st.integers(20, 3000),
    up_in=st.integers(-100, 100),
    system=st.sampled_from((PANEL, FABRIC, ROUGH)),
)
def test_level_ground_gives_what_no_shots_give(length_in: int, up_in: int, system: object) -> None:
    assert hasattr(system, "key")
    plain = line(float(length_in), system=system.key)
    flat = replace(plain, ground=shots((0, up_in), (length_in, up_in)))

    unshot = only_line(laid_out(plain, systems=(ROUGH,)))
    shot = only_line(laid_out(flat, systems=(ROUGH,)))

    assert [replace(post, elevation_in=0.0) for post in shot.posts] == list(unshot.posts)
    same = {"follows", "because", "base_start_in", "base_end_in"}
    for now, was in zip(shot.bays, unshot.bays, strict=True):
        levelled = replace(now, **{name: getattr(was, name) for name in same})
        assert levelled == was
        assert (now.base_start_in, now.base_end_in) == (up_in, up_in)


def test_a_fall_over_the_rack_steps_and_one_within_it_racks() -> None:
    # 180 in are two bays of 90. The first falls 9 in, over the 6 a panel racks; the second 3.
    first, second = fence(180, ground=shots((0, 0), (90, -9), (180, -12))).bays

    assert (first.follows, first.because) == ("stepped", "over_rack")
    assert (first.base_start_in, first.base_end_in) == (0.0, 0.0)
    assert (second.follows, second.because, second.rise_in) == ("racked", "within_rack", -3.0)


def test_a_dip_between_two_banks_is_bridged_without_a_step() -> None:
    # Three bays of 90: down 7, 0, up 7 over the first, the middle and the last: the outer ones
    # rack 6 at most. Bridged at 0 the gap is 2 + 7 = 9, over 8: it can't be. With a dip of 6-1/2
    # and a rack of 6 it is 8-1/2: neither. A rack of 4 and a dip of 5: 7, so no step at all.
    low_rack = replace(ROUGH, key="low", max_rack_in=4)
    ground = shots((0, 0), (90, -5), (180, -5), (270, 0))
    built = only_line(laid_out(line(270, system="low", ground=ground), systems=(low_rack,)))

    assert [bay.follows for bay in built.bays] == ["level"] * 3
    assert [bay.because for bay in built.bays] == ["over_rack", "fewer_steps", "over_rack"]
    assert [post.lift_in for post in built.posts] == [0, 5, 5, 0]


def test_where_nothing_keeps_the_limits_the_gap_is_found_and_the_rest_stands() -> None:
    # 12 in over the first bay: racks 6 at most, and level it leaves 2 + 12 = 14 in of gap.
    ground = shots((0, 0), (90, -12), (180, -12))
    layout = laid_out(line(180, system="rough", ground=ground), systems=(ROUGH,))

    found = {finding.code: finding for finding in layout.findings}
    assert (found["gap-under-fence"].figure, found["gap-under-fence"].limit) == ("14 in", "8 in")
    assert found["fence-tall-over-ground"].figure == "84 in over the ground"
    assert found["slope-over-rack"].severity == "note"
    assert len(only_line(layout).bays) == 2


def test_a_hump_between_two_posts_lifts_the_bay_over_it() -> None:
    # One bay of 90, ground even at both ends and 5 in up in the middle: following, the hump would
    # stand 3 in above the fence's lower edge; level 3 in higher it just clears, and its gap at
    # both posts is 5.
    (bay,) = fence(90, ground=shots((0, 0), (45, 5), (90, 0))).bays

    assert (bay.because, bay.base_start_in) == ("uneven", 3.0)
    assert (bay.least_gap_in, bay.largest_gap_in) == (0.0, 5.0)


class TestString:
    """A straight string over small humps and dips, tied down where the ground leaves it."""

    def test_small_dips_and_humps_are_evened_out(self) -> None:
        # Over four bays of 90 the ground dips 1 in, then humps 1 in: 1-1/2 may be missed.
        ground = shots((0, 0), (90, -1), (180, 0), (270, 1), (360, 0))
        built = fence(360, ground=ground)

        assert {bay.because for bay in built.bays} == {"even"}
        assert {(bay.base_start_in, bay.base_end_in) for bay in built.bays} == {(0.0, 0.0)}
        assert [post.lift_in for post in built.posts] == [0, 1, 0, -1, 0]

    def test_a_deeper_dip_is_followed_from_post_to_post(self) -> None:
        ground = shots((0, 0), (180, -4), (360, 0))
        built = fence(360, ground=ground)

        assert [bay.rise_in for bay in built.bays] == [-2, -2, 2, 2]
        assert {post.lift_in for post in built.posts} == {0}

    def test_it_turns_with_the_line(self) -> None:
        # 1 in up over the first leg, 1 in down over the second: each leg has its own string.
        built = fence(180, 180, ground=shots((0, 0), (180, 1), (360, 0)))
        assert [bay.rise_in for bay in built.bays] == [0.5, 0.5, -0.5, -0.5]

    def test_around_a_pool_it_opens_no_gap(self) -> None:
        ground = shots((0, 0), (90, -1), (180, 0))
        layout = laid_out(
            line(180, system="rough", ground=ground), systems=(ROUGH,), pool_barrier=True
        )
        assert [bay.rise_in for bay in only_line(layout).bays] == [-1, 1]

    @settings(max_examples=100, deadline=None)
    @given(taken=grounds())
    def test_post_tops_never_jump_where_nothing_steps(self, taken: tuple[GroundShot, ...]) -> None:
        built = fence(600.0, ground=taken)
        for before, after in pairwise(built.bays):
            if "stepped" not in (before.follows, after.follows):
                assert abs(before.base_end_in - after.base_start_in) < SIXTEENTH


class TestPins:
    """What the office decides for a bay by a place in it."""

    FALL = shots((0, 0), (180, -8))  # 4 in a bay

    def built(self, *pins: BayPin) -> LineLayout:
        return fence(180, ground=self.FALL, bay_pins=pins)

    def test_a_pinned_bay_steps_though_it_could_rack(self) -> None:
        first, second = self.built(BayPin(station_in=10, follows="stepped")).bays

        assert (first.follows, first.because) == ("stepped", "pinned")
        assert (first.base_start_in, first.base_end_in) == (0.0, 0.0)
        assert second.because == "within_rack"

    def test_beside_it_a_bay_stands_level_too_where_that_saves_the_step(self) -> None:
        # 3 in a bay: at the height of the pinned bay the second stands 6 in over its last post.
        pin = BayPin(station_in=10, follows="stepped")
        built = fence(180, ground=shots((0, 0), (180, -6)), bay_pins=(pin,))

        assert [bay.because for bay in built.bays] == ["pinned", "fewer_steps"]
        assert {bay.follows for bay in built.bays} == {"level"}

    def test_pinned_level_it_takes_the_height_with_fewest_steps(self) -> None:
        # Level at 0 both bays share one height: 6 in over the ground at the last post, just inside.
        pins = tuple(BayPin(station_in=at, follows="level") for at in (10, 100))
        built = fence(180, ground=shots((0, 0), (180, -6)), bay_pins=pins)

        assert {bay.follows for bay in built.bays} == {"level"}
        assert {bay.base_start_in for bay in built.bays} == {0.0}

    def test_pinned_to_rack_over_the_limit_it_does_and_is_found(self) -> None:
        pin = BayPin(station_in=10, follows="racked")
        ground = shots((0, 0), (90, -9), (180, -9))
        first, _ = fence(180, ground=ground, bay_pins=(pin,)).bays

        assert (first.follows, first.rise_in) == ("racked", -9.0)
        assert "racked-over-limit" in codes(180, ground=ground, bay_pins=(pin,))

    def test_a_pin_over_no_bay_is_found(self) -> None:
        assert "bay-pin-off-bays" in codes(
            180, bay_pins=(BayPin(station_in=500, follows="stepped"),)
        )


def test_a_shared_post_carries_the_tallest_bay_of_both_lines() -> None:
    # Line B starts on A's end post and steps down 9 in from it over one bay: its own end is higher
    # by 9 over its ground; A ends level there. Seen from B the shared post is at the top: nothing.
    # Run the other way, up towards the shared post's line, the shared post would carry 9.
    first = line(180, id="A", system="rough")
    up = line(
        90,
        id="B",
        system="rough",
        start=shared("A", "end"),
        bearing_deg=180,
        ground=shots((0, 0), (90, 9)),
    )
    layout = laid_out(first, up, systems=(ROUGH,))

    shared_post = layout.lines[0].posts[-1]
    assert shared_post.lift_in == 9.0
    assert layout.lines[1].posts[-1].lift_in == 0.0


def test_gates_part_the_rows_and_wall_ends_have_no_post_to_lengthen() -> None:
    built = fence(
        400,
        ground=shots((0, 0), (400, -20)),
        gates=(gate(180),),
        start=LineEnd(kind="wall", measured_at="wall_face"),
    )

    assert {bay.follows for bay in built.bays} == {"racked"}
    assert built.bays[0].from_post == 0
    assert [post.lift_in for post in built.posts] == pytest.approx([0.0] * len(built.posts))


def test_fabric_follows_whatever_the_ground_does() -> None:
    ground = shots((0, 0), (120, -30), (240, 0))
    built = only_line(laid_out(line(240, system="fabric", ground=ground)))

    assert {bay.because for bay in built.bays} == {"fabric"}
    assert math.isclose(built.bays[0].base_start_in, 0.0)


def test_profile_runs_from_the_first_post_to_the_last() -> None:
    built = fence(180, ground=shots((-50, -5), (90, 9), (400, 9)))

    # -50 to 90 rises 14: a tenth of an inch to the inch, so 0 at the start.
    assert built.ground == pytest.approx([(0.0, 0.0), (90.0, 9.0), (180.0, 9.0)])
    assert fence(180).ground == ()


def test_closed_line_keeps_its_shape() -> None:
    square = FenceLine(
        id="A",
        name="Loop",
        system="rough",
        legs=line(180, 180, 180, 180).legs,
        closed=True,
        ground=shots((0, 0), (180, 4), (360, 0), (540, -4), (720, 0)),
    )
    built = only_line(laid_out(square, systems=(ROUGH,)))
    assert [round(bay.rise_in, 3) for bay in built.bays] == [2, 2, -2, -2, -2, -2, 2, 2]


def test_setting_a_bay_on_its_ground_keeps_all_else_of_it() -> None:
    """A bay's fields are copied one by one; each that the ground doesn't decide must arrive."""
    site = Site(name="Site", lines=(line(400),))
    frames = frames_of(site, catalog())
    flat, _ = lines_before_ground(site, frames)
    decided = {
        "follows",
        "because",
        "base_start_in",
        "base_end_in",
        "largest_gap_in",
        "least_gap_in",
        "longer_infill_in",
        "panel_in",
        "is_cut",
        "start_station_in",
        "on_centre_in",
        "from_post",
        "to_post",
    }
    kept = {field.name for field in fields(Bay)} - decided
    marks: dict[str, Any] = {name: f"mark of {name}" for name in kept}
    marked = replace(flat[0].bays[0], **marks)

    (set_down,) = on_ground(frames, [replace(flat[0], bays=(marked,))], is_pool=False)

    assert {name: getattr(set_down.bays[0], name) for name in kept} == marks
