"""Gates with their posts, leaves and hardware against figures worked by hand.

The working stands in the comments of `gates.expected.toml`. The rules are common practice, no
source, but for what the fence systems' own comments name.
"""

import tomllib
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from estimating.engine.result import EstimateResult, GateLayout
from estimating.engine.site import Gate
from tests.starter_cases import estimate_line, fence_line

WORKED: dict[str, Any] = tomllib.loads((Path(__file__).parent / "gates.expected.toml").read_text())


@cache
def estimated(key: str) -> EstimateResult:
    worked = WORKED[key]
    gate = Gate(id="G1", **worked["gate"])
    return estimate_line(fence_line(worked["system"], [worked["length_in"] / 12], gates=(gate,)))


def the_gate(key: str) -> GateLayout:
    (gate,) = estimated(key).lines[0].gates
    return gate


@pytest.mark.parametrize("key", WORKED)
class TestAgainstHandWork:
    def test_leaves(self, key: str) -> None:
        gate = the_gate(key)

        assert list(gate.widths_in) == WORKED[key]["leaves_in"]
        assert gate.tail_in == WORKED[key]["tail_in"]
        assert gate.on_centre_in == WORKED[key]["on_centre_in"]

    def test_posts_and_their_holes(self, key: str) -> None:
        holes = {hole.post_number: hole for hole in estimated(key).holes}
        came = [
            [
                post.station_in,
                post.size,
                post.product,
                holes[post.number].diameter_in,
                holes[post.number].depth_in,
            ]
            for post in estimated(key).lines[0].posts
            if post.kind == "gate"
        ]

        assert came == WORKED[key]["gate_posts"]

    def test_sections_and_bays(self, key: str) -> None:
        sections = estimated(key).lines[0].sections

        assert [each.length_in for each in sections] == WORKED[key]["sections_in"]
        assert [each.bays for each in sections] == WORKED[key]["bays"]

    def test_items(self, key: str) -> None:
        came = {
            row.item: [round(row.net, 6), row.purchase_units] for row in estimated(key).quantities
        }
        wanted = WORKED[key]["quantities"]

        assert {item: came.get(item) for item in wanted} == wanted
        assert not came.keys() & set(WORKED[key]["absent"])

    def test_bags_and_hours(self, key: str) -> None:
        hours = {row.phase: row.labor_hours for row in estimated(key).hours}

        assert estimated(key).concrete.bags == WORKED[key]["bags"]
        assert hours["set"] == pytest.approx(WORKED[key]["set_hours"])
        assert hours["gates"] == pytest.approx(WORKED[key]["gate_hours"])

    def test_nothing_stops_it(self, key: str) -> None:
        assert [f.message for f in estimated(key).findings if f.severity == "stop"] == []
