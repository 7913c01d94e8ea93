"""The scope says in words what the layout holds."""

from dataclasses import replace

import pytest

from estimating.services.estimate_facts import GateFacts, LineFacts, read_facts
from estimating.services.scope_words import (
    face_looks,
    gate_words,
    line_words,
    scope_text,
)
from firm.measure.written import exact_in, length_words
from tests.factories import estimate_result, site_document

GATE = GateFacts(
    id="G1",
    clear_opening_in=48.0,
    leaves=1,
    use="walk",
    hinge_side="start",
    swing="right",
    latch="standard",
    station_in=194.5,
)
LINE = LineFacts(
    name="Back line",
    yard="rear",
    system_name="vinyl privacy fence",
    height_in=72.0,
    scope="whole_fence",
    finished_face="left",
    length_in=384.0,
    fence_ft=28.0,
    posts={"end": 2, "gate": 2, "line": 1},
    bays=2,
    least_hole_depth_in=36.0,
    hole_depth_in=36.0,
    gates=(GATE,),
)
CATALOG = {"fence_systems": {"vinyl_6": {"name": "vinyl privacy fence", "height_in": 72}}}


def test_a_line_says_length_height_posts_and_face() -> None:
    words = line_words(LINE)
    assert words.startswith(
        "Back line, rear yard: build 32 ft of vinyl privacy fence, 6 ft tall, gates included"
    )
    assert "5 posts (2 at ends, 2 at gates and 1 between), set in concrete in holes" in words
    assert "The finished side is ticked on the plan." in words


def test_steps_are_told_with_the_highest_and_what_stays_open() -> None:
    stepped = replace(LINE, steps_in=(6.0, 7.5), widest_gap_in=9.5)
    assert (
        "On the slope its top runs in 2 steps of up to 7 1/2 in; "
        "at the lowest places 9 1/2 in stay open under it."
    ) in line_words(stepped)
    assert "in 1 step of 6 in;" in line_words(replace(stepped, steps_in=(6.0,)))
    assert "step" not in line_words(LINE)
    assert "step" not in line_words(replace(stepped, scope="posts_only"))


# x to the east, y to the north. Walking east, left is north and right is south. The L goes east,
# then south: its left looks north, then east. The U and the ring turn right, so their left is
# outside; walked the other way round, it is inside.
EAST, L, U = ((0, 0), (9, 0)), ((0, 0), (9, 0), (9, -9)), ((0, 0), (9, 0), (9, -9), (0, -9))
OUTWARD = "outward, away from what the fence goes around"
INWARD = "inward, toward what the fence goes around"


@pytest.mark.parametrize(
    ("points", "face", "looks"),
    [
        (EAST, "left", "north"),
        (EAST, "right", "south"),
        (((0, 0), (9, 9)), "right", "southeast"),
        (L, "left", "north and east"),
        (U, "left", OUTWARD),
        (U, "right", INWARD),
        ((*U, (0, 0)), "left", OUTWARD),
        (U[::-1], "left", INWARD),
        ((), "left", ""),
    ],
)
def test_the_finished_side_is_told_in_the_customers_words(
    points: tuple[tuple[float, float], ...], face: str, looks: str
) -> None:
    line = replace(LINE, plan_points=points, finished_face=face)
    assert face_looks(line) == looks
    if looks:
        assert f"The finished side looks {looks} (ticked on the plan)." in line_words(line)


def test_a_gate_that_opens_to_an_inner_finished_side_opens_inward() -> None:
    line = replace(LINE, plan_points=U, finished_face="right")
    assert "swings outward (away from the finished side)" in gate_words(
        replace(GATE, swing="left"), line
    )
    assert "swings inward (toward the finished side)" in gate_words(GATE, line)


def test_a_height_in_the_systems_name_is_not_said_twice() -> None:
    words = line_words(replace(LINE, system_name="Chain link, 6 ft"))
    assert "build 32 ft of Chain link, 6 ft tall, gates" in words


@pytest.mark.parametrize(
    ("face", "hinge", "hand"),
    [
        # Walking north, left is west. Who stands west and faces the fence looks east: the start,
        # in the south, is at the right hand. From the east it is at the left.
        ("left", "start", "right"),
        ("left", "end", "left"),
        ("right", "start", "left"),
        ("right", "end", "right"),
    ],
)
def test_hinges_are_told_from_the_finished_side(face: str, hinge: str, hand: str) -> None:
    words = gate_words(replace(GATE, hinge_side=hinge), replace(LINE, finished_face=face))
    assert f"hinged on the {hand} as seen from the finished side" in words


def test_a_swing_away_from_the_finished_side_is_inward() -> None:
    assert "swings inward (away from the finished side)" in gate_words(GATE, LINE)
    assert "swings outward" in gate_words(replace(GATE, swing="left"), LINE)


