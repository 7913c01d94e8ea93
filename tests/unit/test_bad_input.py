"""Bad input: a finding names the place and the figure, and the rest of the site stands."""

import copy
import math
from typing import Any

import pytest

from estimating.engine.errors import EngineError
from estimating.engine.result import EstimateResult, Finding
from tests.bad_input import DOCUMENT, Document, spoiled, starter_data, worked_out


def found_in(result: EstimateResult, code: str) -> Finding:
    found = [each for each in result.findings if each.code == code]
    assert found, f"no {code} among {[each.code for each in result.findings]}"
    return found[0]


def assert_line_a_stands(result: EstimateResult) -> None:
    """36 ft and 25 ft of chain link at most 10 ft apart: 4 and 3 bays, so 8 posts."""
    line = next(each for each in result.lines if each.line_id == "A")
    assert [len(line.bays), len(line.posts)] == [7, 8]
    assert sum(hole.post_number in {post.number for post in line.posts} for hole in result.holes)
    # A tension bar at each end and two at the corner.
    assert {each.item: each.net for each in result.quantities}["cl_tension_bar_4ft"] == 4
    assert result.money.price > 0


@pytest.mark.parametrize(
    ("path", "value", "field"),
    [
        ("lines.1.legs.0.length_in", 0, "lines[1].legs[0].length_in"),
        ("lines.1.legs.0.length_in", -480, "lines[1].legs[0].length_in"),
        ("lines.1.legs.0.length_in", 1e9, "lines[1].legs[0].length_in"),
        ("lines.1.legs.0.length_in", math.nan, "lines[1].legs[0].length_in"),
        ("lines.1.legs.0.length_in", "forty", "lines[1].legs[0].length_in"),
        ("lines.1.legs", [], "lines[1].legs"),
        ("lines.1.legs.1.turn_deg", 400, "lines[1].legs[1].turn_deg"),
        ("lines.1.closed", True, "lines[1].legs"),
        ("lines.1.gates.0.clear_opening_in", 0, "lines[1].gates[0].clear_opening_in"),
        ("lines.1.gates.0.clear_opening_in", -48, "lines[1].gates[0].clear_opening_in"),
        ("lines.1.no_dig.0.facility_width_in", -1, "lines[1].no_dig[0].facility_width_in"),
        ("lines.1.ground.0.elevation_in", "high", "lines[1].ground[0].elevation_in"),
        ("lines.1.colour", "white", "lines[1].colour"),
        ("lines.1.id", "A", "lines[1].id"),
        ("lines.1", 7, "lines[1]"),
    ],
)
def test_a_line_that_cannot_be_read_is_named_and_the_other_stands(
    path: str, value: Any, field: str
) -> None:
    result = worked_out(spoiled(path, value))
    found = found_in(result, "line-not-read")

    assert (found.severity, found.figure) == ("stop", field)
    assert found.place in ("line B", "line A", "line 2")
    assert "is left out" in found.message
    assert [line.line_id for line in result.lines] == ["A"]
    assert_line_a_stands(result)


@pytest.mark.parametrize(
    ("path", "value", "code", "place", "figure"),
    [
        # A gate wider than its leg: 45 ft in a leg of 40.
        (
            "lines.1.gates.0.clear_opening_in",
            540,
            "gate-longer-than-leg",
            "line B, gate G1, station 16-8",
            "540 in clear opening",
        ),
        # One that begins beyond the line's 64 ft.
        ("lines.1.gates.0.station_in", 900, "gate-off-line", "line B, gate G1", "75-0"),
        # An opening that its gaps of 1 in and 1 in take up.
        ("lines.1.gates.0.clear_opening_in", 2, "gate-without-leaf", "line B, gate G1", "0 in"),
        # Two heights at one station.
        (
            "lines.1.ground.1",
            {"station_in": 0, "elevation_in": 30},
            "ground-shots-contradict",
            "line B, station 0-0",
            "height 30 in",
        ),
        ("lines.1.ground.1.station_in", 5000, "ground-shot-off-line", "line B", "416-8"),
        # A leg of 4 in between two posts of 5 in: they stand 4 in apart and want 5.
        ("lines.1.legs.1.length_in", 4, "posts-overlap", "line B, bay", "4 in on centre"),
        # A mark on the end post.
        ("lines.1.no_dig.0.station_in", 0, "post-in-mark", "line B, post 9", "0 in from"),
        (
            "lines.1.start",
            {"kind": "shared_post", "shared_line": "Z", "shared_at": "end"},
            "shared-post-missing",
            "line B",
            "end of line Z",
        ),
        (
            "lines.1.system",
            "vinyl_privacy_6tf",
            "line-without-system",
            "line B",
            "fence system 'vinyl_privacy_6tf'",
        ),
    ],
)
def test_a_figure_that_breaks_a_rule_is_named_with_its_place(
    path: str, value: Any, code: str, place: str, figure: str
) -> None:
    result = worked_out(spoiled(path, value))
    found = found_in(result, code)

    assert found.place.startswith(place)
    assert found.figure.startswith(figure)
    assert found.action
    assert_line_a_stands(result)


