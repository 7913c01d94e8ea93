"""One small site of each further fence system against its figures worked by hand.

The working stands in the comments of `systems.expected.toml`. The rules are common practice, no
source, but for what the fence systems' own comments name.
"""

import tomllib
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from estimating.engine.result import EstimateResult
from tests.starter_cases import estimate_line, fence_line

WORKED: dict[str, Any] = tomllib.loads(
    (Path(__file__).parent / "systems.expected.toml").read_text()
)


@cache
def estimated(key: str) -> EstimateResult:
    return estimate_line(fence_line(key, WORKED[key]["legs_ft"]))


@pytest.mark.parametrize("key", WORKED)
class TestAgainstHandWork:
    def test_bays(self, key: str) -> None:
        came = sorted(bay.on_centre_in for bay in estimated(key).lines[0].bays)

        if "bays" in WORKED[key]:
            assert len(came) == WORKED[key]["bays"]
        else:
            assert came == WORKED[key]["on_centre_in"]

    def test_every_item_and_no_other(self, key: str) -> None:
        came = {
            row.item: [round(row.net, 6), row.purchase_units]
            for row in estimated(key).quantities
            if row.driver != "concrete"
        }

        assert came == WORKED[key]["quantities"]

    def test_bags(self, key: str) -> None:
        assert estimated(key).concrete.bags == WORKED[key]["bags"]

    def test_cuts(self, key: str) -> None:
        came: dict[str, list[float]] = {}
        for cut in estimated(key).cuts:
            row = came.setdefault(cut.item, [0, 0.0])
            row[0] += cut.pieces
            row[1] += cut.pieces * cut.length_in

        assert came == WORKED[key].get("cuts", {})

    def test_hours(self, key: str) -> None:
        hours = {row.phase: row.labor_hours for row in estimated(key).hours}

        assert hours["hang"] == pytest.approx(WORKED[key]["hang_hours"])
        if "set_hours" in WORKED[key]:
            assert hours["set"] == pytest.approx(WORKED[key]["set_hours"])

    def test_nothing_stops_it(self, key: str) -> None:
        assert [f.message for f in estimated(key).findings if f.severity == "stop"] == []
