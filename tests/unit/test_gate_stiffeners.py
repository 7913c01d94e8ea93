"""Full-depth or above-ground stiffeners in gate posts: what each costs and which finding it makes.

Common practice, no source: full depth for leaves over about 4 ft and for drive gates.
"""

from decimal import Decimal

import pytest

from estimating.engine.result import EstimateResult
from estimating.engine.site import Gate, GateUse
from tests.starter_cases import estimate_line, fence_line


def with_gate(system: str, opening_in: float, use: GateUse = "walk") -> EstimateResult:
    gate = Gate(id="G1", station_in=240.0, clear_opening_in=opening_in, use=use)
    return estimate_line(fence_line(system, [48.0], gates=(gate,)))


@pytest.mark.parametrize(
    ("opening_in", "use", "severity"),
    [
        (50.0, "walk", "note"),  # a leaf of 48 in, less 1 in and 1 in: at the limit
        (50.5, "walk", "warn"),
        (42.0, "drive", "warn"),
    ],
)
def test_above_ground_only_has_its_finding(opening_in: float, use: GateUse, severity: str) -> None:
    found = {
        f.code: f.severity
        for f in with_gate("vinyl_privacy_6ft_short_stiffener", opening_in, use).findings
    }

    assert found["stiffener-above-ground-only"] == severity


def test_full_depth_has_none() -> None:
    found = {f.code for f in with_gate("vinyl_privacy_6ft", 42.0).findings}

    assert "stiffener-above-ground-only" not in found


def test_the_choice_moves_the_cost() -> None:
    # Two gate posts: 2 x 46.00 against 2 x 24.00, 44.00 of direct cost.
    full = with_gate("vinyl_privacy_6ft", 42.0).money.direct_cost
    short = with_gate("vinyl_privacy_6ft_short_stiffener", 42.0).money.direct_cost

    assert full - short == Decimal("44.00")
