"""Layouts that break a rule or come near: each gets its finding, and the rest is laid out.

Limits are the samples' own; pool figures are those seen most in model codes, and common practice
where a comment says so.
"""

from dataclasses import replace
from typing import Any

import pytest

from estimating.engine.layout import Layout
from estimating.engine.result import Finding
from estimating.engine.site import FixedPoint, GroundShot, Leg, LineEnd, NoDigStrip
from tests.unit.layout_samples import codes, gate, laid_out, legs, line, only_line


def the(code: str, layout: Layout) -> Finding:
    (found,) = [each for each in layout.findings if each.code == code]
    return found


def shots(*pairs: tuple[float, float]) -> tuple[GroundShot, ...]:
    return tuple(GroundShot(station_in=at, elevation_in=up) for at, up in pairs)


def test_plain_line_breaks_nothing() -> None:
    # 270 in: three bays of 90, none near 96; 78 in less would save one, which is no small move.
    assert codes(laid_out(line(270))) == {"finished-face"}


@pytest.mark.parametrize(
    ("gates", "code"),
    [
        ((gate(100, 150),), "gate-longer-than-leg"),  # 120 less half a post at both ends leaves 114
        ((gate(80, 100),), "gate-across-corner"),  # it would end at 180, the leg at 120
        ((gate(700),), "gate-off-line"),
    ],
)
def test_gate_that_cannot_stand_is_left_out_and_the_rest_laid_out(
    gates: tuple[Any, ...], code: str
) -> None:
    layout = laid_out(line(120, 300, gates=gates))
    assert the(code, layout).severity == "stop"
    assert "gate G1" in the(code, layout).place
    fence = only_line(layout)
    assert not fence.gates
    assert len(fence.bays) == 2 + 4  # 120/96 and 300/96


def test_overlapping_gates_keep_the_first() -> None:
    layout = laid_out(line(480, gates=(gate(195), gate(220, id="G2"))))
    assert the("gates-overlap", layout).severity == "stop"
    assert [each.id for each in only_line(layout).gates] == ["G1"]


def test_gate_placed_inside_its_end_post_is_moved_to_the_face() -> None:
    # The gate post's face is 3 in from the line's start; the opening was put at 0.
    layout = laid_out(line(300, gates=(gate(0),)))
    assert the("gate-moved-to-post", layout).figure == "3 in"
    assert only_line(layout).gates[0].station_in == 3


def test_gate_placed_where_its_post_would_stand_in_the_wall_is_moved() -> None:
    # The gate post of 6 in stands against the wall, so the opening at 2 starts at 6.
    wall = LineEnd(kind="wall", measured_at="wall_face")
    layout = laid_out(line(300, start=wall, gates=(gate(2),)))
    assert the("gate-moved-to-post", layout).figure == "4 in"
    assert only_line(layout).posts[0].station_in == 3


def test_line_that_crosses_itself_is_stopped_with_its_legs() -> None:
    # East 300, south 200, west 150, north 300: the last leg crosses the first.
    layout = laid_out(line(300, 200, 150, 300))
    assert the("line-crosses-itself", layout).severity == "stop"
    assert the("line-crosses-itself", layout).place == "line A, legs 1 and 4"


def test_line_that_folds_back_on_itself_is_stopped() -> None:
    layout = laid_out(line(300, 200, legs=legs(300, 200, turn_deg=180)))
    assert "line-crosses-itself" in codes(layout)


def test_loop_that_closes_crosses_nothing() -> None:
    assert not codes(laid_out(line(300, 200, 300, 200, closed=True))) & {
        "line-crosses-itself",
        "line-does-not-close",
    }


def test_loop_that_stays_open_says_by_how_much() -> None:
    # The last leg is 40 in short of the start.
    layout = laid_out(line(300, 200, 300, 160, closed=True))
    assert the("line-does-not-close", layout).figure == "3-4"


def test_two_lines_that_cross_are_named() -> None:
    other = line(200, id="B", start_x_in=100, start_y_in=100, bearing_deg=180)
    assert the("lines-cross", laid_out(line(300), other)).place == "lines A and B"


def test_old_fence_may_lie_under_the_new_one() -> None:
    assert "lines-cross" not in codes(laid_out(line(300), line(300, id="B", scope="removal")))


