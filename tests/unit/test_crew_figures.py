"""What a crew tapes from its string: worked by hand on level, falling, dipping and turning ground.

The racked rule (tops follow the string, holes keep their depth below their own ground) is common
practice, no source.
"""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.engine.crew_figures import (
    PostFigures,
    Stake,
    StringPost,
    bag_share,
    post_figures,
)

STRING_IN = 12.0


def post(number: int, x_in: float, ground_in: float = 0.0, y_in: float = 0.0) -> StringPost:
    """Return a post of a 72 in fence in a 36 in hole."""
    return StringPost(
        number=number,
        stake=Stake(x_in=x_in, y_in=y_in, ground_in=ground_in),
        top_over_ground_in=72.0,
        hole_depth_in=36.0,
    )


def figures(*posts: StringPost) -> list[PostFigures]:
    return list(post_figures(posts, string_height_in=STRING_IN).values())


def test_on_level_ground_every_post_tapes_the_same() -> None:
    # Top 72 over the ground, string 12: 60 above it. String to bottom 12 + 36 = 48. 60 + 48 = 108.
    assert (
        figures(post(1, 0.0), post(2, 96.0), post(3, 192.0))
        == [
            PostFigures(
                string_over_ground_in=12.0,
                top_above_string_in=60.0,
                string_to_bottom_in=48.0,
                needed_length_in=108.0,
            )
        ]
        * 3
    )


def test_on_an_even_fall_the_string_runs_with_the_ground() -> None:
    # 30 in of fall over 48 ft, 6 bays: 5 in a bay, ground and string alike. Same figures as level.
    posts = [post(number, 96.0 * number, -5.0 * number) for number in range(7)]

    found = figures(*posts)

    assert {each.top_above_string_in for each in found} == {60.0}
    assert [each.string_to_bottom_in for each in found] == pytest.approx([48.0] * 7)
    assert [each.needed_length_in for each in found] == pytest.approx([108.0] * 7)


def test_over_a_dip_the_hole_lies_deeper_and_the_post_must_be_longer() -> None:
    # The string goes from 0 + 12 to -8 + 12 over 192 in; in the middle it stands at 8.
    # The ground there lies at -10: 8 + 10 = 18 over it. Bottom 18 + 36 = 54; post 60 + 54 = 114.
    middle = figures(post(1, 0.0), post(2, 96.0, -10.0), post(3, 192.0, -8.0))[1]

    assert middle.string_over_ground_in == 18.0
    assert middle.top_above_string_in == 60.0
    assert middle.string_to_bottom_in == 54.0
    assert middle.needed_length_in == 114.0


def test_over_a_hump_the_string_can_run_under_the_ground() -> None:
    # Level string at 12, hump of 15: the string would run 3 in under the grass. 36 - 3 = 33.
    middle = figures(post(1, 0.0), post(2, 96.0, 15.0), post(3, 192.0))[1]

    assert (middle.string_over_ground_in, middle.string_to_bottom_in) == (-3.0, 33.0)
    assert middle.needed_length_in == 93.0


def test_the_string_is_tied_anew_where_the_line_turns() -> None:
    # East 96 in and on 96, then south: the corner is tied 12 over its own ground at -6, so post 2
    # halfway to it lies under a string at 12 - 3 = 9, over level ground.
    east = (post(1, 0.0), post(2, 96.0), post(3, 192.0, -6.0))
    south = (post(4, 192.0, -2.0, y_in=96.0), post(5, 192.0, 2.0, y_in=192.0))

    found = figures(*east, *south)

    # South leg: 6 at the corner to 14 at the end; halfway 10, over ground at -2: 12.
    assert [each.string_over_ground_in for each in found] == [12.0, 9.0, 12.0, 12.0, 12.0]


