"""A post too short for its hole is taken in the least greater length that is long enough."""

from collections import Counter
from dataclasses import replace

import pytest

from estimating.engine.estimate import estimate_lines
from estimating.engine.result import EstimateResult
from estimating.engine.site import Conditions, Gate
from tests.engine_cases import WOOD, catalog, straight_line
from tests.starter_cases import estimate_line, fence_line

GATE = Gate(id="G1", station_in=96.0, clear_opening_in=48.0)


def lengths(result: EstimateResult) -> Counter[float]:
    return Counter(post.length_in for line in result.lines for post in line.posts)


def codes(result: EstimateResult) -> set[str]:
    return {finding.code for finding in result.findings}


def test_chain_link_in_deep_frost_takes_the_next_length() -> None:
    # 40 ft at 10 ft: 2 ends and 3 line posts. Line: 48 - 2 + 30 = 76 in, over 72: the 7 ft one.
    # End: 48 + 2 + 30 = 80 in, over 78: the 7 ft 6 in one.
    result = estimate_line(
        fence_line("chain_link_4ft", [40.0]), None, Conditions(frost_depth_in=30.0)
    )

    bought = {each.item: each.purchase_units for each in result.quantities}
    assert lengths(result) == {84.0: 3, 90.0: 2}
    assert (bought["cl_line_post_4ft_long"], bought["cl_terminal_post_4ft_long"]) == (3, 2)
    assert "cl_line_post_4ft" not in bought
    longer = next(each for each in result.findings if each.code == "longer-posts")
    assert (longer.place, longer.figure) == ("posts 1, 2, 3, 4, 5", "84 in, 90 in")
    assert "post-too-short" not in codes(result)


def test_where_the_usual_post_is_long_enough_it_is_taken() -> None:
    # Line: 46 + 26 = 72 in. End: 50 + 28 = 78 in, but at 26 in of frost 76.
    result = estimate_line(
        fence_line("chain_link_4ft", [40.0]), None, Conditions(frost_depth_in=26.0)
    )

    assert lengths(result) == {72.0: 3, 78.0: 2}
    assert "longer-posts" not in codes(result)


def test_a_gate_post_goes_deeper_and_gets_its_own_length() -> None:
    # Frost 44: 72 + 44 = 116 in, the 10 ft post; at the gate 6 in deeper, 122 in: the 11 ft one.
    result = estimate_line(
        fence_line("vinyl_privacy_6ft", [40.0], gates=(GATE,)),
        None,
        Conditions(frost_depth_in=44.0),
    )

    by_kind = {(post.kind == "gate", post.length_in) for post in result.lines[0].posts}
    assert by_kind == {(False, 120.0), (True, 132.0)}


@pytest.mark.parametrize("longer", [{}, {"post_4x4_9ft3": 111.0}])
def test_where_no_length_is_enough_the_finding_says_what_to_order(longer: dict[str, float]) -> None:
    # 72 above and 40 below: 112 in.
    wood = replace(WOOD, posts={"end": replace(WOOD.posts["end"], longer=longer)})
    result = estimate_lines(
        [straight_line(bays=2, system=wood)], catalog(wood), Conditions(frost_depth_in=40.0)
    )

    found = next(each for each in result.findings if each.code == "post-too-short")
    assert found.action.startswith("Order posts of 112 in or more")
    assert lengths(result) == {108.0: 3}
