"""Bottom rails with or without their stiffener: what it costs, and the finding where they sag.

Common practice, no source: every bay of 8 ft has one, some firms skip it at 6 ft.
"""

from dataclasses import replace
from decimal import Decimal

from estimating.engine.catalog import Catalog
from estimating.engine.result import EstimateResult
from tests.starter_cases import estimate_line, fence_line, starter_catalog


def codes(result: EstimateResult) -> set[str]:
    return {f.code for f in result.findings}


def closer(max_on_centre_in: float) -> Catalog:
    catalog = starter_catalog()
    system = catalog.systems["vinyl_privacy_6ft"]
    return replace(
        catalog,
        systems={"vinyl_privacy_6ft": replace(system, max_on_centre_in=max_on_centre_in)},
    )


def test_a_line_may_go_without_and_is_told_that_its_rails_will_sag() -> None:
    # 32 ft, 4 bays of 96: four stiffeners of 11.80 and their cuts less.
    with_it = estimate_line(fence_line("vinyl_privacy_6ft", [32.0]))
    without = estimate_line(fence_line("vinyl_privacy_6ft", [32.0], rail_stiffener=False))
    sag = next(f for f in without.findings if f.code == "bottom-rail-will-sag")

    assert with_it.money.direct_cost - without.money.direct_cost == Decimal("47.20")
    assert (sag.severity, sag.figure) == ("warn", "96 in on centre")
    assert "common practice, no source" in sag.limit
    assert "bottom-rail-will-sag" not in codes(with_it)
    assert "vinyl_rail_stiffener" in {cut.item for cut in with_it.cuts}
    assert "vinyl_rail_stiffener" not in {cut.item for cut in without.cuts}


def test_short_bays_may_go_without() -> None:
    bare = fence_line("vinyl_privacy_6ft", [36.0], rail_stiffener=False)

    # 432 in: 6 bays of 72 at the limit; at 96 five of 86.4.
    assert "bottom-rail-will-sag" not in codes(estimate_line(bare, closer(72.0)))
    assert "bottom-rail-will-sag" in codes(estimate_line(bare, closer(96.0)))


def test_a_system_that_lists_none_is_told_the_same() -> None:
    catalog = starter_catalog()
    system = catalog.systems["vinyl_privacy_6ft"]
    bare = replace(
        system, materials=tuple(m for m in system.materials if m.stiffens != "bottom_rail")
    )
    result = estimate_line(
        fence_line("vinyl_privacy_6ft", [32.0]),
        replace(catalog, systems={"vinyl_privacy_6ft": bare}),
    )

    assert "bottom-rail-will-sag" in codes(result)


def test_rails_without_infill_have_no_such_rule() -> None:
    for system in ("vinyl_picket_4ft", "vinyl_ranch_3_rail", "wood_privacy_side_6ft"):
        assert "bottom-rail-will-sag" not in codes(estimate_line(fence_line(system, [32.0])))