def with_own_system(**changes: Any) -> Document:
    """Return the document with a fence system of its own on line B."""
    document = copy.deepcopy(DOCUMENT)
    own = {**copy.deepcopy(starter_data()["fence_systems"]["vinyl_privacy_6ft"]), **changes}
    document["fence_systems"] = {"own": {k: v for k, v in own.items() if v != "nothing"}}
    document["lines"][1]["system"] = "own"
    return document


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"max_on_centre_in": "nothing"}, "fence_systems.own.max_on_centre_in is missing"),
        ({"max_on_centre_in": 0}, "fence_systems.own.max_on_centre_in can't be below 12"),
        ({"max_on_centre_in": None}, "fence_systems.own.max_on_centre_in is missing"),
        ({"posts": {}}, "fence_systems.own.posts.end is missing"),
        ({"height_in": -72}, "fence_systems.own.height_in can't be negative: it is -72"),
    ],
)
def test_a_system_without_spacing_leaves_out_its_line_alone(
    changes: dict[str, Any], words: str
) -> None:
    result = worked_out(with_own_system(**changes))
    found = found_in(result, "line-without-system")

    assert (found.severity, found.place, found.figure) == ("stop", "line B", "fence system 'own'")
    assert words in found.message
    assert [line.line_id for line in result.lines] == ["A"]
    assert_line_a_stands(result)


def test_a_missing_price_is_counted_and_named_with_its_lines() -> None:
    materials = [{"item": "gold_leaf", "driver": "bay"}]
    result = worked_out(with_own_system(materials=materials))
    found = found_in(result, "missing-price")

    assert (found.severity, found.place, found.figure) == ("stop", "prices.gold_leaf", "line B")
    # Line B: 480 less the gate, and 288 in; each bay takes one.
    bays = sum(len(line.bays) for line in result.lines if line.line_id == "B")
    assert {each.item: each.net for each in result.quantities}["gold_leaf"] == bays > 0
    assert_line_a_stands(result)


def test_one_line_that_names_nothing_leaves_others_that_end_on_it() -> None:
    # Line A ends on line B's start, and B's system is unknown: A keeps its posts but that one.
    document = spoiled("lines.1.system", "bamboo")
    document["lines"][0]["end"] = {"kind": "shared_post", "shared_line": "B", "shared_at": "start"}
    result = worked_out(document)

    assert found_in(result, "line-without-system").place == "line B"
    assert found_in(result, "shared-post-missing").place == "line A"
    assert len(result.lines[0].posts) == 7


def test_a_line_shorter_than_its_posts_is_named_and_no_rail_is_cut_for_it() -> None:
    # Two posts of 5 in a sixteenth apart.
    result = worked_out(spoiled("lines.1.legs", [{"length_in": 1 / 16}]) | {"conditions": {}})
    found = found_in(result, "posts-overlap")

    assert (found.severity, found.figure) == ("stop", "1/16 in on centre")
    assert "gate" not in found.action
    assert not any("vinyl_rail" in cut.item for cut in result.cuts)
    assert_line_a_stands(result)


@pytest.mark.parametrize(
    ("path", "value", "field"),
    [
        ("conditions.frost_depth_in", -1, "conditions.frost_depth_in"),
        ("conditions.frost_depth_in", 1e6, "conditions.frost_depth_in"),
        ("conditions.wind_speed_mph", 0, "conditions.wind_speed_mph"),
        ("version", 9, "version"),
        ("lines", [], "lines"),
        ("lines", [{"id": "A"}, {"id": "B"}], "lines[0].legs"),
    ],
)
def test_what_spoils_the_whole_site_is_refused_by_its_field(
    path: str, value: Any, field: str
) -> None:
    with pytest.raises(EngineError) as refused:
        worked_out(spoiled(path, value))

    assert refused.value.field == field
    assert str(refused.value)
