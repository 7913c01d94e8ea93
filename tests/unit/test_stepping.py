"""The choice of level and following bays against every choice there is, on small rows of bays."""

import itertools
from collections.abc import Iterator

from hypothesis import given, settings
from hypothesis import strategies as st

from estimating.engine.stepping import Choices, choose

Heights = tuple[int | None, ...]


def cost(ground: list[int], heights: Heights | list[int | None]) -> tuple[int, int]:
    """Count the steps of a choice, and what posts are longer by: the taller bay less the ground."""
    bases = [
        (ground[i], ground[i + 1]) if height is None else (height, height)
        for i, height in enumerate(heights)
    ]
    steps = sum(before[1] != after[0] for before, after in itertools.pairwise(bases))
    carried = [bases[0][0], *(max(a[1], b[0]) for a, b in itertools.pairwise(bases)), bases[-1][1]]
    return steps, sum(carried) - sum(ground)


def every_choice(bays: list[Choices]) -> Iterator[tuple[int | None, ...]]:
    return itertools.product(
        *(
            [*([None] if bay.may_follow else []), *range(bay.lowest, bay.highest + 1)]
            for bay in bays
        )
    )


@st.composite
def rows(draw: st.DrawFn) -> tuple[list[int], list[Choices]]:
    """Return the ground at up to seven posts and bays that may do something there."""
    count = draw(st.integers(1, 6))
    small = st.integers(0, draw(st.sampled_from((2, 4, 9))))
    ground = draw(st.lists(small, min_size=count + 1, max_size=count + 1))
    rack, over = draw(st.integers(0, 3)), draw(st.integers(0, 3))
    bays = []
    for start, end in itertools.pairwise(ground):
        lowest = max(start, end) + draw(st.sampled_from((0, 0, 0, 1)))
        highest = min(start, end) + over
        may_follow = abs(start - end) <= rack and draw(st.integers(0, 9)) > 0
        bays.append(
            Choices(
                may_follow=may_follow,
                lowest=lowest,
                highest=highest if may_follow else max(lowest, highest),
            )
        )
    return ground, bays


@settings(max_examples=400, deadline=None)
@given(row=rows())
def test_no_choice_has_fewer_steps_or_as_few_and_shorter_posts(
    row: tuple[list[int], list[Choices]],
) -> None:
    ground, bays = row

    chosen = choose(ground, bays)

    for height, bay in zip(chosen, bays, strict=True):
        is_allowed = bay.may_follow if height is None else bay.lowest <= height <= bay.highest
        assert is_allowed
    assert cost(ground, chosen) == min(cost(ground, heights) for heights in every_choice(bays))


def level(*heights: tuple[int, int]) -> list[Choices]:
    return [Choices(may_follow=False, lowest=low, highest=high) for low, high in heights]


def test_a_valley_is_bridged_at_one_height_rather_than_stepped() -> None:
    # Ground 4, 0, 4; neither bay can follow; both may stand level from 4 to 6: one height, no step.
    assert choose([4, 0, 4], level((4, 6), (4, 6))) == [4, 4]


def test_a_fall_out_of_reach_steps_at_the_height_of_each_upper_post() -> None:
    # Each bay falls 5 and may stand at most 6 over its ground: no height serves two bays.
    ground = [0, -5, -10, -15]
    assert choose(ground, level((0, 1), (-5, -4), (-10, -9))) == [0, -5, -10]


def test_bays_that_can_follow_do() -> None:
    follow = Choices(may_follow=True, lowest=2, highest=5)
    assert choose([0, 2, 1], [follow, follow]) == [None, None]


def test_of_as_few_steps_the_shorter_posts_are_taken_where_a_step_goes_down() -> None:
    # Ground 3, 1, 0, 4. The first bay stands at 6, so one step is left in any case. The second
    # bay at 6 and the third on the ground: posts stand to 6, 6, 6 and 4, 22. The second at 4 with
    # the third, the step one post earlier: 6, 6, 4, 4, 20.
    last = Choices(may_follow=True, lowest=4, highest=4)
    assert choose([3, 1, 0, 4], [*level((6, 6), (2, 6)), last]) == [6, 4, 4]


def test_a_bay_that_could_follow_stands_level_where_that_saves_a_step() -> None:
    # Ground 4, 0, 1, 5: the outer bays can't follow and stand level at 4 and 5, the middle one
    # could. Following takes a step at both its posts; level at 4 or 5 it takes one. At 5 all three
    # share one height and there is none: posts longer by 1 + 5 + 4 + 0.
    middle = Choices(may_follow=True, lowest=1, highest=6)
    outer = level((4, 6), (5, 7))
    assert choose([4, 0, 1, 5], [outer[0], middle, outer[1]]) == [5, 5, 5]
