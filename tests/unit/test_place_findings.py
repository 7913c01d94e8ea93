"""What the place asks: pool barriers, sight triangles, permits, frost under vinyl, spoil."""

from dataclasses import replace
from typing import Any

import pytest

from estimating.engine.catalog import Catalog
from estimating.engine.place_findings import rules_of
from estimating.engine.pool import PoolRules
from estimating.engine.result import EstimateResult, Finding
from estimating.engine.site import Conditions, Gate
from tests.starter_cases import estimate_line, fence_line, starter_catalog

GATE = Gate(id="G1", station_in=96.0, clear_opening_in=42.0, use="pool", latch="pool latch")


def found_for(
    system: str,
    *,
    catalog: Catalog | None = None,
    line: dict[str, Any] | None = None,
    **changes: Any,
) -> dict[str, Finding]:
    """Return the findings on 40 ft of a fence, by code; the last of each code."""
    fence = fence_line(system, [40.0], **(line or {}))
    result: EstimateResult = estimate_line(fence, catalog, Conditions(**changes))
    return {finding.code: finding for finding in result.findings}


POOL_CODES = {
    "pool-height",
    "pool-bottom-gap",
    "pool-opening",
    "pool-mesh",
    "pool-rails",
    "pool-picket-gap",
    "pool-infill-unknown",
}


@pytest.mark.parametrize(
    ("system", "codes"),
    [
        # 6 ft, no opening, nothing to climb, 2 in over the ground.
        ("vinyl_privacy_6ft", set()),
        # 4 ft passes the model codes and is under the 60 in of some places.
        ("vinyl_privacy_4ft", {"pool-height"}),
        ("chain_link_6ft", {"pool-mesh"}),
        ("chain_link_6ft_slats", set()),
        # Three rails 30 in apart behind boards: the pool has to lie behind.
        ("wood_privacy_side_6ft", set()),
        # Gaps of 2.5 in beside rails 30 in apart.
        ("wood_picket_4ft", {"pool-height", "pool-picket-gap"}),
        ("steel_panel_4ft", {"pool-height", "pool-rails"}),
        ("split_rail_2", {"pool-height", "pool-opening", "pool-rails"}),
    ],
)
def test_starter_s_fences_as_pool_barriers(system: str, codes: set[str]) -> None:
    assert set(found_for(system, pool_barrier=True)) & POOL_CODES == codes
    assert not set(found_for(system)) & POOL_CODES


def test_a_low_fence_stops_and_names_its_line() -> None:
    found = found_for("split_rail_2", pool_barrier=True)

    assert (found["pool-height"].severity, found["pool-height"].place) == ("stop", "line A")
    assert found["pool-height"].figure == "36 in"
    assert found["pool-opening"].severity == "stop"
    assert "local code" in found["pool-opening"].action


def test_rails_behind_the_finished_face_have_to_look_at_the_pool() -> None:
    found = found_for("wood_privacy_side_6ft", pool_barrier=True)["pool-rails-side"]
    assert found.figure == "rails on the right of the line, tops 30 in apart"

    turned = found_for("wood_privacy_side_6ft", line={"finished_face": "right"}, pool_barrier=True)
    assert "pool lies left of the line" in turned["pool-rails-side"].action


@pytest.mark.parametrize(
    ("changes", "codes"),
    [
        # The town's own figures rule: 60 in is taller than 48, and nobody need be asked.
        ({"pool_height_in": 60.0}, {"pool-height"}),
        ({"pool_height_in": 48.0}, set()),
        ({"pool_height_in": 48.0, "pool_gap_in": 1.0}, {"pool-bottom-gap"}),
        ({"pool_height_in": 48.0, "pool_gap_in": 4.0}, set()),
    ],
)
def test_a_town_has_its_own_height_and_gap(changes: dict[str, Any], codes: set[str]) -> None:
    found = found_for("vinyl_privacy_4ft", pool_barrier=True, **changes)

    assert set(found) & POOL_CODES == codes


def test_rule_set_is_the_usual_one_with_the_town_s_figures() -> None:
    usual = PoolRules(sphere_in=3.5)
    assert rules_of(Conditions(), usual) == usual
    assert rules_of(Conditions(pool_height_in=60, pool_gap_in=0), usual) == replace(
        usual, height_in=60, gap_in=0
    )