def test_a_double_gate_hangs_on_both_sides() -> None:
    words = gate_words(replace(GATE, leaves=2, use="drive", clear_opening_in=120.5), LINE)
    assert words.startswith(
        "Gate G1: drive gate, 120 1/2 in clear, two leaves, hinged on both sides"
    )
    words = gate_words(replace(GATE, leaves=2, use="drive", clear_opening_in=120.0), LINE)
    assert words.startswith("Gate G1: drive gate, 10 ft (120 in) clear, two leaves")


def test_posts_only_says_who_hangs_the_rest() -> None:
    words = line_words(replace(LINE, scope="posts_only"))
    assert "set posts only for 32 ft" in words
    assert "hung by others" in words


def test_removal_says_that_footings_stay() -> None:
    words = line_words(replace(LINE, scope="removal", posts={}, gates=()))
    assert "take down 32 ft of old fence" in words
    assert "Old footings stay" in words
    assert "concrete" not in words


def test_removal_says_how_many_footings_come_out() -> None:
    removal = replace(LINE, scope="removal", posts={}, gates=())
    assert "9 old footings are dug out." in line_words(replace(removal, old_footings=9))
    assert "1 old footing is dug out." in line_words(replace(removal, old_footings=1))
    assert "stay" not in line_words(replace(removal, old_footings=9))


def test_holes_of_two_depths_are_told_as_such() -> None:
    # Gate posts stand deeper than the rest: the customer is promised neither depth for all.
    words = line_words(replace(LINE, least_hole_depth_in=33.0, hole_depth_in=39.0))
    assert "in holes planned 33 in to 39 in deep" in words


@pytest.mark.parametrize("name", ["Chain link, 6 ft", "Chain link 6 ft"])
def test_a_height_is_said_once_however_the_name_says_it(name: str) -> None:
    assert "of Chain link, 6 ft tall" in line_words(replace(LINE, system_name=name))


def test_soil_is_hauled_only_where_the_site_says_so() -> None:
    document = site_document()
    facts = read_facts(document=document, catalog=CATALOG, result=estimate_result())
    assert "hauled away" in scope_text(facts)
    document["conditions"]["spoil"] = "spread"
    facts = read_facts(document=document, catalog=CATALOG, result=estimate_result())
    assert "spread on the site" in scope_text(facts)


@pytest.mark.parametrize(
    ("inches", "words"),
    [(384.0, "32 ft"), (387.0, "32 ft 3 in"), (9.0, "9 in"), (0.0, "0 in"), (11.6, "1 ft")],
)
def test_lengths_are_told_in_feet_and_whole_inches(inches: float, words: str) -> None:
    assert length_words(inches) == words


@pytest.mark.parametrize(
    ("inches", "words"), [(48.0, "48 in"), (47.5, "47 1/2 in"), (0.0625, "1/16 in")]
)
def test_exact_lengths_keep_the_sixteenth(inches: float, words: str) -> None:
    assert exact_in(inches) == words


def test_a_slide_gate_says_where_it_goes_and_that_hands_move_it() -> None:
    # The start lies at the right hand of who stands left of the line and faces it.
    slide = replace(GATE, kind="slide", use="drive", clear_opening_in=192.0)

    assert gate_words(slide, LINE).endswith(
        "one leaf, slides to the right as seen from the finished side, moved by hand."
    )


def test_an_unequal_pair_says_both_widths() -> None:
    pair = replace(GATE, leaves=2, hinge_side="both", leaf_widths_in=(48.0, 96.0))

    assert "two leaves, 48 in and 96 in, hinged on both sides" in gate_words(pair, LINE)
    assert "two leaves, hinged" in gate_words(replace(pair, leaf_widths_in=(46.0, 46.0)), LINE)


@pytest.mark.parametrize(
    ("holes", "words"),
    [
        ([(12.0, 2.0)], "set in concrete in holes planned"),
        ([(8.0, 0.0)], "tamped in earth in holes planned"),
        ([(0.0, 0.0)], "driven into the ground planned"),
        ([(0.0, 0.0), (14.0, 0.0)], "driven into the ground or tamped in earth in holes planned"),
    ],
)
def test_how_posts_are_set_is_said_as_their_holes_show_it(
    holes: list[tuple[float, float]], words: str
) -> None:
    result = estimate_result()
    numbers = [post["number"] for post in result["lines"][0]["posts"]]
    result["holes"] = [
        {"post_number": number, "diameter_in": d, "depth_in": 36.0, "concrete_ft3": c}
        for number, (d, c) in zip(numbers, holes * len(numbers), strict=False)
    ]
    facts = read_facts(document=site_document(), catalog=CATALOG, result=result)

    assert words in line_words(facts.lines[0])
