"""Layouts at the edge of what is asked: loops closed by a gate, circles of sharing, near limits."""

from dataclasses import replace

from estimating.engine.infill import boards_in_bay
from estimating.engine.site import LineEnd
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


def test_a_gate_at_the_end_of_a_loop_makes_its_start_a_gate_post() -> None:
    # The last leg runs from 360 to 480; a gate post is 6 in wide, so the opening ends at 477.
    loop = line(120, 120, 120, 120, closed=True, gates=(gate(429),))

    layout = only_line(laid_out(loop))

    assert layout.posts[0].kind == "gate"
    assert layout.gates[0].to_post == 1


def test_lines_that_share_each_other_s_ends_are_laid_out_all_the_same() -> None:
    # Each says that its start is the other's end: nobody sets either post, and it is said.
    one = line(240, start=shared("B", "end"))
    other = line(240, id="B", legs=legs(240), start=shared("A", "end"))

    layout = laid_out(one, other)

    assert len(layout.lines) == 2
    assert all(len(each.bays) == 3 for each in layout.lines)


def test_a_pool_gate_with_a_pool_latch_is_not_told_to_have_one() -> None:
    pool = gate(100, use="pool", latch="self-latching, release at 54 in")

    found = codes(laid_out(line(300, gates=(pool,))))

    assert "pool-gate" in found
    assert "pool-latch" not in found


def test_a_fence_clear_of_its_yard_s_limit_is_not_told_of_it() -> None:
    # 72 in from the ground to the top, the gap of 2 in inside them.
    assert not {
        each for each in codes(laid_out(line(270), height_limit_rear_in=72)) if "height" in each
    }
    assert "too-tall-for-yard" in codes(laid_out(line(270), height_limit_rear_in=71))


def test_a_shared_end_that_does_not_meet_its_post_is_said() -> None:
    # Line B runs east from the origin as A does, 300 in where A's post stands at 240.
    layout = laid_out(line(240), line(300, id="B", start_y_in=60, end=shared("A", "end")))

    assert "shared-post-apart" in codes(layout)


def test_a_start_point_given_beside_a_shared_post_is_not_used_silently() -> None:
    layout = laid_out(line(240), line(300, id="B", start_x_in=500, start=shared("A", "end")))

    assert "shared-start-moved" in codes(layout)


def test_fabric_shorter_than_its_pull_distance_takes_no_pull_post() -> None:
    posts = only_line(laid_out(line(5999, system="fabric"))).posts
    assert "pull" not in {post.kind for post in posts}
    posts = only_line(laid_out(line(6001, system="fabric"))).posts
    assert [post.kind for post in posts].count("pull") == 1


def test_infill_without_boards_takes_none() -> None:
    # Fabric has no board; of 10 in coverage 91 in less no channel take 10.
    assert boards_in_bay(FABRIC, 91) == 0
    assert boards_in_bay(replace(PANEL, board_coverage_in=10), 91) == 10


def test_a_wall_is_no_post() -> None:
    walled = only_line(laid_out(line(288, start=LineEnd(kind="wall", measured_at="wall_face"))))

    assert walled.bays[0].from_post == 0
    assert walled.bays[0].spacer_in == 96 - 2.5  # the wall face to the face of a 5 in post