@pytest.mark.parametrize(
    ("latch_in", "pool_side", "codes"),
    [
        (None, False, set()),
        (54.0, False, set()),
        (53.0, False, {"pool-latch-height"}),
        # The top is 72 in over the ground: 40 in is 32 below it.
        (40.0, True, set()),
        (53.0, True, set()),
        (72.0, False, set()),
    ],
)
def test_latch_of_a_pool_gate(latch_in: float | None, pool_side: bool, codes: set[str]) -> None:
    found = found_for(
        "vinyl_privacy_6ft",
        line={"gates": (GATE,)},
        pool_barrier=True,
        pool_latch_in=latch_in,
        pool_latch_on_pool_side=pool_side,
    )

    assert {code for code in found if code.startswith("pool-latch")} == codes


def test_a_system_without_figures_is_not_judged_as_a_barrier() -> None:
    starter = starter_catalog()
    unknown = replace(starter.systems["vinyl_privacy_6ft"], barrier=None)
    book = replace(starter, systems={unknown.key: unknown})
    found = found_for(unknown.key, catalog=book, pool_barrier=True)

    assert found["pool-infill-unknown"].severity == "warn"


# --- Corner lots -----------------------------------------------------------------------------

# Line A runs east along y = 0. Streets meet 10 ft south of its start, and lead east and north.
CORNER: dict[str, Any] = {
    "sight_leg_in": 300.0,
    "sight_corner_x_in": 0.0,
    "sight_corner_y_in": -120.0,
    "sight_first_bearing_deg": 90.0,
    "sight_second_bearing_deg": 0.0,
}


def test_fence_in_the_sight_triangle_stops_with_its_length() -> None:
    # Legs of 25 ft: at 10 ft from the street the triangle is 15 ft wide.
    found = found_for("vinyl_privacy_6ft", **CORNER)["in-sight-triangle"]

    assert (found.severity, found.place) == ("stop", "line A")
    assert found.figure == "15-0 of it, 6-0 high"
    assert found.limit == "nothing from 3-0 up within 25-0 of the corner"


def test_open_fence_is_asked_about_and_a_low_one_or_a_far_one_is_clear() -> None:
    assert found_for("chain_link_4ft", **CORNER)["in-sight-triangle"].severity == "warn"
    assert "in-sight-triangle" not in found_for("split_rail_2", **CORNER | {"sight_low_in": 42.0})
    far = CORNER | {"sight_corner_y_in": -301.0}
    assert "in-sight-triangle" not in found_for("vinyl_privacy_6ft", **far)
    banded = found_for("vinyl_privacy_6ft", **CORNER | {"sight_high_in": 90.0})
    assert banded["in-sight-triangle"].limit.startswith("nothing from 3-0 to 7-6 within")


@pytest.mark.parametrize("missing", ["sight_leg_in", "sight_corner_x_in", "sight_corner_y_in"])
def test_no_corner_no_triangle(missing: str) -> None:
    assert "in-sight-triangle" not in found_for("vinyl_privacy_6ft", **CORNER | {missing: None})


# --- Permit, frost, spoil ---------------------------------------------------------------------


@pytest.mark.parametrize(("height_in", "asks"), [(84.0, False), (84.0625, True), (96.0, True)])
def test_a_fence_over_seven_feet_wants_a_permit(height_in: float, asks: bool) -> None:
    # IRC R105.2 item 2 exempts fences to 7 ft.
    starter = starter_catalog()
    tall = replace(starter.systems["vinyl_privacy_6ft"], height_in=height_in)
    book = replace(starter, systems={tall.key: tall})

    assert ("height-wants-permit" in found_for(tall.key, catalog=book)) is asks


@pytest.mark.parametrize(
    ("system", "frost_in", "notes"),
    [
        ("vinyl_privacy_6ft", 30.0, False),
        ("vinyl_privacy_6ft", 31.0, True),
        ("chain_link_6ft", 48.0, False),
    ],
)
def test_vinyl_in_frost_deeper_than_its_practice(system: str, frost_in: float, notes: bool) -> None:
    # ASTM F1999, scope: frost of 30 in or less.
    assert ("vinyl-in-deep-frost" in found_for(system, frost_depth_in=frost_in)) is notes


def test_spoil_to_haul_in_loads_and_pounds() -> None:
    # 40 ft of vinyl: 6 posts in 12 x 33 in: 6 x 2.1598 = 12.96 ft3, 0.480 yd3; x 1.25 = 0.600.
    # 12.96 ft3 weigh 1,296 lb at 100 lb/ft3 and 1,555 at 120.
    found = found_for("vinyl_privacy_6ft", spoil="haul")["spoil-to-haul"]

    assert found.figure == "0.60 yd3 loose (13 ft3 in the ground), 1 load(s)"
    assert "1,296 lb dry to 1,555 lb wet" in found.message
    assert "spoil-to-haul" not in found_for("vinyl_privacy_6ft")