@pytest.mark.parametrize(
    ("limit_in", "code", "severity"),
    [
        (71, "too-tall-for-yard", "stop"),
        (60, "too-tall-for-yard", "stop"),
    ],
)
def test_height_is_held_against_the_yards_limit(limit_in: float, code: str, severity: str) -> None:
    layout = laid_out(line(270, yard="front"), height_limit_front_in=limit_in)
    assert the(code, layout).severity == severity
    assert not codes(laid_out(line(270), height_limit_front_in=limit_in)) & {code}


def test_hole_in_the_mark_itself_is_stopped() -> None:
    # Two bays of 90, post at 90. The bank of pipes reaches from 15 to 165: with half a hole of
    # 15 in no post can stand from 7.5 to 172.5, and no bay is longer than 96.
    strip = NoDigStrip(station_in=90, facility_width_in=150, utility="gas")
    layout = laid_out(line(180, no_dig=(strip,)), hand_dig_tolerance_in=0)
    assert the("post-in-mark", layout).severity == "stop"
    assert "gas" in the("post-in-mark", layout).message
    assert [post.number for post in only_line(layout).posts if post.hand_dig] == [2]


def test_mark_that_crosses_at_a_slant_reaches_further() -> None:
    # At 30 degrees the sine is 1/2: (4/2 + 24) / 0.5 = 52 in to each side, not 26.
    # Post at 90, hole's edge at 97.5; mark's centre at 145: 47.5 away.
    slant = NoDigStrip(station_in=145, facility_width_in=4, crossing_deg=30)
    square = replace(slant, crossing_deg=90)
    assert "post 2" in _places(laid_out(line(270, no_dig=(slant,))))
    assert "post 2" not in _places(laid_out(line(270, no_dig=(square,))))


def _places(layout: Layout) -> str:
    return " ".join(each.place for each in layout.findings if each.code == "post-in-tolerance-zone")


def test_short_bay_is_measured_between_the_faces() -> None:
    # 16 - 5 = 11 clear, under 12.
    layout = laid_out(line(16))
    assert the("short-bay", layout).figure == "11 in clear"
    assert "short-bay" not in codes(laid_out(line(17)))


def test_bays_at_the_maximum_are_noted() -> None:
    assert the("bays-near-maximum", laid_out(line(192))).figure == "96 in on centre"


@pytest.mark.parametrize(
    ("length_in", "gates", "action"),
    [
        (289, (), "Start the line 1 in later"),
        # Sections 0 to 193 and 247 to 487 (240 in, 3 bays with room for 48 more).
        (487, (gate(196),), "Move gate G1 by 1 in towards the line's start"),
        # Sections 0 to 192 and 246 to 535 = 289 in; the first has no room for an inch.
        (535, (gate(195),), "End the line 1 in earlier"),
    ],
)
def test_an_inch_that_costs_a_post_is_offered_back(
    length_in: float, gates: tuple[Any, ...], action: str
) -> None:
    found = the("small-move-saves-a-post", laid_out(line(length_in, gates=gates)))
    assert found.action.startswith(action)


def test_no_move_is_offered_past_a_tree_that_may_need_the_post() -> None:
    tree = FixedPoint(station_in=300, kind="tree", width_in=14)
    assert "small-move-saves-a-post" in codes(laid_out(line(481)))
    assert "small-move-saves-a-post" not in codes(laid_out(line(481, fixed_points=(tree,))))


def test_offered_move_really_saves_a_post() -> None:
    before = only_line(laid_out(line(487, gates=(gate(196),))))
    after = only_line(laid_out(line(487, gates=(gate(195),))))
    assert len(after.posts) == len(before.posts) - 1


@pytest.mark.parametrize(
    ("changes", "code", "figure"),
    [
        ({"clear_opening_in": 2}, "gate-without-leaf", "0 in"),  # 2 less 1 and 1
        ({"clear_opening_in": 80}, "leaf-too-wide", "78 in"),  # over 72
        ({"leaves": 2}, "hinge-side", "hinges on start"),
    ],
)
def test_leaf_and_hinges_are_checked(changes: dict[str, Any], code: str, figure: str) -> None:
    assert the(code, laid_out(line(480, gates=(gate(195, **changes),)))).figure == figure


def test_gate_on_a_post_that_stands_already_is_pointed_out() -> None:
    end = LineEnd(kind="existing_post")
    assert "gate-on-standing-post" in codes(laid_out(line(300, start=end, gates=(gate(3),))))