def test_a_string_tied_at_another_lines_post_counts_from_there() -> None:
    # Tied at 0 to a post of another line with ground at 4, ends 192 in on over ground at 0:
    # 16 to 12, halfway 14 over level ground.
    found = post_figures(
        [post(7, 96.0), post(8, 192.0)],
        string_height_in=STRING_IN,
        before=Stake(x_in=0.0, y_in=0.0, ground_in=4.0),
    )

    assert {number: each.string_over_ground_in for number, each in found.items()} == {
        7: 14.0,
        8: 12.0,
    }


def test_a_closed_line_is_tied_at_its_first_post_again() -> None:
    # Back from (96, 0) at ground 6 to the first post at ground 0, halfway 18 to 12 is 15 over 0.
    square = [
        post(1, 0.0),
        post(2, 96.0, y_in=-96.0),
        post(3, 96.0, 6.0),
        post(4, 48.0),
    ]

    found = post_figures(
        square,
        string_height_in=STRING_IN,
        after=Stake(x_in=0.0, y_in=0.0, ground_in=0.0),
    )

    assert found[4].string_over_ground_in == 15.0


def test_gravel_shortens_the_post_not_the_hole() -> None:
    bedded = StringPost(
        number=1,
        stake=Stake(x_in=0.0, y_in=0.0, ground_in=0.0),
        top_over_ground_in=72.0,
        hole_depth_in=36.0,
        gravel_in=4.0,
    )
    # 60 above + 48 below the string, less 4 of gravel under the post's foot: 104.
    found = figures(bedded)[0]
    assert (found.string_to_bottom_in, found.needed_length_in) == (48.0, 104.0)


@pytest.mark.parametrize(
    ("concrete_ft3", "bags"),
    [
        # pi/4 x 12^2 x 30 / 1728 = 1.963 ft3, + 10 % = 2.160, / 0.60 = 3.6 bags: 4 to the half.
        (1.9635, 4.0),
        # Table of bag counts: 10 x 30, + 10 %: 1.3635 x 1.1 / 0.6 = 2.4998, so 2.5.
        (1.3635, 2.5),
        (0.0, 0.0),
    ],
)
def test_bags_are_rounded_up_to_the_half(concrete_ft3: float, bags: float) -> None:
    assert bag_share(concrete_ft3, waste_factor=1.1, yield_ft3=0.6) == bags


def test_without_a_yield_no_bags_are_counted() -> None:
    assert bag_share(1.5, waste_factor=1.1, yield_ft3=0.0) == 0.0


grounds = st.floats(-60.0, 60.0)
strides = st.floats(12.0, 120.0)


@given(
    first_in=grounds,
    rest=st.lists(st.tuples(strides, grounds), min_size=1, max_size=30),
    string_in=st.floats(0.0, 48.0),
    bearing=st.floats(0.0, 2 * math.pi),
)
def test_tops_lie_on_one_straight_line_and_holes_keep_their_depth(
    first_in: float, rest: list[tuple[float, float]], string_in: float, bearing: float
) -> None:
    stations, at_in = [(0.0, first_in)], 0.0
    for stride_in, ground_in in rest:
        at_in += stride_in
        stations.append((at_in, ground_in))
    posts = [
        post(number, at_in * math.cos(bearing), ground_in, at_in * math.sin(bearing))
        for number, (at_in, ground_in) in enumerate(stations)
    ]

    found = post_figures(posts, string_height_in=string_in)

    # Where the top stands: own ground, string over it, top over the string.
    tops = [
        ground_in + found[number].string_over_ground_in + found[number].top_above_string_in
        for number, (_, ground_in) in enumerate(stations)
    ]
    rise_per_in = (stations[-1][1] - first_in) / stations[-1][0]
    for (at_in, _), top_in in zip(stations, tops, strict=True):
        assert top_in == pytest.approx(first_in + 72.0 + rise_per_in * at_in, abs=1e-6)
    for each in found.values():
        assert each.string_to_bottom_in == each.string_over_ground_in + 36.0
        assert each.needed_length_in == each.top_above_string_in + each.string_to_bottom_in