def test_slope_beyond_the_rack_and_over_ten_percent_is_found() -> None:
    # 270 in falls 27: exactly 10 %, 9 in over each bay of 90, and panels rack 6.
    layout = laid_out(line(270, ground=shots((0, 27), (270, 0))))
    assert the("slope-over-rack", layout).figure == "9 in over the bay"
    assert "steep-ground" not in codes(layout)
    steeper = laid_out(line(270, ground=shots((0, 28), (270, 0))))
    assert the("steep-ground", steeper).figure == "10.4 %"  # 28 / 270


def test_ends_that_no_shot_comes_near_are_named() -> None:
    # Bays of up to 96 in: shots 96 in from an end are near enough, 97 in are not.
    assert "ground-not-shot" not in codes(laid_out(line(270, ground=shots((96, 0), (174, 5)))))
    layout = laid_out(line(270, ground=shots((97, 0), (174, 5))))
    assert the("ground-not-shot", layout).place == "line A, station 0-0 to 8-1"
    layout = laid_out(line(270, ground=shots((0, 0), (20, 5))))
    assert the("ground-not-shot", layout).figure == "20-10 without a shot"
    assert "ground-not-shot" not in codes(laid_out(line(270)))


def test_ground_shots_that_contradict_are_left_out() -> None:
    layout = laid_out(line(270, ground=shots((0, 0), (100, 1), (100, 9), (400, 0))))
    assert the("ground-shots-contradict", layout).place == "line A, station 8-4"
    assert the("ground-shot-off-line", layout).figure == "33-4"


def test_rise_longer_than_the_tape_contradicts() -> None:
    layout = laid_out(line(270, taped="along_grade", ground=shots((0, 0), (100, 120))))
    assert "ground-shots-contradict" in codes(layout)


def test_tape_along_a_hill_without_shots_over_reads() -> None:
    assert "taped-along-grade-without-shots" in codes(laid_out(line(270, taped="along_grade")))
    fabric = line(270, taped="along_grade", system="fabric")
    assert "taped-along-grade-without-shots" not in codes(laid_out(fabric))


def test_abrupt_grade_takes_a_terminal_for_fabric() -> None:
    # Level, then 45 degrees up: over the reference book's 30.
    ground = shots((0, 0), (100, 0), (200, 100))
    assert the("grade-break", laid_out(line(200, system="fabric", ground=ground))).figure == (
        "45 degrees"
    )


def test_corner_far_from_square_is_pointed_out_for_panels() -> None:
    assert "odd-corner-angle" in codes(laid_out(line(legs=legs(192, 96, turn_deg=45))))
    assert "odd-corner-angle" not in codes(laid_out(line(legs=legs(192, 96, turn_deg=-85))))


def test_pool_gate_is_checked_and_left_to_the_local_code() -> None:
    layout = laid_out(line(480, gates=(gate(195),)), pool_barrier=True)
    assert {"pool-gate", "pool-latch", "pool-barrier"} <= codes(layout)
    assert "local code" in the("pool-barrier", layout).action


def test_finished_face_is_told_as_a_compass_point() -> None:
    # The line runs east, so its left looks north and its right south.
    assert the("finished-face", laid_out(line(270))).figure == "A looks north (left)"
    right = line(270, finished_face="right")
    assert the("finished-face", laid_out(right)).figure == "A looks south (right)"


def test_setback_is_a_reminder() -> None:
    assert the("setback", laid_out(line(270), setback_in=36)).limit == "36 in"


def test_gravest_findings_come_first() -> None:
    layout = laid_out(line(300, 200, 150, 300, gates=(gate(5, leaves=2),)), setback_in=6)
    order = [("stop", "warn", "note").index(each.severity) for each in layout.findings]
    assert order == sorted(order)
    assert len(set(order)) == 3


def test_every_finding_says_where_how_much_and_what_to_do() -> None:
    layouts = [
        laid_out(line(300, 200, 150, 300, gates=(gate(100, 400),)), pool_barrier=True),
        laid_out(line(legs=(Leg(length_in=535),), gates=(gate(3, 80),)), setback_in=12),
    ]
    for found in (each for layout in layouts for each in layout.findings):
        assert all((found.message, found.place, found.figure, found.limit, found.action)), found
